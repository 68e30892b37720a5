// @ts-check
// Which rules match which stops of the walk, and what is said of it. The same as src/domain/judge and what is below it.

import { apartInUnit, beyond, bounds, brokenLimit, inUnit, isAbove, isBelow, measureOf } from "./checklist.js";
import { Past, crossingOf, isAt, mayBePassed, predict, predictFrom, runsTowards } from "./trend.js";
import { fromBase, inWords, shown, tenths, wholeHours, words } from "./figures.js";
import { figure, say } from "./words.js";

/**
 * @typedef {import("./checklist.js").Checklist} Checklist
 * @typedef {import("./checklist.js").Condition} Condition
 * @typedef {import("./checklist.js").Context} Context
 * @typedef {import("./checklist.js").Measure} Measure
 * @typedef {import("./checklist.js").Place} Place
 * @typedef {import("./checklist.js").Rule} Rule
 * @typedef {import("./checklist.js").Stop} Stop
 * @typedef {import("./answers.js").Reading} Reading
 * @typedef {import("./trend.js").Edge} Edge
 * @typedef {import("./trend.js").Line} Line
 * @typedef {{rule: string, sentence: string}} Reason
 * @typedef {{stop: number, text: string, seen: string | null, details: string[], beside: number | null}} Fact
 *   What was seen at a stop that made a condition hold; `seen` is what was read there where `text` tells something else.
 * @typedef {{rule: Rule, order: number, anchor: number, facts: Fact[], failed: Set<number>}} Match
 */

/** The name under which an explanation by the weather stands beside the rules. */
export const AIR_TEMPERATURE = "air temperature";

/** A reason is read standing up, in gloves. */
const MOST_WORDS = 24;

/** The readings laid out by their stops. */
export class Sheet {
  /** @param {Stop[]} stops @param {Reading[]} readings @param {Context} context @param {import("./trend.js").History} history */
  constructor(stops, readings, context, history) {
    this.stops = stops;
    this.context = context;
    this.past = new Past(history);
    this.hours = context.engine_hours == null ? null : tenths(context.engine_hours);
    // Were there two readings of one stop, the worse one counts.
    this.readings = stops.map((s) => {
      const here = readings.filter((r) => isAt(r, s.item.key, s.position));
      return here.findLast((r) => r.outcome === "defect") ?? here.at(-1);
    });
  }

  /** A figure or level outside its limits is a defect, whatever was written down. @param {number} stop */
  outcome(stop) {
    const reading = this.readings[stop];
    if (!reading) return null;
    const { item } = this.stops[stop];
    const measure = measureOf(item);
    let outside = item.asks === "level" && reading.level != null && reading.level !== "between";
    if (measure && reading.value) outside = beyond(measure, reading.value.base, this.context, "outside limits");
    return outside && reading.outcome !== "not applicable" ? "defect" : reading.outcome;
  }

  /** @param {number} stop @returns {[string, string | null]} */
  at(stop) {
    return [this.stops[stop].item.key, this.stops[stop].position];
  }

  /** Everywhere the rule holds: once per position of the first item it names. @param {Rule} rule @param {number} order */
  matches(rule, order) {
    const anchor = rule.when.find((c) => c.at)?.at;
    if (!anchor) return [];
    const here = (/** @type {Stop} */ s) =>
      s.item.key === anchor.item && (anchor.position == null || s.position === anchor.position);
    return this.stops.filter(here).flatMap((stop) => this.holdsAt(rule, order, stop) ?? []);
  }

