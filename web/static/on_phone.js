// @ts-check
// The page "On this phone": each record with its state, the verdict this phone gave, and what can be done about it.

import { discard, drain, entries, isUnsent, onChange } from "./queue.js";
import { clock, person } from "./phone.js";

/** @typedef {import("./queue.js").Entry} Entry */

const list = document.getElementById("records");
if (list) {
  onChange(() => void show(list));
  void show(list);
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
  const section = part(e, `Check of ${e.unit}`);
  const said = e.answer ?? e.verdict;
  if (said) section.append(...verdict(e, said));
  else section.append(paragraph("This phone has no rules to judge it by. If anything was not in order, do not use the machine: fit a tag and tell the supervisor.", "alone"));
  section.append(...state(e));
  return section;
}

/** @param {Entry} e */
function report(e) {
  const section = part(e, `Report on ${e.unit}`);
  section.append(paragraph(String(e.body.what ?? "")));
  if (!e.answer) section.append(paragraph("Until it is decided, treat the machine as out of service: fit a tag, tell the supervisor."));
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
  section.append(head, paragraph(`Recorded ${clock(new Date(e.recordedAt))} by ${e.name}.`, "soft"));
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
  word.textContent = standing === "out of service" ? "Out of service: do not use" : standing === "monitored" ? "Fit for use, watch these" : "Fit for use";
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
    const alone = standing === "out of service"
      ? "Nobody else can see this yet. Fit a tag, take the key, and tell the supervisor yourself."
      : "Nobody else can see this yet. It is what this phone knows: look for a tag before you start.";
    parts.push(paragraph(alone, "alone"));
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
    word.textContent = "Received";
    line.append(` by the server ${clock(new Date(e.receivedAt ?? ""))}.`);
    if (e.photos.length) line.append(` ${e.photos.length === 1 ? "One photo is" : `${e.photos.length} photos are`} still to be sent.`);
    if (e.lost?.length) line.append(` Not kept, for they were no pictures that can be read: ${e.lost.join(", ")}.`);
    link(e.kind === "checks" ? "The verdict" : "The machine", e.kind === "checks" ? `/checks/${e.id}` : `/machines/${e.machine}`);
  } else if (e.state === "sending") {
    word.textContent = "Sending …";
  } else if (e.state === "refused") {
    word.textContent = "Not taken.";
    line.append(` ${e.said ?? ""}`);
    const faults = document.createElement("ul");
    for (const f of e.faults ?? []) {
      const one = document.createElement("li");
      one.textContent = f.detail;
      faults.append(one);
    }
    parts.push(faults);
    if (!others) link("Mend and send again", `/machines/${e.machine}/${e.kind === "checks" ? "check" : "report"}?again=${e.id}`);
  } else {
    word.textContent = e.state === "signed out" ? "Saved on this phone. Your sign-in has ended." : "Saved on this phone.";
    line.append(others ? ` Only ${e.name} can send it: sign in as ${e.name}.` : ` ${e.said || "It is sent as soon as there is a signal."}`);
    if (e.state === "signed out") link("Sign in", `/sign-in?to=${encodeURIComponent("/phone")}`);
    if (!others) button("Send now", () => drain(true));
  }
  if (isUnsent(e) && e.state !== "sending") {
    button("Delete it", async () => {
      const question = `Delete the ${e.kind === "checks" ? "check" : "report"} of ${e.unit} from this phone? Nobody has seen it.`;
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

