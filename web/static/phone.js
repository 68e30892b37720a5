// @ts-check
// On every page: keeps what the yard needs on this phone, sends what waits, and says plainly what nobody else can see yet.

import { drain, entries, isUnsent, keep, kept, onChange } from "./queue.js";
import { ready, say, spoken } from "./words.js";

const body = document.body;
/** Of who is signed in; empty on the sign-in page. */
const person = body.dataset.person ?? "";
const REFRESH_MS = 15 * 60_000;
/** What somebody came for goes first on a thin link. */
const SETTLED_MS = 4_000;

/** Without the words everything is still kept and sent. */
const worded = ready().catch((error) => console.warn("There are no words yet.", error));

/** @type {number | undefined} */
let timer;
/** What this page has seen waiting. @type {Set<string>} */
const waited = new Set();
/** Where it all is listed: the page "On this phone", also when it stands in for a page that is not kept. */
const listed = document.getElementById("records") !== null;

void start();

async function start() {
  if (!("indexedDB" in globalThis) || !("serviceWorker" in navigator)) return;
  void worded.then(fromWhen);
  onChange(() => void strip());
  void strip();
  register();
  guardSignOut();
  for (const event of ["online", "focus", "pageshow"]) addEventListener(event, () => void send());
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") void send();
  });
  // A page that came from the server says that there is a signal: nothing of theirs waits for its turn then.
  await send(!body.dataset.keptAt);
  if (person) setTimeout(() => void refresh(), SETTLED_MS);
}

/** Sends what is due and comes back when the next is; all of it, when the server was just seen and something is theirs. */
async function send(seen = false) {
  clearTimeout(timer);
  try {
    const next = await drain(seen && (await entries()).some((e) => isUnsent(e) && e.person === person));
    if (next !== undefined) timer = setTimeout(() => void send(), next);
  } catch (error) {
    console.warn("The queue could not be read.", error);
  }
}

/** A page that was kept says from when it is: what stands on it may have changed since. */
function fromWhen() {
  const at = body.dataset.keptAt;
  if (!at) return;
  const line = document.createElement("div");
  line.className = "notice stale";
  line.setAttribute("role", "status");
  const text = document.createElement("p");
  const strong = document.createElement("strong");
  strong.textContent = say("script-no-signal");
  const instead = listed && location.pathname !== "/phone";
  const kept = instead ? say("script-not-kept") : say("script-kept-page", { when: clock(new Date(at)) });
  text.append(strong, ` ${kept}`);
  line.append(text);
  document.getElementById("main")?.prepend(line);
  if (location.pathname === "/machines") sought();
}

/** The list was kept whole: what was asked of it is picked out here. */
function sought() {
  const asked = new URLSearchParams(location.search);
  const key = (/** @type {string | null} */ t) => (t ?? "").toUpperCase().replace(/[^\p{L}\p{N}]/gu, "").replace(/(^|\D)0+(?=\d)/g, "$1");
  const q = document.getElementById("q");
  if (!key(asked.get("q")) || !(q instanceof HTMLInputElement)) return;
  q.value = asked.get("q") ?? "";
  for (const line of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("main tbody tr"))) {
    line.hidden = !key(line.querySelector("th")?.textContent ?? "").includes(key(q.value));
  }
}

/** How many wait, on every page but the one that lists them. Once said it keeps its place: what stands below must not move
 * under a finger when the last is sent. */
async function strip() {
  await worded;
  const known = await entries();
  const all = known.filter(isUnsent);
  const here = document.getElementById("unsent");
  if (listed) return;
  all.forEach((e) => waited.add(e.id));
  if (!all.length) {
    // What was refused and is on the form again, or was deleted, was not sent.
    const received = new Set(known.map((e) => e.id));
    if ([...waited].some((id) => !received.has(id))) return here?.remove();
    const text = document.createElement("p");
    text.textContent = say("script-all-sent");
    here?.replaceChildren(text);
    return;
  }
  const line = here ?? document.createElement("div");
  line.id = "unsent";
  line.className = "notice stale";
  line.setAttribute("role", "status");
  const link = document.createElement("a");
  link.href = "/phone";
  link.textContent = say("script-see-what");
  const trouble = all.find((e) => e.state === "refused" || e.state === "signed out");
  const text = document.createElement("p");
  text.append(`${say("script-unsent", { count: all.length })} `);
  if (trouble) {
    text.append(`${trouble.state === "signed out" ? say("script-sign-in-to-send") : say("script-one-not-taken")} `);
  }
  text.append(link);
  line.replaceChildren(text);
  if (!here) document.getElementById("main")?.prepend(line);
}

