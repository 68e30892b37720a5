// @ts-check
// What was recorded on this phone and has not reached the server yet. Written here first and sent after; each entry has
// an id made here, so that sending it again is harmless.

/**
 * @typedef {{ item: string, position: string, picture: Blob }} Photo
 * @typedef {{ pointer: string, detail: string }} Fault
 * @typedef {"saved" | "sending" | "received" | "refused" | "signed out"} State
 * @typedef {object} Entry
 * @property {string} id UUIDv7, the check's or the defect's own
 * @property {"checks" | "defects"} kind
 * @property {string} person who recorded it: it is never sent as somebody else's
 * @property {string} name theirs
 * @property {string} machine
 * @property {string} unit
 * @property {string} recordedAt RFC 3339
 * @property {Record<string, unknown>} body as the API takes it
 * @property {Photo[]} photos not sent yet
 * @property {[string, string][]} typed the form's own fields, to fill it in again
 * @property {any} [verdict] as this phone judged it
 * @property {State} state
 * @property {number} tries
 * @property {number} next not before, in ms since 1970
 * @property {string} [receivedAt]
 * @property {any} [answer] the server's
 * @property {string} [said] why it was not taken
 * @property {Fault[]} [faults]
 * @property {string[]} [lost] photos the server could not keep
 */

/** A body is some 3 kB: on a link of 20 kbit/s two seconds. */
const BODY_MS = 30_000;
/** A photo is some 300 kB: on the same link two minutes. */
const PHOTO_MS = 300_000;
const FIRST_WAIT_MS = 5_000;
const LONGEST_WAIT_MS = 300_000;
/** Received ones are shown for a day. */
const KEEP_MS = 86_400_000;

/** @returns {Promise<IDBDatabase>} */
function open() {
  return new Promise((done, failed) => {
    const asked = indexedDB.open("chock", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("queue", { keyPath: "id" });
      asked.result.createObjectStore("kept");
    };
    asked.onsuccess = () => {
      // A newer version in another tab must not wait for this one.
      asked.result.onversionchange = () => asked.result.close();
      done(asked.result);
    };
    asked.onerror = () => failed(asked.error);
    asked.onblocked = () => failed(new Error("another tab holds the database"));
  });
}

/**
 * One transaction that is on the disk when this returns.
 * @template T
 * @param {"queue" | "kept"} store
 * @param {IDBTransactionMode} mode
 * @param {(store: IDBObjectStore) => IDBRequest<T>} act
 * @returns {Promise<T>}
 */
async function inStore(store, mode, act) {
  const db = await open();
  try {
    return await new Promise((done, failed) => {
      const tx = db.transaction(store, mode, { durability: mode === "readwrite" ? "strict" : "default" });
      const asked = act(tx.objectStore(store));
      tx.oncomplete = () => done(asked.result);
      tx.onabort = () => failed(tx.error ?? asked.error ?? new Error("not kept"));
      tx.onerror = () => failed(tx.error ?? asked.error);
    });
  } finally {
    db.close();
  }
}

/** @param {Entry} entry */
export async function save(entry) {
  await inStore("queue", "readwrite", (s) => s.put(entry));
  changed();
}

/** @returns {Promise<Entry[]>} oldest first */
export async function entries() {
  /** @type {Entry[]} */
  const all = await inStore("queue", "readonly", (s) => s.getAll());
  return all.sort((a, b) => a.recordedAt.localeCompare(b.recordedAt));
}

/** @param {string} id @returns {Promise<Entry | undefined>} */
export const entry = (id) => inStore("queue", "readonly", (s) => s.get(id));

/** @param {string} id */
export async function discard(id) {
  await inStore("queue", "readwrite", (s) => s.delete(id));
  changed();
}

/** @param {string} name @param {unknown} value */
export const keep = (name, value) => inStore("kept", "readwrite", (s) => s.put(value, name));

/** @param {string} name @returns {Promise<any>} */
export const kept = (name) => inStore("kept", "readonly", (s) => s.get(name));

/** @param {Entry} entry */
export const isUnsent = (entry) => entry.state !== "received" || entry.photos.length > 0;

/** UUIDv7 (RFC 9562, 5.7). */
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  let ms = Date.now();
  for (let at = 5; at >= 0; at--) {
    bytes[at] = ms % 256;
    ms = Math.floor(ms / 256);
  }
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("chock") : undefined;
/** @type {Set<() => void>} */
const listeners = new Set();
channel?.addEventListener("message", () => listeners.forEach((l) => l()));

