// @ts-check
// A checklist as the server keeps it: its walk, and the limits a figure is held against. The same as
// src/domain/checklist.rs and src/domain/checklist/measure.rs.

import { factor, fromBase, round } from "./figures.js";
import { figure, say } from "./words.js";

/**
 * @typedef {{key: string, title: string}} Position
 * @typedef {{load?: string | null, warmth?: string | null, at_least: number | null, at_most: number | null}} Limit
 * @typedef {{base: string, units: string[], resolution: number, plausible: [number, number], limits: Limit[]}} Measure
 * @typedef {"condition" | "function" | "level" | {measure: Measure}} Asks
 * @typedef {{key: string, title: string, todo: string, accept: string, caution: string | null, system: string,
 *   safety: boolean, asks: Asks, positions: Position[], may_be_not_applicable: boolean, may_be_corrected: boolean,
 *   corrected_unit: string | null}} Item
 * @typedef {{key: string, title: string, stand: string, items: Item[]}} Zone
 * @typedef {{item: string, position?: string | null}} Place
 * @typedef {{hours: number} | {days: number}} Span
 * @typedef {{kind: string, at: Place, is: string, side: string, at_temperature?: number | null, below: number | null,
 *   above: number | null, more_than: number, between: string[][], times: number | null, amount: number | null,
 *   within: Span, within_days: number, within_hours: number}} Condition Which of these it has depends on its kind.
 * @typedef {{name: string, title?: string, severity: string, when: Condition[], instruction: string, final: boolean,
 *   good_for_days: number | null, good_for_hours: number | null, route: string | null}} Rule
 * @typedef {{name: string, title: string, classes: string[], zones: Zone[], rules: Rule[]}} Checklist
 * @typedef {{load: string, engine_hours: string | null, hours_confirmed?: boolean, warmth?: string | null,
 *   air?: import("./figures.js").Measured | null, altitude_m?: number | null}} Context
 * @typedef {{index: number, item: Item, position: string | null, title: string, where: string}} Stop `where` is the
 *   position's title.
 * @typedef {{load: string, warmth?: string | null}} Under
 */

/**
 * Every stop in walking order: neighbouring items of a zone that share their positions are walked position by position.
 * @param {Checklist} checklist @returns {Stop[]}
 */
export function walk(checklist) {
  /** @type {Stop[]} */
  const stops = [];
  for (const zone of checklist.zones) {
    for (let from = 0, to = 0; from < zone.items.length; from = to) {
      const shared = zone.items[from].positions;
      while (to < zone.items.length && alike(zone.items[to].positions, shared)) to += 1;
      for (const p of shared.length ? shared : [null]) {
        for (const item of zone.items.slice(from, to)) {
          const title = p ? `${item.title}, ${p.title}` : item.title;
          stops.push({ index: stops.length, item, position: p?.key ?? null, title, where: p?.title ?? "" });
        }
      }
    }
  }
  return stops;
}

/** @param {Position[]} a @param {Position[]} b */
const alike = (a, b) => a.length === b.length && a.every((p, i) => p.key === b[i].key && p.title === b[i].title);

/** @param {Checklist} checklist @param {string} key */
export const itemOf = (checklist, key) => checklist.zones.flatMap((z) => z.items).find((i) => i.key === key);

/** @param {Item} item @returns {Measure | null} */
export const measureOf = (item) => (typeof item.asks === "object" ? item.asks.measure : null);

/**
 * The tightest of all limits that apply; where it is not said whether the machine is cold or warm, those of both do.
 * @param {Measure} measure @param {Under} under
 */
export function bounds(measure, under) {
  /** @type {{at_least: number | null, at_most: number | null}} */
  const tightest = { at_least: null, at_most: null };
  for (const l of measure.limits) {
    if (l.load != null && l.load !== under.load) continue;
    if (l.warmth != null && under.warmth != null && l.warmth !== under.warmth) continue;
    if (l.at_least != null) tightest.at_least = Math.max(tightest.at_least ?? -Infinity, l.at_least);
    if (l.at_most != null) tightest.at_most = Math.min(tightest.at_most ?? Infinity, l.at_most);
  }
  return tightest;
}

/** Compared in steps of what the gauge can tell apart. @param {Measure} m @param {number} value @param {number} figure */
export const isBelow = (m, value, figure) => steps(m, value) < steps(m, figure);
/** @param {Measure} m @param {number} value @param {number} figure */
export const isAbove = (m, value, figure) => steps(m, value) > steps(m, figure);

// Rounding twice, so that nothing hangs on the last bit of a binary fraction.
/** @param {Measure} m @param {number} value */
const steps = (m, value) => round(round((value / m.resolution) * 1e5) / 1e5);

/** @param {Measure} m @param {number} value @param {Under} under @param {string} side */
export function beyond(m, value, under, side) {
  const { at_least, at_most } = bounds(m, under);
  const below = at_least !== null && isBelow(m, value, at_least);
  const above = at_most !== null && isAbove(m, value, at_most);
  return side === "below limit" ? below : side === "above limit" ? above : below || above;
}

/** The side of the limit that the figure breaks. @param {Measure} m @param {number} base @param {string} unit @param {Under} under */
export function brokenLimit(m, base, unit, under) {
  const { at_least, at_most } = bounds(m, under);
  const limit = (/** @type {string} */ key, /** @type {number} */ of) =>
    say(key, { figure: inUnit(m, of, unit) }) + contextOf(m, under);
  if (at_least !== null && isBelow(m, base, at_least)) return limit("judge-at-least", at_least);
  if (at_most !== null && isAbove(m, base, at_most)) return limit("judge-at-most", at_most);
  return null;
}

/** With no more digits than the gauge can tell apart. @param {Measure} m @param {number} base @param {string} unit */
export const inUnit = (m, base, unit) => rounded(m, fromBase(base, unit), unit);
/** The distance between two figures: 0 °C apart is not 32 °F apart. @param {Measure} m @param {number} base @param {string} unit */
export const apartInUnit = (m, base, unit) => rounded(m, base / factor(unit), unit);

/** @param {Measure} m @param {number} of @param {string} unit */
function rounded(m, of, unit) {
  const step = m.resolution * (factor(m.base) / factor(unit));
  const digits = [0, 1, 2, 3, 4, 5].find((d) => step >= 0.999 * (1 / 10 ** d)) ?? 6;
  const scale = 10 ** digits;
  return figure(`${round(of * scale) / scale || 0} ${unit}`);
}

/** What of the context the item's limits depend on. @param {Measure} m @param {Under} under */
function contextOf(m, under) {
  const load = m.limits.some((l) => l.load != null) ? `, ${say(under.load === "laden" ? "load-laden" : "load-unladen")}` : "";
  const warmths = { cold: "warmth-cold", warm: "warmth-warm", none: "judge-cold-or-warm" };
  const stated = /** @type {"cold" | "warm" | "none"} */ (under.warmth ?? "none");
  return load + (m.limits.some((l) => l.warmth != null) ? `, ${say(warmths[stated])}` : "");
}
