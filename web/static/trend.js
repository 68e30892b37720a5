// @ts-check
// What is known of a machine's earlier checks, and the straight line through its readings. The same as
// src/domain/history.rs and src/domain/trend.rs.

import { tenths, wholeHours } from "./figures.js";

/**
 * @typedef {{engine_hours: string | null, at: string, base: number}} Point
 * @typedef {{item: string, position: string | null, points: Point[]}} Series
 * @typedef {{item: string, position: string | null, at: string, engine_hours: string | null, amount_base: number | null}} CorrectedAt
 * @typedef {{item: string, position: string | null, at: string}} ReleasedAt
 * @typedef {{now?: string | null, series?: Series[], corrected?: CorrectedAt[], released?: ReleasedAt[],
 *   renewed?: ReleasedAt[]}} History
 * @typedef {{points: number, span: number, last: number, intercept: number, slope: number, mean: number,
 *   squares: number, reach: number}} Line Over engine hours. `squares` are those of the hours about their mean, `reach`
 *   is how far readings scatter about the line (97.5 % of Student's t times their standard deviation).
 * @typedef {{engine_hours: string | null, at: number, base: number}} Taken
 * @typedef {{low: boolean, figure: number}} Edge A limit that a trend may run into, from above or from below.
 * @typedef {{expected: number, low: number, high: number}} Prediction
 * @typedef {import("./checklist.js").Span} Span
 */

const FEWEST_POINTS = 4;
const MOST_POINTS = 60;
const SHORTEST_SPAN = 20;
const FEWEST_GAPS = 3;
const HOUR = 3_600e6;
const DAY = 24 * HOUR;

/** Microseconds since 1970: `Date` alone knows thousandths only. @param {string} text */
export function moment(text) {
  const [, second, fraction = "", zone] = /^(.*?)(?:\.(\d+))?(Z|[+-]\d\d:\d\d)$/.exec(text) ?? ["", text, "", ""];
  return Date.parse(second + zone) * 1000 + Number(fraction.padEnd(6, "0").slice(0, 6));
}

/** Looked up by place: an item, and its position where it has several. */
export class Past {
  /** @param {History} history */
  constructor(history) {
    const { now, series = [], corrected = [], released = [], renewed = [] } = history;
    this.series = series;
    this.renewed = renewed.map((r) => ({ ...r, at: moment(r.at) }));
    this.corrected = corrected.map((c) => ({ ...c, at: moment(c.at) }));
    this.released = released.map((r) => ({ ...r, at: moment(r.at) }));
    const known = [...series.flatMap((s) => s.points.map((p) => moment(p.at))), ...this.corrected.map((c) => c.at)];
    const latest = largest([...known, ...this.released.map((r) => r.at)]);
    /** The moment of judgement, in microseconds. */
    this.moment = now == null ? latest : moment(now);
  }

  /** @param {string} item @param {string | null} position */
  points(item, position) {
    return this.series.find((s) => isAt(s, item, position))?.points ?? [];
  }

  /** What was put right begins a new series, unless its part was replaced after that. @param {string} item @param {string | null} position @returns {Line | null} */
  line(item, position) {
    const put = lastAt(this.corrected, item, position) ?? -Infinity;
    const since = put > (lastAt(this.renewed, item, position) ?? -Infinity) ? put : -Infinity;
    const points = this.points(item, position).map((p) => ({ ...p, at: moment(p.at) }));
    return fit(points.filter((p) => p.at >= since));
  }

  /** The hour meter as last known at this place, in tenths. @param {string} item @param {string | null} position */
  lastHours(item, position) {
    let last = null;
    let at = -Infinity;
    for (const p of this.points(item, position)) {
      if (moment(p.at) < at) continue;
      at = moment(p.at);
      last = p.engine_hours;
    }
    return last == null ? null : tenths(last);
  }

  /** @param {string} item @param {string | null} position */
  lastRelease(item, position) {
    return lastAt(this.released, item, position);
  }