function register() {
  const policy = globalThis.trustedTypes?.createPolicy("chock-worker", {
    createScriptURL: (/** @type {string} */ url) => {
      if (url !== "/sw.js") throw new TypeError(url);
      return url;
    },
  });
  const url = /** @type {string} */ (/** @type {unknown} */ (policy?.createScriptURL("/sw.js") ?? "/sw.js"));
  navigator.serviceWorker.register(url, { type: "module", updateViaCache: "none" }).catch((error) => {
    console.warn("Pages are not kept on this phone.", error);
  });
}

/** Fetches machines, open defects and checklists of the yards, when what is here is old, and keeps their pages. */
async function refresh() {
  const last = await kept("fetched");
  if (last?.person === person && Date.now() - last.at < REFRESH_MS) return;
  // Whoever pays by the megabyte asked for less.
  if (/** @type {any} */ (navigator).connection?.saveData) return;
  try {
    const headers = last?.person === person && last.etag ? { "if-none-match": last.etag } : undefined;
    const answer = await fetch("/api/v1/check-data", { headers, redirect: "error" });
    if (answer.status !== 304) {
      if (!answer.ok) return;
      await keep("check-data", await answer.json());
    }
    const data = await kept("check-data");
    await keep("fetched", { person, at: Date.now(), etag: answer.headers.get("etag") });
    await navigator.storage?.persist?.();
    const worker = (await navigator.serviceWorker.ready).active;
    const machines = (data?.machines ?? []).filter((/** @type {any} */ m) => m.standing !== "retired");
    const pages = machines.flatMap((/** @type {any} */ m) =>
      ["", "/check", "/report"].map((end) => `/machines/${m.id}${end}`));
    worker?.postMessage({ keep: ["/phone", "/machines", ...pages] });
  } catch (error) {
    if (!(error instanceof TypeError)) console.warn("What the yard needs could not be fetched.", error);
  }
}

/** Leaving with unsent records asks once, and leaves no pages behind for the next one. */
function guardSignOut() {
  for (const form of /** @type {NodeListOf<HTMLFormElement>} */ (document.querySelectorAll("form.leave"))) guard(form);
}

/** What waits stays here, each for the person who recorded it. @param {HTMLFormElement} form */
function guard(form) {
  let going = false;
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    // A double tap in gloves is one try of a PIN, not two.
    if (going) return;
    going = true;
    setTimeout(() => (going = false), SETTLED_MS);
    void (async () => {
      if (!(await reached())) return stay();
      const unsent = (await entries()).filter(isUnsent);
      await worded;
      const act = form.dataset.act ?? say("script-sign-out");
      const question = say("script-leave", { count: unsent.length, act });
      if (unsent.length && !confirm(question)) return;
      (await navigator.serviceWorker.ready).active?.postMessage({ forget: true });
      await keep("fetched", undefined);
      await keep("check-data", undefined);
      form.submit();
    })();
  });
}

/** Whether the server answers. What stands between says 502 to 504 for it. */
async function reached() {
  try {
    const answer = await fetch("/livez", { cache: "no-store", redirect: "error", signal: AbortSignal.timeout(SETTLED_MS) });
    return answer.status < 502 || answer.status > 504;
  } catch {
    return false;
  }
}

/** Leaving is the server's to do: without it the browser would show a page of its own, and everybody be where they were. */
async function stay() {
  await worded;
  const line = document.getElementById("stayed") ?? document.createElement("div");
  line.id = "stayed";
  line.className = "notice stale";
  line.setAttribute("role", "alert");
  const text = document.createElement("p");
  text.textContent = say("script-no-sign-out");
  line.replaceChildren(text);
  document.getElementById("main")?.prepend(line);
  line.scrollIntoView({ block: "center" });
}

/** @param {Date} at */
function clock(at) {
  const place = spoken() === "en" ? "en-GB" : spoken();
  const time = at.toLocaleTimeString(place, { hour: "2-digit", minute: "2-digit" });
  const day = at.toLocaleDateString(place, { weekday: "short", day: "numeric", month: "short" });
  return at.toDateString() === new Date().toDateString() ? say("script-at", { time }) : say("script-on-at", { day, time });
}

export { clock, person };