  /** @param {Rule} rule @param {number} order @param {Stop} anchor @returns {Match | null} */
  holdsAt(rule, order, anchor) {
    /** @type {Fact[]} */
    const facts = [];
    const failed = new Set([anchor.index]);
    for (const condition of rule.when) {
      if (!condition.at) {
        if (this.isSo(condition, rule.severity)) continue;
        return null;
      }
      const found = this.candidates(condition.at, anchor).flatMap((stop) => this.fact(condition, stop) ?? []);
      if (!found.length) return null;
      for (const fact of found) {
        failed.add(fact.stop);
        if (fact.beside !== null) failed.add(fact.beside);
        // Two conditions on one stop say the same of it; the later, or the one that looks further, is kept.
        const same = facts.findIndex((f) => f.stop === fact.stop);
        if (same < 0) {
          facts.push(fact);
          continue;
        }
        const details = [...facts[same].details, ...fact.details];
        const kept = facts[same].seen === null || fact.seen !== null ? fact : facts[same];
        facts[same] = { ...kept, details };
      }
    }
    const away = (/** @type {Fact} */ f) => Number(f.stop !== anchor.index);
    facts.sort((a, b) => away(a) - away(b) || a.stop - b.stop);
    return { rule, order, anchor: anchor.index, facts, failed };
  }

  /** Whether a condition of the whole check holds. @param {Condition} condition @param {string} severity */
  isSo({ kind, is }, severity) {
    if (kind === "load") return is === this.context.load;
    // Not stated: a rule that stops the machine holds, one that makes less of it does not.
    const { warmth } = this.context;
    return warmth == null ? severity === "out of service" : warmth === is;
  }

  /** At the position named; else at the finding's own, when the item has it too; else anywhere on the item. @param {Place} at @param {Stop} anchor */
  candidates(at, anchor) {
    const onItem = this.stops.filter((s) => s.item.key === at.item);
    const same = anchor.position !== null && onItem.some((s) => s.position === anchor.position);
    const wanted = at.position ?? (same ? anchor.position : null);
    return onItem.filter((s) => wanted === null || s.position === wanted).map((s) => s.index);
  }

  /** What makes the condition hold at the stop; null when it does not. @param {Condition} c @param {number} stop @returns {Fact | null} */
  fact(c, stop) {
    const reading = this.readings[stop];
    const outcome = this.outcome(stop);
    if (!reading || outcome === null) return null;
    const when = (/** @type {boolean} */ holds) => (holds ? fact(stop, this.describe(stop)) : null);
    if (outcome === "not applicable") return when(c.kind === "outcome" && c.is === outcome);
    switch (c.kind) {
      case "outcome":
        return when(outcome === c.is);
      case "level":
        return when(reading.level === c.is);
      case "limit":
      case "figure":
        return this.held(c, stop, reading);
      case "difference":
        return this.difference(stop, c.more_than, c.between);
      case "corrected":
        return this.corrected(stop, outcome, c);
      case "recurs":
        return this.recurs(stop, outcome, c.within_days);
      case "trend":
        return this.mayPass(stop, c.side, c.within_hours);
      default:
        return null;
    }
  }

  /** A figure against the item's limit or the rule's own. @param {Condition} c @param {number} stop @param {Reading} reading */
  held(c, stop, { value }) {
    const measure = measureOf(this.stops[stop].item);
    if (!measure || !value) return null;
    const to = c.at_temperature ?? null;
    const base = this.broughtTo(to, value.base);
    const brought = to !== null && this.context.air != null;
    const at = { brought: inUnit(measure, base, value.unit), celsius: figure(`${to}`) };
    if (c.kind === "limit") {
      if (!beyond(measure, base, this.context, c.side)) return null;
      if (!brought) return fact(stop, this.describe(stop));
      const limit = brokenLimit(measure, base, value.unit, this.context);
      return limit === null ? null : fact(stop, say("judge-at-temperature", { ...at, limit }), shown(value));
    }
    const below = c.below != null && isBelow(measure, base, c.below) ? c.below : null;
    const past = below ?? (c.above != null && isAbove(measure, base, c.above) ? c.above : null);
    if (past === null) return null;
    const than = { figure: inUnit(measure, past, value.unit) };
    const low = below !== null;
    if (!brought) {
      return fact(stop, say(low ? "judge-below-figure" : "judge-above-figure", { value: shown(value), ...than }));
    }
    return fact(stop, say(low ? "judge-below-figure-at" : "judge-above-figure-at", { ...at, ...than }), shown(value));
  }