  /** @param {string} item @param {string | null} position */
  daysSinceRelease(item, position) {
    const released = this.lastRelease(item, position);
    if (released === null || this.moment === null) return null;
    return Math.max(0, Math.trunc((this.moment - released) / DAY));
  }

  /**
   * How often and by how much it was put right within the span, since its last release.
   * @param {string} item @param {string | null} position @param {Span} within @param {number | null} hoursNow in tenths
   */
  corrections(item, position, within, hoursNow) {
    const counts = { times: 0, amount: 0 };
    const now = this.moment;
    if (now === null) return counts;
    const released = this.lastRelease(item, position) ?? -Infinity;
    for (const c of this.corrected) {
      if (!isAt(c, item, position) || c.at <= released || !liesWithin(c, within, now, hoursNow)) continue;
      counts.times += 1;
      counts.amount += c.amount_base ?? 0;
    }
    return counts;
  }
}

/** @param {{item: string, position?: string | null}} place @param {string} item @param {string | null} position */
export const isAt = (place, item, position) => place.item === item && (place.position ?? null) === position;

/** @param {{item: string, position: string | null, at: number}[]} of @param {string} item @param {string | null} position */
const lastAt = (of, item, position) => largest(of.filter((o) => isAt(o, item, position)).map((o) => o.at));

/** Without a long list of arguments, which engines bound. @param {number[]} of */
const largest = (of) => of.reduce((/** @type {number | null} */ a, b) => (a === null || b > a ? b : a), null);

/**
 * Engine hours where both are known and of one meter; else the calendar, for an engine never runs more hours than pass.
 * @param {{at: number, engine_hours: string | null}} c @param {Span} within @param {number} now @param {number | null} hoursNow
 */
function liesWithin(c, within, now, hoursNow) {
  const passed = now - c.at;
  if ("days" in within) return passed <= within.days * DAY;
  const then = c.engine_hours == null ? null : tenths(c.engine_hours);
  if (hoursNow !== null && then !== null && then <= hoursNow) return hoursNow - then <= within.hours * 10;
  return passed <= within.hours * HOUR;
}

/**
 * Ordinary least squares, values on hours, about the means; null where the readings carry no line.
 * @param {Taken[]} points @returns {Line | null}
 */
function fit(points) {
  const readings = onOneMeter(points);
  const n = readings.length;
  if (n < FEWEST_POINTS) return null;
  const hours = readings.map(([x]) => x).sort((a, b) => a - b);
  const last = hours[n - 1];
  const span = last - hours[0];
  if (span < SHORTEST_SPAN || span < FEWEST_GAPS * medianGap(hours) * (1 - 1e-9)) return null;
  if (readings.every(([, y]) => y === readings[0][1])) return null;
  const sum = (/** @type {(x: number, y: number) => number} */ f) => readings.reduce((s, [x, y]) => s + f(x, y), 0);
  const mean = sum((x) => x) / n;
  const meanY = sum((_, y) => y) / n;
  const squares = sum((x) => (x - mean) * (x - mean));
  const slope = sum((x, y) => (x - mean) * (y - meanY)) / squares;
  const s = Math.sqrt(sum((x, y) => (y - meanY - slope * (x - mean)) ** 2) / (n - 2));
  const t = studentT(n - 2);
  if (!(Math.abs(slope) > t * (s / Math.sqrt(squares)))) return null;
  return { points: n, span, last, intercept: meanY - slope * mean, slope, mean, squares, reach: t * s };
}

/** @type {Map<number, number>} */
const known = new Map();

/**
 * The 97.5 % point of Student's t. For whole degrees of freedom its distribution between -t and t is a finite sum in
 * θ = atan(t/√ν), all of whose terms are positive (Abramowitz & Stegun, 26.7.3 and 26.7.4; from memory, and held against
 * the server's own figures in tests/judged_alike.rs). Newton's steps from θ = 0 stay below the root, for the sum bends
 * downwards, and so they arrive.
 * @param {number} freedom
 */