/** Calls back whenever the queue changes, in whichever tab. @param {() => void} listener */
export function onChange(listener) {
  listeners.add(listener);
}

function changed() {
  listeners.forEach((l) => l());
  channel?.postMessage("changed");
}

/**
 * Sends what is due, oldest first and never out of order: an hour meter only goes forward. One tab at a time. Answers when
 * the next try is due, in ms, or nothing when all is sent or waits for somebody.
 * @param {boolean} [now] whether it is due or not
 * @returns {Promise<number | undefined>}
 */
export async function drain(now = false) {
  const one = async () => {
    for (const e of await entries()) {
      if (e.state === "received" && !e.photos.length) {
        if (Date.now() - Date.parse(e.receivedAt ?? "") > KEEP_MS) await discard(e.id);
      } else if (e.state !== "refused") {
        // Whoever cannot be reached now cannot be reached for the next one either.
        if (!(now || e.next <= Date.now()) || !(await send(e))) break;
      }
    }
  };
  if (navigator.locks) await navigator.locks.request("chock-queue", one);
  else await one();
  const waiting = (await entries()).filter((e) => isUnsent(e) && e.state !== "refused" && e.state !== "signed out");
  return waiting.length ? Math.max(1_000, Math.min(...waiting.map((e) => e.next)) - Date.now()) : undefined;
}

/** @param {Entry} e @returns {Promise<boolean>} whether the server could be reached */
async function send(e) {
  try {
    if (e.state !== "received") {
      await save({ ...e, state: "sending" });
      const answer = await put(`/api/v1/${e.kind}/${e.id}`, e, BODY_MS, "application/json", JSON.stringify(e.body));
      if (answer.status === 401 || answer.status === 403) {
        await later(e, "signed out", await sentence(answer));
        // It waits for its person, and keeps nobody else's back.
        return true;
      }
      if (answer.status >= 500 || answer.status === 429) return await later(e, "saved", await sentence(answer));
      if (!answer.ok) {
        const problem = await answer.json().catch(() => ({}));
        // Whatever did not come from Chock itself decides nothing.
        if (!problem.detail) return await later(e, "saved", "");
        const said = problem.detail;
        await save({ ...e, state: "refused", said, faults: problem.errors ?? [] });
        return true;
      }
      const known = await answer.json().catch(() => null);
      // Half an answer is none: what broke off on the way may look like a success.
      if ((known?.check ?? known?.defect) !== e.id) return await later(e, "saved", "");
      e = { ...e, state: "received", receivedAt: new Date().toISOString(), answer: known, said: undefined, tries: 0, next: 0 };
      await save(e);
    }
    for (const photo of [...e.photos]) {
      const place = new URLSearchParams({ item: photo.item, position: photo.position });
      const where = e.kind === "checks" ? `?${place}` : "";
      const type = photo.picture.type === "image/png" ? "image/png" : "image/jpeg";
      const answer = await put(`/api/v1/${e.kind}/${e.id}/photos${where}`, e, PHOTO_MS, type, photo.picture);
      if (answer.status === 401 || answer.status >= 500 || answer.status === 429) {
        return await later(e, "received", await sentence(answer));
      }
      const lost = answer.ok ? e.lost : [...(e.lost ?? []), photo.item];
      e = { ...e, photos: e.photos.filter((p) => p !== photo), lost };
      await save(e);
    }
    return true;
  } catch (error) {
    if (!(error instanceof TypeError || error instanceof DOMException)) throw error;
    return await later(e, e.state === "received" ? "received" : "saved", "");
  }
}

/**
 * @param {string} path @param {Entry} e @param {number} most @param {string} type @param {BodyInit} body
 */
function put(path, e, most, type, body) {
  return fetch(path, {
    method: "PUT",
    // Of whoever recorded it: the server refuses it from anybody else.
    headers: { "content-type": type, "chock-recorded-by": e.person },
    body,
    redirect: "error",
    cache: "no-store",
    signal: AbortSignal.timeout(most),
  });
}

/** @param {Response} answer */
async function sentence(answer) {
  const problem = await answer.json().catch(() => ({}));
  return problem.detail ?? "";
}

/** @param {Entry} e @param {State} state @param {string} said @returns {Promise<boolean>} */
async function later(e, state, said) {
  const wait = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** e.tries);
  // Not everybody at once when the mast is back.
  const next = Date.now() + wait * (0.75 + Math.random() / 2);
  await save({ ...e, state, said, tries: e.tries + 1, next });
  return false;
}