  /** Holds at the worse of two positions that differ too much, so that it is one finding. @param {number} stop @param {number} moreThan @param {string[][]} between */
  difference(stop, moreThan, between) {
    const here = this.stops[stop];
    const measure = measureOf(here.item);
    const own = this.readings[stop]?.value;
    if (!measure || here.position === null || !own) return null;
    const highIsWorse = measure.limits.every((l) => l.at_least == null);
    const badness = (/** @type {number} */ base) => (highIsWorse ? base : -base);
    const groups = between.filter((g) => g.includes(/** @type {string} */ (here.position)));
    /** @type {{stop: Stop, base: number} | null} */
    let other = null;
    for (const s of this.stops) {
      if (s.index === stop || s.item.key !== here.item.key || s.position === null) continue;
      if (between.length && !groups.some((g) => g.includes(/** @type {string} */ (s.position)))) continue;
      const base = this.outcome(s.index) === "not applicable" ? undefined : this.readings[s.index]?.value?.base;
      if (base !== undefined && (!other || badness(base) < badness(other.base))) other = { stop: s, base };
    }
    if (!other) return null;
    const apart = badness(own.base) - badness(other.base);
    if (!isAbove(measure, apart, moreThan)) return null;
    const [by, most] = [apart, moreThan].map((base) => apartInUnit(measure, base, own.unit));
    const key = highIsWorse ? "judge-more-than" : "judge-less-than";
    const text = say(key, { apart: by, position: other.stop.where, most });
    return { ...fact(stop, text, this.describe(stop)), beside: other.stop.index };
  }

  /** Holds when this check adds to it: put right again, or found wrong again. @param {number} stop @param {string} outcome @param {Condition} c */
  corrected(stop, outcome, { times, amount, within }) {
    if (outcome !== "corrected" && outcome !== "defect") return null;
    const [item, position] = this.at(stop);
    const before = this.past.corrections(item, position, within, this.hoursNow(stop));
    const count = before.times + 1;
    const total = before.amount + (this.readings[stop]?.correction?.amount?.base ?? 0);
    if ((times != null && count < times) || (amount != null && total < amount - 1e-9)) return null;
    const { days, hours } = /** @type {{days?: number, hours?: number}} */ (within);
    const window = days === undefined ? say("judge-window-hours", { hours: hours ?? 0 }) : say("judge-window-days", { days });
    let text = say(outcome === "defect" ? "judge-not-right-times" : "judge-corrected-times", { count, window });
    if (amount != null) {
      const unit = this.stops[stop].item.corrected_unit ?? "L";
      text = say("judge-corrected-amount", { amount: inWords(fromBase(total, unit), unit), window });
    }
    return fact(stop, text, this.describe(stop));
  }

  /** @param {number} stop @param {string} outcome @param {number} within */
  recurs(stop, outcome, within) {
    const since = this.past.daysSinceRelease(...this.at(stop));
    if (since === null || outcome !== "defect" || since > within) return null;
    return fact(stop, say("judge-back", { days: since }), this.describe(stop));
  }

