// @ts-check
// From answers as typed to readings, or to questions: nothing is guessed. The same as src/domain/answers.rs.

import { beyond, inUnit, itemOf, measureOf, walk } from "./checklist.js";
import { Unclear, fromBase, hoursShown, inWords, letters, measured, parseUnit, quantity, quoted, shown, tenths, trim } from "./figures.js";
import { say } from "./words.js";

/**
 * @typedef {import("./checklist.js").Checklist} Checklist
 * @typedef {import("./checklist.js").Context} Context
 * @typedef {import("./checklist.js").Stop} Stop
 * @typedef {import("./figures.js").Measured} Measured
 * @typedef {{[member: string]: string | null | undefined}} RawAnswer The members of the API's answer, each as typed.
 * @typedef {{pointer: string, item: string | null, position: string | null, sentence: string}} Question
 * @typedef {{what: string, amount: Measured | null}} Correction
 * @typedef {{item: string, position: string | null, outcome: string, level: string | null, value: Measured | null,
 *   correction: Correction | null, note: string | null}} Reading
 */

const LIKELY_JUMP = 10_000;
const COLDEST = -60;
const HOTTEST = 60;
const LONGEST_WORD = 60;
/** Member, what it is called, and how long it may be. @type {[string, string, number][]} */
const LONGEST = [
  ["note", "answers-member-note", 1000],
  ["correction", "answers-member-correction", 200],
  ["outcome", "answers-member-outcome", LONGEST_WORD],
  ["level", "answers-member-level", LONGEST_WORD],
  ["value", "answers-member-value", LONGEST_WORD],
  ["unit", "answers-member-unit", LONGEST_WORD],
  ["amount", "answers-member-amount", LONGEST_WORD],
  ["amount_unit", "answers-member-amount-unit", LONGEST_WORD],
];
/** @type {{[quantity: string]: string}} */
const QUANTITIES = {
  pressure: "quantity-pressure",
  length: "quantity-length",
  temperature: "quantity-temperature",
  volume: "quantity-volume",
  time: "quantity-time",
};
const OUTCOMES = ["ok", "defect", "not applicable", "corrected"];
const LEVELS = ["below", "between", "above"];

/** Cannot be taken as it is: the question to ask. */
class Asked extends Error {
  /** @param {Question} question */
  constructor(question) {
    super(question.sentence);
    this.question = question;
  }
}

/**
 * Reads a whole check. The readings come back in walking order; with any question there are none.
 * @param {Checklist} checklist @param {Context} context @param {RawAnswer[]} answers
 * @param {string | null} hoursBefore what the hour meter showed last
 * @returns {{questions: Question[], readings: Reading[]}}
 */
export function read(checklist, context, answers, hoursBefore) {
  const questions = [...hoursQuestion(context, hoursBefore), ...airQuestion(context)];
  const stops = walk(checklist);
  const given = new Set();
  /** @type {[number, Reading][]} */
  const readings = [];
  answers.forEach((raw, number) => {
    gather(questions, () => {
      const stop = find(checklist, stops, raw, number);
      const answer = new Answer(raw, number, stop);
      if (given.has(stop.index)) answer.ask("item", say("answers-twice", { title: stop.title }));
      given.add(stop.index);
      const reading = answer.read(context, questions);
      if (reading) readings.push([stop.index, reading]);
    });
  });
  for (const stop of stops) if (!given.has(stop.index)) questions.push(unanswered(stop, "/answers"));
  if (questions.length) return { questions, readings: [] };
  return { questions, readings: readings.sort((a, b) => a[0] - b[0]).map(([, r]) => r) };
}

/**
 * The temperature of the air as it was typed; in °C where no unit is said. Empty is not stated.
 * @param {string | null | undefined} value @param {string | null | undefined} unit
 * @returns {{air: Measured | null, questions: Question[]}}
 */