export function studentT(freedom) {
  const found = known.get(freedom);
  if (found !== undefined) return found;
  const odd = freedom % 2 === 1;
  // The density of θ is 2·c·cos^(ν-1) θ.
  let c = odd ? 1 / Math.PI : 0.5;
  for (let v = odd ? 1 : 2; v < freedom; v += 2) c *= (v + 1) / v;
  let angle = 0;
  for (let step = 1; step > 1e-16 * angle; angle += step) {
    const cos = Math.cos(angle);
    let term = odd ? cos : 1;
    let sum = 0;
    for (let k = odd ? 2 : 1; k < freedom; k += 2) {
      sum += term;
      term *= (k / (k + 1)) * cos * cos;
    }
    const between = odd ? (2 / Math.PI) * (angle + Math.sin(angle) * sum) : Math.sin(angle) * sum;
    step = (0.95 - between) / (2 * c * cos ** (freedom - 1));
  }
  const t = Math.sqrt(freedom) * Math.tan(angle);
  known.set(freedom, t);
  return t;
}

/** The value on the line. @param {Line} line @param {number} hours */
const at = (line, hours) => line.intercept + line.slope * hours;

/** What one more reading at these hours is expected to be. @param {Line} line @param {number} hours */
export const predict = (line, hours) =>
  prediction(line, at(line, hours), 1 + 1 / line.points + (hours - line.mean) ** 2 / line.squares);

/** Going on from a new reading at the line's slope. @param {Line} line @param {number} value @param {number} hoursOn */
export const predictFrom = (line, value, hoursOn) =>
  prediction(line, value + line.slope * hoursOn, 2 + hoursOn ** 2 / line.squares);

/** @param {Line} line @param {number} expected @param {number} spread @returns {Prediction} */
function prediction(line, expected, spread) {
  const reach = line.reach * Math.sqrt(spread);
  return { expected, low: expected - reach, high: expected + reach };
}

/** @param {Line} line @param {Edge} edge */
export const runsTowards = (line, edge) => (edge.low ? line.slope < 0 : line.slope > 0);

/** Whether the prediction admits a value past the edge. @param {Edge} edge @param {Prediction} p */
export const mayBePassed = (edge, p) => (edge.low ? p.low < edge.figure : p.high > edge.figure);

/** When the line and its two bounds reach the edge, in whole hours. @param {Line} line @param {Edge} edge */
export function crossingOf(line, edge) {
  if (!runsTowards(line, edge)) return null;
  const above = at(line, line.mean) - edge.figure;
  const reach = line.reach ** 2;
  const a = line.slope * line.slope - reach / line.squares;
  const halfB = line.slope * above;
  const c = above * above - reach * (1 + 1 / line.points);
  const root = Math.sqrt(Math.max(0, halfB * halfB - a * c));
  if (a <= 0) return null;
  const hours = [-above / line.slope, (-halfB - root) / a, (-halfB + root) / a];
  return hours.map((from) => wholeHours(line.mean + from));
}

/**
 * Hours with values, in the order taken. Where the hours run back another meter was fitted; only what came after counts.
 * @param {Taken[]} points @returns {[number, number][]}
 */
function onOneMeter(points) {
  const taken = points
    .flatMap((p) => (p.engine_hours == null ? [] : [{ at: p.at, hours: tenths(p.engine_hours), base: p.base }]))
    .sort((a, b) => a.at - b.at || a.hours - b.hours || a.base - b.base);
  let from = taken.length - 1;
  while (from > 0 && taken[from].hours >= taken[from - 1].hours) from -= 1;
  return taken.slice(Math.max(0, from, taken.length - MOST_POINTS)).map((p) => [p.hours / 10, p.base]);
}

/** Of the gaps between different hours. @param {number[]} hours sorted */
function medianGap(hours) {
  const gaps = hours.slice(1).map((h, i) => h - hours[i]).filter((g) => g > 0).sort((a, b) => a - b);
  const middle = Math.floor(gaps.length / 2);
  if (!gaps.length) return 0;
  return gaps.length % 2 ? gaps[middle] : (gaps[middle - 1] + gaps[middle]) / 2;
}
