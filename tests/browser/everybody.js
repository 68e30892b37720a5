// What must hold of a page for gloves, for the keyboard and for large type, measured where it is looked at. Run through
// WebDriver: the first argument names the function. Never served.

const visible = (e) => {
  const box = e.getBoundingClientRect();
  return box.width > 1 && box.height > 1 && e.checkVisibility({ visibilityProperty: true });
};
const marked = (e) => e.outerHTML.slice(0, 160);
const PRESSED = "button, .button, summary, .answer, .choice, select, textarea, .back, nav a, .errors a, .pager a, .menu-link, input:not([type=radio], [type=checkbox], [type=hidden])";

// What somebody presses: of a box with words beside it, the words as well.
const targets = (root) => [...root.querySelectorAll(PRESSED)].filter(visible);
const nested = (a, b) => a.contains(b) || b.contains(a);

function tooClose(root) {
  // The strip floats over the form; that it covers nothing is looked at with the keyboard.
  const all = targets(root).filter((e) => !e.closest(".progress") || root.matches(".progress")).map((e) => [e, e.getBoundingClientRect()]);
  const found = [];
  all.forEach(([a, p], n) => {
    for (const [b, q] of all.slice(n + 1)) {
      if (nested(a, b)) continue;
      const apart = Math.max(q.left - p.right, p.left - q.right, q.top - p.bottom, p.top - q.bottom);
      if (apart < 15.5) found.push(`${apart.toFixed(1)} px between ${marked(a)} and ${marked(b)}`);
    }
  });
  return found;
}

const seen = {
  arrived: () => document.readyState === "complete" && !document.documentElement.dataset.left,

  // A form sent as it is, past the scripts that would keep it on the phone first.
  send(id) {
    const form = document.getElementById(id) ?? document.querySelector(`main form[action$="${id}"]`);
    if (!form) return { error: `no form ${id}` };
    document.documentElement.dataset.left = "yes";
    HTMLFormElement.prototype.submit.call(form);
    return {};
  },

  // Faults put on the page by hand: whoever looks for them must find them.
  spoil() {
    const spoilt = document.createElement("form");
    // Through the object model: the page's policy lets neither markup nor style in.
    const add = (name, words, style, more = {}) => {
      const e = Object.assign(document.createElement(name), { textContent: words, ...more });
      e.style.cssText = style;
      spoilt.append(e);
    };
    add("p", "Grey on white, 3.5:1", "color: #8a8a8a; background: #fff");
    add("p", "Grey on white, 5.4:1", "color: #6a6a6a; background: #fff");
    add("img", "", "width: 20px; height: 20px", { src: "/sw.js" });
    add("input", "", "");
    add("h6", "A heading too deep", "");
    for (const words of ["a", "b"]) add("button", words, "min-height: 0; height: 12px; width: 12px; padding: 0; border: 0", { type: "button" });
    document.getElementById("main").append(spoilt);
  },

  async axe(rules) {
    const tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
    const only = rules ? { type: "rule", values: rules } : { type: "tag", values: tags };
    const options = {
      runOnly: only,
      resultTypes: ["violations"],
      // The enhanced contrast leaves to the ordinary one what is below that.
      rules: rules ? {} : { "target-size": { enabled: true }, "color-contrast-enhanced": { enabled: true } },
    };
    const { violations } = await axe.run(document, options);
    return violations.flatMap((v) => v.nodes.map((n) => `${v.id}: ${n.html.slice(0, 160)} (${n.target}) ${n.any.map((c) => c.message).join("; ").slice(0, 240)}`));
  },

  sizes() {
    const main = document.getElementById("main");
    const desk = matchMedia("(pointer: fine)").matches;
    const low = (e, least) => e.getBoundingClientRect().height < least - 0.5;
    const measured = (e) => `${e.getBoundingClientRect().height.toFixed(1)} px: ${marked(e)}`;
    const groups = [...main.querySelectorAll("form, .actions, .progress")];
    const figures = [...document.querySelectorAll("input")].filter(
      (f) => f.type === "number" || ((f.type === "text") && (f.matches(".measure input, .pair input, .short > input") || /hours|days|amount|quantity|needed|altitude|rate|price|value|limit/.test(f.name))),
    );
    const lead = (a) => {
      const target = document.getElementById(decodeURIComponent(a.hash.slice(1)));
      return target?.matches("input, select, textarea") || target?.querySelector("input:not([type=hidden]), select, textarea");
    };
    return {
      beyond: document.documentElement.scrollWidth > innerWidth
        ? [`${document.documentElement.scrollWidth} px`, ...[...document.querySelectorAll("body *")].filter((e) => visible(e) && e.getBoundingClientRect().right > innerWidth + 1).slice(0, 3).map(marked)]
        : [],
      low_answers: [...document.querySelectorAll(".answer")].filter((e) => visible(e) && low(e, 72)).map(measured),
      low: targets(document).filter((e) => low(e, 48)).concat([...document.querySelectorAll("a.plate")].filter((e) => visible(e) && !(desk && e.closest(".table")) && low(e, 48))).map(measured),
      close: [...new Set(groups.flatMap(tooClose))],
      no_inputmode: figures.filter((f) => !f.inputMode).map(marked),
      lead_nowhere: [...document.querySelectorAll(".errors a")].filter((a) => !lead(a)).map(marked),
    };
  },

  // Of whatever the keyboard is on: how much of it something else lies over, looked at in nine places.
  focused() {
    const e = document.activeElement;
    if (!e || e === document.body) return { on: "nothing", covered: 0 };
    const box = (e.matches(".answer input") ? e.parentElement : e).getBoundingClientRect();
    let covered = 0;
    for (const x of [0.1, 0.5, 0.9]) {
      for (const y of [0.1, 0.5, 0.9]) {
        const there = document.elementFromPoint(box.left + box.width * x, box.top + box.height * y);
        if (!there || !(e.contains(there) || there.contains(e) || e.closest("label")?.contains(there))) covered += 1;
        // What lies around it may be the strip itself.
        else if (there !== e && there.matches(".progress, body, html, main")) covered += 1;
      }
    }
    return { on: marked(e), covered };
  },
};

return seen[arguments[0]](...[...arguments].slice(1)) ?? null;
