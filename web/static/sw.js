// @ts-check
/// <reference lib="webworker" />
// Keeps the pages a yard needs on the phone, and sends what waits when the browser says that the signal is back. The
// server always comes first: a kept page is shown only when the server cannot be reached, and says from when it is.

import { drain } from "./queue.js";

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const PAGES = "pages";
const ASSETS = "assets";
/** A page that is kept is shown when the server takes longer than this. */
const PATIENCE_MS = 5_000;
/** Only what is needed at the machine. */
const KEPT = /^\/(phone|machines(\/[0-9a-f-]{36}(\/(check|report))?)?)$/;

worker.addEventListener("install", (event) => {
  event.waitUntil(keepPage("/phone").then(() => worker.skipWaiting()));
});

worker.addEventListener("activate", (event) => {
  event.waitUntil(worker.clients.claim());
});

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith("/assets/")) event.respondWith(asset(request));
  else if (request.mode === "navigate") event.respondWith(page(event, url));
});

worker.addEventListener("message", (event) => {
  const { keep, forget } = event.data ?? {};
  if (Array.isArray(keep)) event.waitUntil(keepAll(keep));
  if (forget) event.waitUntil(caches.delete(PAGES));
});

worker.addEventListener("sync", (event) => {
  const sync = /** @type {ExtendableEvent & { tag: string }} */ (event);
  if (sync.tag === "queue") sync.waitUntil(drain(true));
});

/** @param {Request} request */
async function asset(request) {
  const cache = await caches.open(ASSETS);
  const there = await cache.match(request);
  if (there) return there;
  const answer = await fetch(request);
  if (answer.ok) {
    const build = new URL(request.url).pathname.split("/")[2];
    await cache.put(request, answer.clone());
    // Those of the build before are of no use to any page that is still kept under the new one.
    for (const old of await cache.keys()) {
      if (new URL(old.url).pathname.split("/")[2] !== build) await retire(cache, old);
    }
  }
  return answer;
}

/** Kept pages name the build they were made by: its assets stay until the last of them is renewed. */
async function retire(/** @type {Cache} */ cache, /** @type {Request} */ old) {
  const build = new URL(old.url).pathname.split("/")[2];
  const pages = await caches.open(PAGES);
  for (const kept of await pages.keys()) {
    const answer = await pages.match(kept);
    if (answer?.headers.get("x-build") === build) return;
  }
  await cache.delete(old);
}

/** @param {FetchEvent} event @param {URL} url */
async function page(event, url) {
  const mayKeep = KEPT.test(url.pathname);
  const there = mayKeep ? await (await caches.open(PAGES)).match(url.pathname) : undefined;
  try {
    const signal = there ? AbortSignal.timeout(PATIENCE_MS) : undefined;
    const answer = await fetch(event.request, { signal });
    // 502 to 504 come from something on the way, not from Chock.
    if (answer.status >= 502 && answer.status <= 504) throw new TypeError("not reached");
    if (mayKeep && answer.ok && !answer.redirected) event.waitUntil(store(url.pathname, answer.clone()));
    return answer;
  } catch {
    if (there) return there;
    const phone = await (await caches.open(PAGES)).match("/phone");
    return phone ?? Response.error();
  }
}

/** @param {string[]} paths */
async function keepAll(paths) {
  for (const path of paths) {
    if (KEPT.test(path) && !(await keepPage(path))) return;
  }
}

/** @param {string} path @returns {Promise<boolean>} whether to go on */
async function keepPage(path) {
  try {
    const answer = await fetch(path, { redirect: "error", signal: AbortSignal.timeout(60_000) });
    if (answer.ok) await store(path, answer);
    return answer.ok;
  } catch {
    return false;
  }
}

/** @param {string} path @param {Response} answer */
async function store(path, answer) {
  const html = await answer.text();
  const headers = new Headers(answer.headers);
  headers.set("x-kept-at", new Date().toISOString());
  headers.set("x-build", html.match(/\/assets\/([0-9a-f]+)\//)?.[1] ?? "");
  headers.delete("content-encoding");
  headers.delete("content-length");
  const marked = html.replace("<body", `<body data-kept-at="${new Date().toISOString()}"`);
  await (await caches.open(PAGES)).put(path, new Response(marked, { headers }));
  // A kept page without its style and its modules is no page.
  const wanted = [...html.matchAll(/(?:href|src)="(\/assets\/[0-9a-f]+\/[^"]+)"/g)].map((m) => m[1]);
  const base = wanted[0]?.replace(/[^/]*$/, "");
  // The signs of a verdict, and what scripts say in the language of the page.
  const language = html.match(/<html lang="([a-z-]+)"/)?.[1] ?? "en";
  const named = ["fit-for-use.svg", "monitored.svg", "out-of-service.svg", `words.${language}.json`];
  const signs = base ? named.map((name) => base + name) : [];
  const seen = new Set();
  for (const one of [...wanted, ...signs]) await keepAsset(one, seen);
}

/** An asset, and whatever modules it imports. @param {string} path @param {Set<string>} seen */
async function keepAsset(path, seen) {
  if (seen.has(path)) return;
  seen.add(path);
  const assets = await caches.open(ASSETS);
  try {
    if (!(await assets.match(path))) await assets.add(path);
    if (!path.endsWith(".js")) return;
    const text = await (await assets.match(path))?.text();
    for (const [, name] of (text ?? "").matchAll(/(?:from |import\()"\.\/([^"]+)"/g)) {
      await keepAsset(path.replace(/[^/]*$/, name), seen);
    }
  } catch {
    // The next visit brings it.
  }
}
