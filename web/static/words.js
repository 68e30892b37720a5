// @ts-check
// What scripts say, in the language of the page: the server's own sentences, from the same catalogues. In the service
// worker, which has no page, whoever asks says which language.

/**
 * A sentence in pieces: text, what is filled in, or a choice by a number or a word.
 * @typedef {(string | [string] | [string, {[chosen: string]: Pieces}])[]} Pieces
 * @typedef {{[name: string]: string | number}} Filled
 */

/** @type {{[key: string]: Pieces}} */
let sentences = {};
let lang = globalThis.document?.documentElement.lang || "en";
let plural = new Intl.PluralRules(lang);
/** @type {Promise<void> | undefined} */
let asked;

/**
 * Fetches the sentences, once: wait for it before the first of them is said. They are built in for as long as the build
 * lasts, and kept with the pages that need them.
 * @param {string} wanted its tag
 */
export function ready(wanted = lang) {
  if (wanted !== lang) asked = undefined;
  asked ??= fetchThem(wanted).catch((error) => {
    asked = undefined;
    throw error;
  });
  return asked;
}

/** @param {string} wanted */
async function fetchThem(wanted) {
  const answer = await fetch(new URL(`words.${wanted}.json`, import.meta.url));
  if (!answer.ok) throw new TypeError(`no words: ${answer.status}`);
  learn(wanted, await answer.json());
}

/** @param {string} tag @param {{[key: string]: Pieces}} words */
export function learn(tag, words) {
  lang = tag;
  plural = new Intl.PluralRules(tag);
  sentences = words;
}

/** The language that is spoken. */
export const spoken = () => lang;

/** The sentence of a key. @param {string} key @param {Filled} filled @returns {string} */
export function say(key, filled = {}) {
  const pieces = sentences[key];
  if (!pieces) console.error("There are no words for", key);
  return pieces ? joined(pieces, filled) : key;
}

/** A figure written with a point, the way the language writes it. @param {string} withPoint */
export const figure = (withPoint) => (lang === "es" ? withPoint.replaceAll(".", ",") : withPoint);

/** @param {Pieces} pieces @param {Filled} filled @returns {string} */
const joined = (pieces, filled) =>
  pieces.map((p) => (typeof p === "string" ? p : p[1] ? joined(chosen(filled[p[0]], p[1]), filled) : filled[p[0]])).join("");

/** @param {string | number} by @param {{[chosen: string]: Pieces}} of */
const chosen = (by, of) => of[by] ?? (typeof by === "number" ? of[plural.select(by)] : undefined) ?? of.other;
