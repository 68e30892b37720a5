// @ts-check
// Figures as people type them, the units they are in, and both written exactly as the server writes them, so that a
// sentence made on the phone is the server's own. Figures are kept twice: as read, and in the SI base of their quantity,
// for comparing. The same as src/domain/unit.rs.

import { figure, say } from "./words.js";

/** @typedef {{as_read: string, unit: string, base: number}} Measured A figure with its unit. */

/** Of each unit its quantity, and what one of it is in the SI base. @type {Record<string, [string, number]>} */
const UNITS = {
  kPa: ["pressure", 1],
  bar: ["pressure", 100],
  psi: ["pressure", 6.894757293168],
  mm: ["length", 1],
  in: ["length", 25.4],
  "°C": ["temperature", 1],
  "°F": ["temperature", 1 / 1.8],
  L: ["volume", 1],
  mL: ["volume", 0.001],
  "US qt": ["volume", 0.946352946],
  "US fl oz": ["volume", 0.0295735295625],
  h: ["time", 1],
};

const MOST_DIGITS = 12;
const LONGEST_ECHO = 24;

/** What was typed cannot be understood; `said` is the sentence to show. */
export class Unclear extends Error {
  /** @param {string} key @param {import("./words.js").Filled} [filled] */
  constructor(key, filled) {
    super(key);
    this.filled = filled;
  }

  get said() {
    return say(this.message, this.filled);
  }
}

/** @param {string} unit */
export const quantity = (unit) => UNITS[unit][0];
/** @param {string} unit */
export const factor = (unit) => UNITS[unit][1];
/** @param {number} figure @param {string} unit */
export const toBase = (figure, unit) => (unit === "°F" ? (figure - 32) / 1.8 : figure * factor(unit));
/** @param {number} base @param {string} unit */
export const fromBase = (base, unit) => (unit === "°F" ? base * 1.8 + 32 : base / factor(unit));

/** A figure with no digits that a conversion made up. @param {number} of @param {string} unit */
export const inWords = (of, unit) => figure(`${round(of * 1000) / 1000 || 0} ${unit}`);

/** @param {Measured} m */
export const shown = (m) => figure(`${m.as_read} ${m.unit}`);

/** @param {string} text @param {string} unit @returns {Measured} */
export function measured(text, unit) {
  const as_read = plainFigure(text);
  return { as_read, unit, base: toBase(Number(as_read), unit) };
}

/** A unit as people type it. @param {string} text */
export function parseUnit(text) {
  const typed = trim(text);
  const small = (/** @type {string} */ t) => t.replace(/[A-Z]/g, (c) => c.toLowerCase());
  const unit = Object.keys(UNITS).find((u) => small(u) === small(typed));
  if (unit) return unit;
  throw new Unclear("figure-unknown-unit", { given: quoted(echo(typed)), known: Object.keys(UNITS).join(", ") });
}

/** Engine hours as typed or as the server writes them, in tenths of an hour. @param {string} text */
export function tenths(text) {
  const figure = plainFigure(text);
  if (figure.startsWith("-")) throw new Unclear("figure-negative-hours");
  const [whole, part = "0"] = figure.split(".");
  if (/[^0]/.test(part.slice(1))) throw new Unclear("figure-finer-than-tenths");
  return Number(whole + part[0]);
}

/** @param {number} tenths */
export const hoursShown = (tenths) => figure(`${Math.floor(tenths / 10)}.${tenths % 10}`);

/** A sign, digits and at most one point or comma; nothing else gets through. @param {string} text */
function plainFigure(text) {
  const typed = trim(text);
  if (!typed) throw new Unclear("figure-none");
  const negative = /^[-\u2212]/.test(typed);
  const digits = negative || typed.startsWith("+") ? typed.slice(1) : typed;
  const given = () => ({ given: quoted(echo(typed)) });
  const noFigure = () => new Unclear("figure-not-plain", given());
  if (/[^0-9.,]/.test(digits)) throw noFigure();
  if (digits.includes(",") && digits.includes(".")) throw new Unclear("figure-two-signs", given());
  const [whole, part = "", ...more] = digits.split(/[.,]/);
  if (more.length || !(whole || part)) throw noFigure();
  if (whole.length + part.length > MOST_DIGITS) throw new Unclear("figure-too-long", { most: MOST_DIGITS });
  const sign = negative && /[1-9]/.test(digits) ? "-" : "";
  return sign + (whole || "0") + (part && `.${part}`);
}

/** @param {string} text */
function echo(text) {
  const all = letters(text);
  return all.length <= LONGEST_ECHO ? text : `${all.slice(0, LONGEST_ECHO).join("")}…`;
}

/** Ends of a text that are only space. */
const SPACE = /^\p{White_Space}+|\p{White_Space}+$/gu;
const SPACES = /\p{White_Space}+/u;

/** @param {string} text */
export const trim = (text) => text.replace(SPACE, "");

/** How many words a sentence has. @param {string} text */
export const words = (text) => trim(text).split(SPACES).filter(Boolean).length;

/** Letters as people count them, near enough: code points. @param {string} text */
export const letters = (text) => [...text];

/**
 * What was typed, in quotes, with everything that cannot be seen made visible.
 * @param {string} text
 */
export function quoted(text) {
  const named = /** @type {Record<string, string>} */ ({ "\0": "\\0", "\t": "\\t", "\r": "\\r", "\n": "\\n", "\\": "\\\\", '"': '\\"' });
  const shown = letters(text).map((c) => {
    if (named[c]) return named[c];
    const hidden = c !== " " && /[\p{C}\p{Z}\p{Grapheme_Extend}]/u.test(c);
    return hidden ? `\\u{${/** @type {number} */ (c.codePointAt(0)).toString(16)}}` : c;
  });
  return `"${shown.join("")}"`;
}

/** Half away from zero; `Math.round` takes -2.5 to -2. @param {number} x */
export const round = (x) => (x < 0 ? -Math.round(-x) : Math.round(x));

/**
 * To the whole hour; exactly between two it is the even one, where `toFixed` goes up.
 * @param {number} x
 */
export function wholeHours(x) {
  const size = Math.abs(x);
  const even = size % 2 === 0.5 ? size - 0.5 : size;
  return (x < 0 ? "-" : "") + even.toFixed(0);
}
