// Keeps the part of a page marked data-live fresh: asked for again when the server says that something changed, and
// every 30 seconds where it cannot say so. Says honestly whether it is live.

import { ready, say, spoken } from "./words.js";

const part = /** @type {HTMLElement | null} */ (document.querySelector("[data-live]"));
const line = document.getElementById("live");
const said = document.getElementById("live-said");
/** A sheet says of when it is; the line that says how fresh the page is stays on the screen. */
const paper = document.getElementById("on-paper");

/** The server's own pages are the only HTML ever taken in. */
const policy = globalThis.trustedTypes?.createPolicy("chock", { createHTML: (/** @type {string} */ html) => html });

const POLL = 30_000;
const TICK = 55_000;
const TOGETHER = 400;

/** @type {EventSource | undefined} */
let source;
let hearing = false;
let last = new Date();
let shown = "";
/** @type {number | undefined} */
let pending;
let asking = false;
let asked = 0;
let again = false;

/** @param {Date} at */
const clock = (at) => at.toLocaleTimeString(spoken() === "en" ? "en-GB" : spoken(), { hour: "2-digit", minute: "2-digit", second: "2-digit" });

/**
 * @param {string} words
 * @param {boolean} stale
 */
function tell(words, stale) {
  if (!line) return;
  const link = line.querySelector("a") ?? document.createElement("a");
  line.replaceChildren(`${words} · `, link);
  if (stale !== line.hasAttribute("data-stale") && said) said.textContent = words;
  line.toggleAttribute("data-stale", stale);
}

function fresh() {
  last = new Date();
  if (paper) {
    paper.textContent = last.toLocaleString(spoken() === "en" ? "en-GB" : spoken(), { dateStyle: "long", timeStyle: "short" });
    paper.setAttribute("datetime", last.toISOString());
  }
  const at = { clock: clock(last) };
  tell(hearing ? say("script-live", at) : say("script-asked-again", at), false);
}

function stale(signedOut = false) {
  const at = { clock: clock(last) };
  tell(signedOut ? say("script-not-live-sign-in", at) : say("script-not-live", at), true);
}

async function ask() {
  if (!part) return;
  if (asking) {
    again = true;
    return;
  }
  asking = true;
  asked = Date.now();
  try {
    const answer = await fetch(part.dataset.live ?? "", { headers: { accept: "text/html" }, cache: "no-store" });
    if (answer.redirected) {
      stop();
      stale(true);
      return;
    }
    if (!answer.ok) throw new Error(`status ${answer.status}`);
    const html = await answer.text();
    if (html !== shown) {
      show(html);
      shown = html;
    }
    fresh();
  } catch {
    stale();
  } finally {
    asking = false;
    if (again) {
      again = false;
      soon();
    }
  }
}

/**
 * Swaps the content, and leaves the reader where they were: the scroll does not move, and the keyboard stays on the
 * same link or button where it is still there.
 * @param {string} html
 */
function show(html) {
  if (!part) return;
  const parsed = new DOMParser().parseFromString(/** @type {string} */ (policy ? policy.createHTML(html) : html), "text/html");
  const held = part.contains(document.activeElement) ? markOf(document.activeElement) : "";
  const at = scrollY;
  part.replaceChildren(...parsed.body.childNodes);
  if (held) {
    const same = [...part.querySelectorAll("a, button")].find((e) => markOf(e) === held);
    /** @type {HTMLElement | undefined} */ (same)?.focus({ preventScroll: true });
  }
  if (scrollY !== at) scrollTo({ top: at, behavior: "instant" });
}

/** @param {Element | null} e */
function markOf(e) {
  return e ? `${e.tagName} ${e.getAttribute("href") ?? ""} ${e.closest("form")?.getAttribute("action") ?? ""}` : "";
}

/** The first change is asked about at once; those of the moment after it are one question. */
function soon() {
  if (pending) return;
  pending = setTimeout(() => {
    pending = undefined;
    void ask();
  }, Math.max(0, asked + TOGETHER - Date.now()));
}

function listen() {
  source?.close();
  source = new EventSource("/live");
  source.addEventListener("open", () => {
    hearing = true;
    // Something may have changed while nobody listened.
    ask();
  });
  source.addEventListener("changed", soon);
  source.addEventListener("error", () => {
    hearing = false;
    stale();
  });
}

function stop() {
  source?.close();
  source = undefined;
  hearing = false;
  clearTimeout(pending);
  pending = undefined;
}

if (part) void ready().then(begin);

function begin() {
  listen();
  setInterval(() => {
    // A page that nobody looks at asks for nothing, and leaves its connection to the others.
    if (document.hidden || !source) return;
    if (!hearing && source.readyState === EventSource.CLOSED) listen();
    // While live, only the hours down and the days left move on.
    if (!hearing || Date.now() - last.getTime() > TICK) ask();
  }, POLL);
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) stop();
    else listen();
  });
}
