// @ts-check
// From answers as typed to readings, or to questions: nothing is guessed. The same as src/domain/answers.rs.

import { beyond, itemOf, measureOf, walk } from "./checklist.js";
import { Unclear, fromBase, hoursShown, inWords, letters, measured, parseUnit, quantity, quoted, shown, tenths, trim } from "./figures.js";

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
/** Member, and how long it may be. @type {[string, number][]} */
const LONGEST = [
  ["note", 1000],
  ["correction", 200],
  ["outcome", LONGEST_WORD],
  ["level", LONGEST_WORD],
  ["value", LONGEST_WORD],
  ["unit", LONGEST_WORD],
  ["amount", LONGEST_WORD],
  ["amount_unit", LONGEST_WORD],
];
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
      if (given.has(stop.index)) answer.ask("item", `${stop.title} is answered twice. Keep one answer.`);
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
    return { air: null, questions: [whole(pointer, `Air temperature: ${e.message}`)] };
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
  if (key === null) throw ask("item", "The answer names no item. Name the item it belongs to.");
  const position = text(raw.position);
  const found = stops.find((s) => s.item.key === key && s.position === position);
  if (found) return found;
  const item = itemOf(checklist, key);
  if (!item) throw ask("item", `${quoted(cut(key))} is not on this checklist. Take the item's key from the checklist.`);
  const known = item.positions.map((p) => p.key).join(", ");
  if (position === null) throw ask("position", `${item.title} is checked at ${known}. Say which one this is.`);
  if (!known) throw ask("position", `${item.title} has no positions. Leave ${quoted(cut(position))} out.`);
  throw ask("position", `${item.title} has no position ${quoted(cut(position))}. Known are: ${known}.`);
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
      if (e instanceof Unclear) this.ask(member, `${this.title}: ${e.message}`);
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
      if (found) this.ask("outcome", `${title} is answered not applicable and read as well. Keep one of the two.`);
      if (item.may_be_not_applicable) return stated;
      this.ask("outcome", `${title} cannot be left out on this machine. Check it and answer ok or defect.`);
    }
    if (stated === "corrected") {
      if (found === "defect") {
        this.ask(
          level ? "level" : "value",
          `${title} is answered corrected, but what was read is still outside. Give what you read after putting it ` +
            "right, or answer defect.",
        );
      }
      if (measure && !value) this.ask("value", `${title} was corrected. Measure it again and give the new figure.`);
      return stated;
    }
    if (stated === "defect" || found === "defect") return "defect";
    if (found) return found;
    if (!stated) throw new Asked(unanswered(this.stop, `/answers/${this.number}`));
    if (item.asks === "level") this.ask("level", `${title}: say where the level is: below, between or above the marks.`);
    if (measure) this.ask("value", `${title}: give the figure you read, in ${unitsInWords(measure.units)}.`);
    return "ok";
  }

  settleCorrected() {
    if (this.item.may_be_corrected) return "corrected";
    this.ask("correction", `${this.title} cannot be put right at the check. Say what you saw in the note.`);
  }

  outcome() {
    const word = this.typed("outcome");
    if (word === null) return null;
    if (word === "corrected" && !this.item.may_be_corrected) {
      this.ask("outcome", `${this.title} cannot be put right at the check. Answer ok or defect.`);
    }
    if (OUTCOMES.includes(word)) return word;
    const answers = "Answer ok, defect, not applicable or corrected.";
    this.ask("outcome", `${this.title}: ${quoted(cut(word))} is not an answer. ${answers}`);
  }

  level() {
    const word = this.typed("level");
    if (word === null) return null;
    if (this.item.asks !== "level") this.ask("level", `${this.title} has no marks. Leave the level out.`);
    if (LEVELS.includes(word)) return word;
    this.ask("level", `${this.title}: ${quoted(cut(word))} is not a level. Say below, between or above.`);
  }

  value() {
    const figure = this.typed("value");
    if (figure === null) return null;
    const measure = measureOf(this.item);
    if (!measure) return this.ask("value", `${this.title} is not measured. Leave the figure out.`);
    const unit = this.unit(measure.units);
    const value = this.parsed("value", () => measured(figure, unit));
    const [least, most] = measure.plausible;
    if (value.base >= least && value.base <= most) return value;
    const between = `${inWords(fromBase(least, unit), unit)} and ${inWords(fromBase(most, unit), unit)}`;
    this.ask(
      "value",
      `${this.title}: ${shown(value)} cannot be right; it lies between ${between}. Read the gauge again and check the unit.`,
    );
  }

  /** @param {string[]} units */
  unit(units) {
    const word = this.typed("unit");
    if (word === null) {
      if (units.length === 1) return units[0];
      return this.ask("unit", `${this.title}: give the unit of the figure: ${unitsInWords(units)}.`);
    }
    const unit = this.parsed("unit", () => parseUnit(word));
    if (units.includes(unit)) return unit;
    return this.ask("unit", `${this.title} is measured in ${unitsInWords(units)}, not in ${unit}.`);
  }

  /** @returns {Correction | null} */
  correction() {
    const amount = this.amount();
    const what = this.typed("correction");
    if (what !== null) return { what, amount };
    // Where nothing may be corrected, that is said first.
    if (this.item.may_be_corrected && this.typed("outcome") === "corrected") {
      this.ask("correction", `${this.title} is answered corrected. Say what you did, for instance "topped up".`);
    }
    if (amount) {
      this.ask("correction", `${this.title}: an amount is given. Say what you did with it, and answer corrected.`);
    }
    return null;
  }

  /** Any unit of the right quantity will do: people top up with what the bottle says. */
  amount() {
    const figure = this.typed("amount");
    if (figure === null) return null;
    const usual = this.item.corrected_unit;
    if (usual == null) return this.ask("amount", `${this.title} takes no amount. Leave the figure out.`);
    const word = this.typed("amount_unit");
    const unit = word === null ? usual : this.parsed("amount_unit", () => parseUnit(word));
    if (quantity(unit) !== quantity(usual)) {
      this.ask("amount_unit", `${this.title}: the amount is a ${quantity(usual)}, so it is not in ${unit}.`);
    }
    const amount = this.parsed("amount", () => measured(figure, unit));
    if (amount.base > 0 && amount.base <= 1000) return amount;
    this.ask("amount", `${this.title}: ${shown(amount)} cannot be right. Give how much you put in or took out.`);
  }

  checkTexts() {
    const questions = [];
    for (const [member, longest] of LONGEST) {
      const given = this.raw[member] ?? "";
      let wrong = "";
      if (letters(given).length > longest) wrong = `is too long. Write at most ${longest} characters.`;
      else if (/[^\P{Cc}\n\r\t]/u.test(given)) wrong = "holds signs that cannot be shown. Type it again.";
      if (wrong) questions.push(this.question(member, `${this.title}: the ${member} ${wrong}`.replaceAll("_", " ")));
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
  let how = "Look again and answer ok or defect";
  if (asks === "level") how = "Say where the level is: below, between or above the marks";
  if (typeof asks === "object") how = "Measure it and give the figure; if it cannot be measured, answer defect";
  const or = may_be_not_applicable ? ", or not applicable" : "";
  const safe = safety ? " This is a safety item: the machine cannot go out without it." : "";
  const sentence = `${stop.title} is not answered.${safe} ${how}${or}.`;
  return { pointer, item: key, position: stop.position, sentence };
}

/** @param {Context} context @param {string | null} hoursBefore @returns {Question[]} */
function hoursQuestion(context, hoursBefore) {
  if (context.engine_hours == null || hoursBefore == null || context.hours_confirmed) return [];
  const [now, last] = [tenths(context.engine_hours), tenths(hoursBefore)];
  const [shows, showed] = [hoursShown(now), hoursShown(last)];
  let sentence;
  if (now < last) {
    sentence =
      `The hour meter shows ${shows}, but it showed ${showed} before. Read it again; if the meter is new, confirm the ` +
      "hours.";
  } else if (now - last > LIKELY_JUMP) {
    sentence = `The hour meter shows ${shows}; last time it showed ${showed}. Read it again; if it is right, confirm the hours.`;
  } else return [];
  return [whole("/engine_hours", sentence)];
}

/** An air temperature that cannot be true would explain away a leak. @param {Context} context @returns {Question[]} */
function airQuestion({ air }) {
  if (air == null) return [];
  const fits = quantity(air.unit) === "temperature";
  if (fits && air.base >= COLDEST && air.base <= HOTTEST) return [];
  const unit = fits ? air.unit : "°C";
  const between = `${inWords(fromBase(COLDEST, unit), unit)} and ${inWords(fromBase(HOTTEST, unit), unit)}`;
  const sentence = `An air temperature of ${shown(air)} cannot be right; it lies between ${between}. Read it again, or leave it out.`;
  return [whole("/air_temperature", sentence)];
}

/** An empty field of a page is no answer. @param {string | null | undefined} given */
const text = (given) => trim(given ?? "") || null;

/** What was sent, short enough to be read back in a sentence. @param {string} given */
const cut = (given) =>
  letters(trim(given).replace(/\p{Cc}/gu, ""))
    .slice(0, LONGEST_WORD)
    .join("");

/** @param {string[]} units */
const unitsInWords = (units) => (units.length > 1 ? `${units.slice(0, -1).join(", ")} or ${units.at(-1)}` : units.join(""));