  /** By the line through the earlier readings, or by going on from today's at its slope: either is enough. @param {number} stop @param {string} side @param {number} hoursOn */
  mayPass(stop, side, hoursOn) {
    const measure = measureOf(this.stops[stop].item);
    const line = this.past.line(...this.at(stop));
    if (!measure || !line) return null;
    for (const edge of this.edges(measure, side).filter((e) => runsTowards(line, e))) {
      const hours = this.hoursNow(stop);
      const now = Math.max(hours === null ? line.last : hours / 10, line.last);
      const value = this.readings[stop]?.value;
      // What was put right today goes on from where it was left, not from where the line had come to.
      const byLine = this.outcome(stop) !== "corrected" && mayBePassed(edge, predict(line, now + hoursOn));
      const today = value ? predictFrom(line, value.base, hoursOn) : null;
      const byToday = today !== null && mayBePassed(edge, today);
      if (!byLine && !byToday) continue;
      const unit = value?.unit ?? measure.units[0];
      const details = [told(line, edge, measure, unit)];
      if (value && today && byToday) {
        const [expected, worst] = [today.expected, edge.low ? today.low : today.high].map((b) => inUnit(measure, b, unit));
        details.push(say("judge-from-today", { value: shown(value), hours: hoursOn, expected, worst }));
      }
      const key = edge.low ? "judge-may-be-below" : "judge-may-be-above";
      const text = say(key, { figure: inUnit(measure, edge.figure, unit), hours: hoursOn });
      return { ...fact(stop, text, this.describe(stop)), details };
    }
    return null;
  }

  /** The limits of this context that a value may run into. @param {Measure} measure @param {string} side @returns {Edge[]} */
  edges(measure, side) {
    const { at_least, at_most } = bounds(measure, this.context);
    const edges = [];
    if (at_least !== null && side !== "above limit") edges.push({ low: true, figure: at_least });
    if (at_most !== null && side !== "below limit") edges.push({ low: false, figure: at_most });
    return edges;
  }

  /** The hour meter now, or as last known at this place, in tenths. @param {number} stop */
  hoursNow(stop) {
    return this.hours ?? this.past.lastHours(...this.at(stop));
  }

  /** A pressure brought to the rule's temperature, when the air temperature is stated. @param {number | null} to @param {number} base */
  broughtTo(to, base) {
    const { air } = this.context;
    return to === null || air == null ? base : atTemperature(base, air.base, to, this.context.altitude_m ?? 0);
  }

  /** What of a low pressure the air temperature explains; it never excuses the reading. @param {Checklist} checklist @param {number} stop */
  weather(checklist, stop) {
    const { item } = this.stops[stop];
    const { air } = this.context;
    const measure = measureOf(item);
    const value = this.readings[stop]?.value;
    if (air == null || !measure || !value) return null;
    const stated = checklist.rules.flatMap((r) => r.when).find((c) => c.at?.item === item.key && c.at_temperature != null);
    const limit = bounds(measure, this.context).at_least;
    if (!stated || limit === null) return null;
    const celsius = /** @type {number} */ (stated.at_temperature);
    // What a tyre that just meets its limit at the rule's temperature reads in today's air.
    const reads = atTemperature(limit, celsius, air.base, this.context.altitude_m ?? 0);
    if (!isBelow(measure, reads, limit) && !isAbove(measure, reads, limit)) return null;
    const [wanted, shows] = [limit, reads].map((base) => inUnit(measure, base, value.unit));
    const begin = { limit: wanted, celsius: figure(`${celsius}`), reads: shows, air: shown(air) };
    const low = isBelow(measure, value.base, limit);
    if (isBelow(measure, value.base, reads)) {
      const gone = apartInUnit(measure, reads - value.base, value.unit);
      return say(low && reads < limit ? "judge-weather-cold-and-gone" : "judge-weather-gone", { ...begin, gone });
    }
    return low ? say("judge-weather-cold", begin) : null;
  }

  /** A rule that matched, with the figures behind it. @param {Match} found @returns {Reason[]} */
  reasons(found) {
    return [{ rule: found.rule.name, sentence: this.why(found) }, ...this.details(found)];
  }

  /** The figures behind a rule, each in a sentence of its own. @param {Match} found @returns {Reason[]} */
  details(found) {
    return found.facts.flatMap((f) =>
      f.details.map((detail) => {
        const sentence = f.stop === found.anchor ? detail : `${this.stops[f.stop].title}: ${detail}`;
        return { rule: found.rule.name, sentence };
      }),
    );
  }