export function readAir(value, unit) {
  const figure = text(value);
  if (figure === null) return { air: null, questions: [] };
  let pointer = "/air_unit";
  try {
    const known = parseUnit(text(unit) ?? "°C");
    pointer = "/air_temperature";
    return { air: measured(figure, known), questions: [] };
  } catch (e) {
    if (!(e instanceof Unclear)) throw e;
    return { air: null, questions: [whole(pointer, say("answers-air", { why: e.said }))] };
  }
}

/** Of the check as a whole. @param {string} pointer @param {string} sentence @returns {Question} */
export const whole = (pointer, sentence) => ({ pointer, item: null, position: null, sentence });

/** @param {Checklist} checklist @param {Stop[]} stops @param {RawAnswer} raw @param {number} number */
function find(checklist, stops, raw, number) {
  const named = (/** @type {string} */ member) => (raw[member] == null ? null : cut(raw[member]));
  const ask = (/** @type {string} */ member, /** @type {string} */ sentence) => {
    const place = { item: named("item"), position: named("position") };
    return new Asked({ pointer: `/answers/${number}/${member}`, ...place, sentence });
  };
  const key = text(raw.item);
  if (key === null) throw ask("item", say("answers-names-no-item"));
  const position = text(raw.position);
  const found = stops.find((s) => s.item.key === key && s.position === position);
  if (found) return found;
  const item = itemOf(checklist, key);
  if (!item) throw ask("item", say("answers-not-on-list", { given: quoted(cut(key)) }));
  const known = item.positions.map((p) => p.key).join(", ");
  const { title } = item;
  if (position === null) throw ask("position", say("answers-which-position", { title, known }));
  const given = quoted(cut(position));
  if (!known) throw ask("position", say("answers-no-positions", { title, given }));
  throw ask("position", say("answers-no-such-position", { title, given, known }));
}

/** One answer on its way to becoming a reading. */
class Answer {
  /** @param {RawAnswer} raw @param {number} number @param {Stop} stop */
  constructor(raw, number, stop) {
    this.raw = raw;
    this.number = number;
    this.stop = stop;
    this.item = stop.item;
    this.title = stop.title;
  }

  /** @param {string} member */
  typed(member) {
    return text(this.raw[member]);
  }

  /** @param {string} member @param {string} sentence @returns {Question} */
  question(member, sentence) {
    const pointer = `/answers/${this.number}/${member}`;
    return { pointer, item: this.item.key, position: this.stop.position, sentence };
  }

  /** @param {string} member @param {string} sentence @returns {never} */
  ask(member, sentence) {
    throw new Asked(this.question(member, sentence));
  }

  /** What a parser cannot understand is asked about this member. @template T @param {string} member @param {() => T} parse */
  parsed(member, parse) {
    try {
      return parse();
    } catch (e) {
      if (e instanceof Unclear) this.ask(member, `${this.title}: ${e.said}`);
      throw e;
    }
  }

  /** @param {Context} context @param {Question[]} all @returns {Reading | null} */
  read(context, all) {
    /** @type {Question[]} */
    const questions = this.checkTexts();
    const stated = gather(questions, () => this.outcome());
    const correction = gather(questions, () => this.correction());
    const level = gather(questions, () => this.level());
    const value = gather(questions, () => this.value());
    let outcome;
    if (stated && correction && level && value) {
      outcome = gather(questions, () => {
        const found = this.settle(stated.found, level.found, value.found, context);
        return found === "ok" && correction.found ? this.settleCorrected() : found;
      });
    }
    all.push(...questions);
    if (!outcome || !correction || !level || !value || questions.length) return null;
    return {
      item: this.item.key,
      position: this.stop.position,
      outcome: outcome.found,
      level: level.found,
      value: value.found,
      correction: correction.found,
      note: this.typed("note"),
    };
  }

