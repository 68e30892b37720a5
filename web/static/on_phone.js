// @ts-check
// The page "On this phone": each record with its state, the verdict this phone gave, and what can be done about it.

import { discard, drain, entries, isUnsent, onChange } from "./queue.js";
import { clock, person } from "./phone.js";
import { ready, say } from "./words.js";

/** @typedef {import("./queue.js").Entry} Entry */

/** From the private use area, so in no text: where an element goes into a sentence. */
const MARK = "\uE000";

const list = document.getElementById("records");
if (list) {
  void ready().then(() => {
    onChange(() => void show(list));
    void show(list);
  });
}

/** @param {HTMLElement} list */
async function show(list) {
  const all = (await entries()).reverse();
  const wanted = decodeURIComponent(location.hash.slice(1));
  // The one just recorded stands first.
  all.sort((a, b) => Number(b.id === wanted) - Number(a.id === wanted));
  list.replaceChildren(...all.map((e) => (e.kind === "checks" ? check(e) : report(e))));
  const none = document.getElementById("none");
  if (none) none.hidden = all.length > 0;
}

/** @param {Entry} e */
function check(e) {
  const section = part(e, say("script-check-of", { unit: e.unit }));
  const said = e.answer ?? e.verdict;
  if (said) section.append(...verdict(e, said));
  else section.append(paragraph(say("script-no-rules"), "alone"));
  section.append(...state(e));
  return section;
}

/** @param {Entry} e */
function report(e) {
  const section = part(e, say("script-report-on", { unit: e.unit }));
  section.append(paragraph(String(e.body.what ?? "")));
  if (!e.answer) section.append(paragraph(say("script-until-decided")));
  section.append(...state(e));
  return section;
}

/** @param {Entry} e @param {string} title */
function part(e, title) {
  const section = document.createElement("section");
  section.className = "on-phone";
  section.id = e.id;
  const head = document.createElement("h2");
  head.textContent = title;
  section.append(head, paragraph(say("script-recorded", { when: clock(new Date(e.recordedAt)), who: e.name }), "soft"));
  return section;
}

/** @param {Entry} e @param {any} said */
function verdict(e, said) {
  const standing = String(said.standing ?? "");
  const sign = document.createElement("p");
  sign.className = "standing-line";
  const symbol = document.createElement("img");
  symbol.src = `${assets()}/${standing.replaceAll(" ", "-")}.svg`;
  symbol.alt = "";
  symbol.width = symbol.height = 40;
  const word = document.createElement("strong");
  word.textContent = standing === "out of service"
    ? say("script-sign-out-of-service")
    : standing === "monitored" ? say("script-sign-monitored") : say("script-sign-fit-for-use");
  sign.append(symbol, " ", word);
  const all = document.createElement("ul");
  all.className = "plainlist";
  for (const f of said.findings ?? []) {
    const one = document.createElement("li");
    const what = document.createElement("strong");
    what.textContent = f.what;
    one.append(what, document.createElement("br"), `${f.instruction} ${f.why}`);
    all.append(one);
  }
  const parts = /** @type {HTMLElement[]} */ ([sign, all]);
  if (!e.answer) {
    parts.push(paragraph(standing === "out of service" ? say("script-alone-held") : say("script-alone"), "alone"));
  }
  return parts;
}

/** @param {Entry} e */
function state(e) {
  const parts = /** @type {HTMLElement[]} */ ([]);
  const line = paragraph("", "record-state");
  const word = document.createElement("strong");
  line.append(word);
  parts.push(line);
  const actions = document.createElement("div");
  actions.className = "actions";
  /** @param {string} words @param {() => unknown} act @param {string} [kind] */
  const button = (words, act, kind = "plain") => {
    const b = document.createElement("button");
    b.type = "button";
    b.className = kind;
    b.textContent = words;
    b.addEventListener("click", () => void act());
    actions.append(b);
  };
  /** @param {string} words @param {string} href */
  const link = (words, href) => {
    const a = document.createElement("a");
    a.className = "button plain";
    a.textContent = words;
    a.href = href;
    actions.append(a);
  };
  const others = e.person !== person;
  if (e.state === "received") {
    word.textContent = say("script-received");
    const when = clock(new Date(e.receivedAt ?? ""));
    const [before, after] = say("script-received-by-server", { received: MARK, when }).split(MARK);
    line.replaceChildren(before, word, after);
    if (e.photos.length) line.append(` ${say("script-photos-to-send", { count: e.photos.length })}`);
    if (e.lost?.length) line.append(` ${say("script-photos-not-kept", { items: e.lost.join(", ") })}`);
    link(e.kind === "checks" ? say("script-the-verdict") : say("script-the-machine"), e.kind === "checks" ? `/checks/${e.id}` : `/machines/${e.machine}`);
  } else if (e.state === "sending") {
    word.textContent = say("script-sending");
  } else if (e.state === "refused") {
    word.textContent = say("script-not-taken");
    // What was said of it as a whole is these same faults in one line.
    if (!e.faults?.length) line.append(` ${e.said ?? ""}`);
    const faults = document.createElement("ul");
    for (const f of e.faults ?? []) {
      const one = document.createElement("li");
      one.textContent = f.detail;
      faults.append(one);
    }
    parts.push(faults);
    if (!others) link(say("script-mend"), `/machines/${e.machine}/${e.kind === "checks" ? "check" : "report"}?again=${e.id}`);
  } else {
    word.textContent = e.state === "signed out" ? say("script-saved-signed-out") : say("script-saved");
    line.append(` ${others ? say("script-only-they-send", { name: e.name }) : e.said || say("script-sent-with-signal")}`);
    if (e.state === "signed out") link(say("script-sign-in"), `/sign-in?to=${encodeURIComponent("/phone")}`);
    if (!others) button(say("script-send-now"), () => drain(true));
  }
  if (isUnsent(e) && e.state !== "sending") {
    button(say("script-delete"), async () => {
      const { unit } = e;
      const question = e.kind === "checks" ? say("script-delete-check", { unit }) : say("script-delete-report", { unit });
      if (confirm(question)) await discard(e.id);
    }, "link");
  }
  parts.push(actions);
  return parts;
}

/** @param {string} text @param {string} [kind] */
function paragraph(text, kind) {
  const p = document.createElement("p");
  p.textContent = text;
  if (kind) p.className = kind;
  return p;
}

function assets() {
  return new URL(import.meta.url).pathname.replace(/\/[^/]*$/, "");
}

