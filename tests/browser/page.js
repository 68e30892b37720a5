// What somebody sees on a page and where their finger goes. Run through WebDriver: the first argument names the
// function, the others are handed to it. Never served.

const flat = (text) => (text ?? "").replace(/\s+/g, " ").trim();
const visible = (e) => {
  const box = e.getBoundingClientRect();
  return box.width > 1 && box.height > 1 && e.checkVisibility({ visibilityProperty: true });
};
const nameOf = (e) => flat(e.getAttribute("aria-label") ?? e.innerText);
const legendOf = (fieldset) => flat(fieldset.querySelector(":scope > legend")?.innerText);
const marked = (e) => e.outerHTML.slice(0, 160);

// The middle of what is there to touch, brought into view; an error when something else would be touched there.
const place = (e) => {
  e.scrollIntoView({ block: "center", behavior: "instant" });
  const box = [...e.getClientRects()].find((r) => r.width > 1 && r.height > 1);
  if (!box) return { error: `not to be seen: ${marked(e)}` };
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  const there = document.elementFromPoint(x, y);
  const label = e.closest("label");
  if (!there || !(e.contains(there) || there.contains(e) || label?.contains(there))) {
    return { error: `covered by ${there ? marked(there) : "nothing"}: ${marked(e)}` };
  }
  return { x, y };
};

const only = (found, what, all) => {
  if (found.length === 1) return place(found[0]);
  if (found.length > 1 && found.every((e) => e.href && e.href === found[0].href)) return place(found[0]);
  return { error: `${found.length} of ${what}; there are: ${all.join(" | ")}` };
};

// The fieldset reached by these legends from the outside in; without legends, the page.
const inside = (legends) => {
  let scopes = [document.getElementById("main")];
  for (const legend of legends) {
    scopes = scopes.flatMap((s) => [...s.querySelectorAll("fieldset")].filter((f) => legendOf(f) === legend));
  }
  return scopes;
};

const labelled = (words) => [...document.querySelectorAll("label")].filter((l) => visible(l) && flat(l.firstChild?.textContent) === words);

const seen = {
  text: () => document.body.innerText,
  path: () => location.pathname + location.search,

  // Something to press, by the words on it.
  press(words) {
    const all = [...document.querySelectorAll("a[href], button, summary")].filter(visible);
    return only(all.filter((e) => nameOf(e) === words), words, all.map(nameOf));
  },

  // A field to type into, by its label.
  field(words) {
    const found = labelled(words).map((l) => l.control).filter((f) => f && visible(f));
    return only(found, words, [...document.querySelectorAll("label")].map((l) => flat(l.innerText)));
  },

  // Puts the keyboard on a list to choose from, as the Tab key would.
  focus(words) {
    const field = labelled(words).map((l) => l.control)[0];
    if (!field) return { error: `no field ${words}` };
    field.focus();
    return {};
  },

  focus_within(legends, css) {
    const found = inside(legends).flatMap((f) => [...f.querySelectorAll(css)].filter((e) => e.closest("fieldset") === f));
    if (found.length !== 1) return { error: `${found.length} of ${css} in ${legends}` };
    found[0].focus();
    return {};
  },

  chosen: (words) => flat(labelled(words).map((l) => l.control)[0]?.selectedOptions?.[0]?.textContent),

  // One of the big answers, by the legends that lead to it.
  answer(legends, words) {
    const own = inside(legends).flatMap((f) => [...f.querySelectorAll("label.answer")].filter((l) => l.closest("fieldset") === f));
    return only(own.filter((l) => flat(l.innerText) === words), words, own.map((l) => flat(l.innerText)));
  },

  // The figure or the note that belongs to an item.
  within(legends, css) {
    const found = inside(legends).flatMap((f) => [...f.querySelectorAll(css)].filter((e) => e.closest("fieldset") === f && visible(e)));
    return only(found, css, legends);
  },

  tick(words) {
    const all = [...document.querySelectorAll("label.choice")].filter(visible);
    return only(all.filter((l) => flat(l.innerText).startsWith(words)), words, all.map((l) => flat(l.innerText)));
  },

  // The link in the summary of errors, and what it leads to.
  summary: () => [...document.querySelectorAll(".errors a")].map((a) => {
    const target = document.getElementById(a.hash.slice(1));
    const item = target?.closest("fieldset");
    return { says: flat(a.innerText), leads_to: item ? legendOf(item) : target ? target.id : "nowhere" };
  }),

  // Every item of the check, in the order of the walk.
  items: () => [...document.querySelectorAll("#check .answers")].map((group) => {
    const legends = [];
    for (let f = group.closest("fieldset"); f; f = f.parentElement?.closest("fieldset")) legends.unshift(legendOf(f));
    const item = group.closest("fieldset");
    return {
      legends,
      answers: [...group.querySelectorAll("label")].map((l) => flat(l.innerText)),
      limits: [...item.querySelectorAll(":scope > .measure dd")].map((d) => flat(d.innerText)),
      measured: item.querySelector(":scope > .measure") !== null,
    };
  }),

  // Everything chosen and typed in the check.
  typed: () => [...new FormData(document.getElementById("check"))].filter(([, v]) => typeof v === "string" && v !== ""),

  mark: () => { document.documentElement.dataset.left = "yes"; },
  // Nothing is here while a page is on its way.
  arrived: () => document.readyState === "complete" && !document.documentElement.dataset.left,

  // What must hold on every page.
  state() {
    // A phone makes the window wider for a page that does not fit.
    const [width, room] = [innerWidth, Math.min(innerWidth, screen.width)];
    // The innermost are what makes it so.
    const reaches = (e) => e.getBoundingClientRect().right > room + 1;
    const fields = [...document.querySelectorAll("input:not([type=hidden]), select, textarea")];
    const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
    const touched = [...document.querySelectorAll("button, .button, summary, .answer, .choice, select, textarea, nav a, .menu-link, input:not([type=radio], [type=checkbox], [type=hidden])")];
    return {
      width,
      scroll: document.documentElement.scrollWidth,
      beyond: [...document.querySelectorAll("body *")].filter((e) => visible(e) && reaches(e) && ![...e.children].some(reaches)).slice(-3).map(marked),
      headings: [...document.querySelectorAll("h1")].length,
      title: document.title,
      twice: ids.filter((id, n) => ids.indexOf(id) !== n),
      nameless: fields.filter((f) => !f.labels?.length && !f.getAttribute("aria-label") && !f.getAttribute("aria-labelledby")).map(marked),
      small: touched.filter((e) => visible(e) && e.getBoundingClientRect().height < 44).map(marked),
      scripts: !matchMedia("(scripting: none)").matches,
    };
  },
};

return seen[arguments[0]](...[...arguments].slice(1)) ?? null;