  /** One sentence: what was read, what it is held against, and the rule. @param {Match} found */
  why(found) {
    const rule = byRule(found.rule.title ?? found.rule.name);
    const room = Math.max(0, MOST_WORDS - words(rule));
    let said = "";
    for (const f of found.facts) {
      const { title } = this.stops[f.stop];
      const full = `${title}: ${inFull(f)}`;
      const more = words(said) + words(full) <= room ? full : `${title}: ${f.text}`;
      const longer = said ? `${said}; ${more}` : more;
      if (said && words(longer) > room) break;
      said = longer;
    }
    return `${said} ${rule}`;
  }

  /** What was seen at a stop: "1.2 mm, at least 1.5 mm". @param {number} stop */
  describe(stop) {
    const { asks } = this.stops[stop].item;
    const measure = measureOf(this.stops[stop].item);
    const reading = this.readings[stop];
    const outcome = this.outcome(stop);
    if (!reading || outcome === null) return say("judge-not-answered");
    const { level, value, correction } = reading;
    const defect = outcome === "defect";
    if (outcome === "not applicable") return say("outcome-not-applicable");
    if (outcome === "corrected" && correction?.amount) return say("judge-corrected-by", { amount: shown(correction.amount) });
    if (outcome === "corrected" && correction) return say("outcome-corrected");
    if (measure && value) {
      const limit = brokenLimit(measure, value.base, value.unit, this.context);
      if (limit !== null) return say("judge-value-and-limit", { value: shown(value), limit });
      return defect ? say("judge-answered-defect", { value: shown(value) }) : shown(value);
    }
    if (asks === "level" && level === "below") return say("judge-below-marks");
    if (asks === "level" && level === "above") return say("judge-above-marks");
    if (!defect) return say(outcome === "corrected" ? "outcome-corrected" : "outcome-ok");
    if (measure) return say("judge-not-measured");
    if (asks === "level" && level == null) return say("judge-not-read");
    return say(asks === "function" ? "judge-does-not-work" : "judge-failed");
  }
}

/** The reading and what was made of it. @param {Fact} f */
export const inFull = (f) => (f.seen === null ? f.text : `${f.seen}; ${f.text}`);

/** @param {number} stop @param {string} text @param {string | null} [seen] @returns {Fact} */
const fact = (stop, text, seen = null) => ({ stop, text, seen, details: [], beside: null });

/** "(rule: brake pad under its limit)." @param {string} rule */
export const byRule = (rule) => say("judge-rule", { rule });

/** "12 earlier readings over 480 h: 1.5 mm expected at 927 h, …" @param {Line} line @param {Edge} edge @param {Measure} measure @param {string} unit */
function told(line, edge, measure, unit) {
  const from = { points: line.points, over: wholeHours(line.span), figure: inUnit(measure, edge.figure, unit) };
  const crossing = crossingOf(line, edge);
  if (!crossing) return say("judge-trend-away", from);
  const [expected, earliest, latest] = crossing;
  return say("judge-trend-ahead", { ...from, expected, earliest, latest });
}

/**
 * A gauge pressure, in kPa, brought from one air temperature to another, in °C, at a height in metres. The same as
 * src/domain/air.rs (U.S. Standard Atmosphere 1976 below 11 km).
 * @param {number} gauge @param {number} from @param {number} to @param {number} altitude
 */
function atTemperature(gauge, from, to, altitude) {
  const lapse = 0.0065;
  const height = Math.min(6000, Math.max(-500, altitude));
  const ambient = 101.325 * (1 - (lapse * height) / 288.15) ** ((9.80665 * 0.0289644) / (8.31432 * lapse));
  const absolute = (/** @type {number} */ celsius) => Math.min(60, Math.max(-60, celsius)) + 273.15;
  return (gauge + ambient) * (absolute(to) / absolute(from)) - ambient;
}