  /**
   * The outcome follows from the level or the value; what the operator states can make it worse, never better.
   * @param {string | null} stated @param {string | null} level @param {Measured | null} value @param {Context} context
   */
  settle(stated, level, value, context) {
    const { item, title } = this;
    const measure = measureOf(item);
    let found = null;
    if (item.asks === "level" && level) found = level === "between" ? "ok" : "defect";
    if (measure && value) found = beyond(measure, value.base, context, "outside limits") ? "defect" : "ok";
    if (stated === "not applicable") {
      if (found) this.ask("outcome", say("answers-not-applicable-and-read", { title }));
      if (item.may_be_not_applicable) return stated;
      this.ask("outcome", say("answers-cannot-leave-out", { title }));
    }
    if (stated === "corrected") {
      if (found === "defect") this.ask(level ? "level" : "value", say("answers-corrected-still-outside", { title }));
      if (measure && !value) this.ask("value", say("answers-measure-again", { title }));
      return stated;
    }
    if (stated === "defect" || found === "defect") return "defect";
    if (found) return found;
    if (!stated) throw new Asked(unanswered(this.stop, `/answers/${this.number}`));
    if (item.asks === "level") this.ask("level", say("answers-give-level", { title }));
    if (measure) this.ask("value", say("answers-give-figure", { title, units: unitsInWords(measure.units) }));
    return "ok";
  }

  settleCorrected() {
    if (this.item.may_be_corrected) return "corrected";
    this.ask("correction", say("answers-not-put-right-note", { title: this.title }));
  }

  outcome() {
    const word = this.typed("outcome");
    if (word === null) return null;
    if (word === "corrected" && !this.item.may_be_corrected) {
      this.ask("outcome", say("answers-not-put-right", { title: this.title }));
    }
    if (OUTCOMES.includes(word)) return word;
    this.ask("outcome", say("answers-no-answer", { title: this.title, given: quoted(cut(word)) }));
  }

  level() {
    const word = this.typed("level");
    if (word === null) return null;
    if (this.item.asks !== "level") this.ask("level", say("answers-no-marks", { title: this.title }));
    if (LEVELS.includes(word)) return word;
    this.ask("level", say("answers-no-level", { title: this.title, given: quoted(cut(word)) }));
  }

  value() {
    const figure = this.typed("value");
    if (figure === null) return null;
    const measure = measureOf(this.item);
    if (!measure) return this.ask("value", say("answers-not-measured", { title: this.title }));
    const unit = this.unit(measure.units);
    const value = this.parsed("value", () => measured(figure, unit));
    const [least, most] = measure.plausible;
    if (value.base >= least && value.base <= most) return value;
    this.ask("value", say("answers-not-likely", { title: this.title, value: shown(value), least: inUnit(measure, least, unit), most: inUnit(measure, most, unit) }));
  }

  /** @param {string[]} units */
  unit(units) {
    const word = this.typed("unit");
    if (word === null) {
      if (units.length === 1) return units[0];
      return this.ask("unit", say("answers-give-unit", { title: this.title, units: unitsInWords(units) }));
    }
    const unit = this.parsed("unit", () => parseUnit(word));
    if (units.includes(unit)) return unit;
    return this.ask("unit", say("answers-other-unit", { title: this.title, units: unitsInWords(units), unit }));
  }

  /** @returns {Correction | null} */
  correction() {
    const amount = this.amount();
    const what = this.typed("correction");
    if (what !== null) return { what, amount };
    // Where nothing may be corrected, that is said first.
    if (this.item.may_be_corrected && this.typed("outcome") === "corrected") {
      this.ask("correction", say("answers-say-what-you-did", { title: this.title }));
    }
    if (amount) this.ask("correction", say("answers-amount-alone", { title: this.title }));
    return null;
  }

  /** Any unit of the right quantity will do: people top up with what the bottle says. */
  amount() {
    const figure = this.typed("amount");
    if (figure === null) return null;
    const usual = this.item.corrected_unit;
    if (usual == null) return this.ask("amount", say("answers-no-amount", { title: this.title }));
    const word = this.typed("amount_unit");
    const unit = word === null ? usual : this.parsed("amount_unit", () => parseUnit(word));
    if (quantity(unit) !== quantity(usual)) {
      const is = say(QUANTITIES[quantity(usual)]);
      this.ask("amount_unit", say("answers-amount-unit", { title: this.title, quantity: is, unit }));
    }
    const amount = this.parsed("amount", () => measured(figure, unit));
    if (amount.base > 0 && amount.base <= 1000) return amount;
    this.ask("amount", say("answers-amount-not-likely", { title: this.title, amount: shown(amount) }));
  }

  checkTexts() {
    const questions = [];
    for (const [member, called, most] of LONGEST) {
      const given = this.raw[member] ?? "";
      let wrong = "";
      if (letters(given).length > most) wrong = "answers-too-long";
      else if (/[^\P{Cc}\n\r\t]/u.test(given)) wrong = "answers-odd-signs";
      if (wrong) questions.push(this.question(member, say(wrong, { title: this.title, member: say(called), most })));
    }
    return questions;
  }
}

/**
 * Keeps the question and goes on, so that everything that must be mended is asked at once.
 * @template T @param {Question[]} questions @param {() => T} find
 * @returns {{found: T} | null}
 */
function gather(questions, find) {
  try {
    return { found: find() };
  } catch (e) {
    if (!(e instanceof Asked)) throw e;
    questions.push(e.question);
    return null;
  }
}

/** @param {Stop} stop @param {string} pointer @returns {Question} */
function unanswered(stop, pointer) {
  const { asks, safety, may_be_not_applicable, key } = stop.item;
  const or = may_be_not_applicable;
  let how = or ? "answers-look-or-not" : "answers-look";
  if (asks === "level") how = or ? "answers-say-level-or-not" : "answers-say-level";
  if (typeof asks === "object") how = or ? "answers-measure-or-not" : "answers-measure";
  const sentence = say(safety ? "answers-open-safety" : "answers-open", { title: stop.title, how: say(how) });
  return { pointer, item: key, position: stop.position, sentence };
}

/** @param {Context} context @param {string | null} hoursBefore @returns {Question[]} */
function hoursQuestion(context, hoursBefore) {
  if (context.engine_hours == null || hoursBefore == null || context.hours_confirmed) return [];
  const [now, last] = [tenths(context.engine_hours), tenths(hoursBefore)];
  const both = { now: hoursShown(now), last: hoursShown(last) };
  if (now < last) return [whole("/engine_hours", say("answers-hours-back", both))];
  return now - last > LIKELY_JUMP ? [whole("/engine_hours", say("answers-hours-jump", both))] : [];
}

/** An air temperature that cannot be true would explain away a leak. @param {Context} context @returns {Question[]} */
function airQuestion({ air }) {
  if (air == null) return [];
  const fits = quantity(air.unit) === "temperature";
  if (fits && air.base >= COLDEST && air.base <= HOTTEST) return [];
  const unit = fits ? air.unit : "°C";
  return [whole("/air_temperature", say("answers-air-not-likely", { air: shown(air), ...ends(COLDEST, HOTTEST, unit) }))];
}

/** An empty field of a page is no answer. @param {string | null | undefined} given */
const text = (given) => trim(given ?? "") || null;

/** What was sent, short enough to be read back in a sentence. @param {string} given */
const cut = (given) =>
  letters(trim(given).replace(/\p{Cc}/gu, ""))
    .slice(0, LONGEST_WORD)
    .join("");

/** @param {string[]} units */
const unitsInWords = (units) =>
  units.length > 1 ? say("answers-or", { first: units.slice(0, -1).join(", "), last: units[units.length - 1] }) : units.join("");

/** @param {number} least @param {number} most in the base unit @param {string} unit */
const ends = (least, most, unit) => ({ least: inWords(fromBase(least, unit), unit), most: inWords(fromBase(most, unit), unit) });
