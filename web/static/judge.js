// @ts-check
// What the readings of one check mean for the machine, by the server's own rules: so the phone can say it where there is
// no signal. A port of src/domain/judge.rs, held against it in tests/judged_alike.rs: whoever changes one changes both.

import { read, readAir, whole } from "./answers.js";
import { walk } from "./checklist.js";
import { Unclear, tenths } from "./figures.js";
import { AIR_TEMPERATURE, Sheet, byRule, inFull } from "./matching.js";
import { say } from "./words.js";

/**
 * @typedef {import("./checklist.js").Checklist} Checklist
 * @typedef {import("./checklist.js").Context} Context
 * @typedef {import("./checklist.js").Rule} Rule
 * @typedef {import("./checklist.js").Stop} Stop
 * @typedef {import("./answers.js").RawAnswer} RawAnswer
 * @typedef {import("./answers.js").Question} Question
 * @typedef {import("./answers.js").Reading} Reading
 * @typedef {import("./matching.js").Match} Match
 * @typedef {import("./matching.js").Reason} Reason
 * @typedef {import("./trend.js").History} History
 * @typedef {{item: string, position: string | null, what: string, system: string, severity: string, rule: string,
 *   final_: boolean, why: string, instruction: string, good_for_days: number | null, good_for_hours: number | null,
 *   route: string | null, escalated: boolean, supporting: Reason[], failed: [string, string | null][]}} Finding
 */

const OUT_OF_SERVICE = "out of service";
const MONITOR = "monitor";
const WATCH_DAYS = 7;
const KINDS = "outcome limit figure level load warmth difference corrected recurs trend".split(" ");

/**
 * A whole check, from what was typed to the verdict: with questions when something must be mended first. The check has
 * the members of the API's, with the air and the hour meter as they were typed; beside it stand what it is judged by
 * (the checklist, the machine's history with `now` at the moment of the check) and the machine's hour meter and yard.
 * @param {{load: string, warmth?: string | null, air_temperature?: string | null, air_unit?: string | null,
 *   engine_hours?: string | null, hours_confirmed?: boolean, answers: RawAnswer[]}} check
 * @param {{checklist: Checklist, history?: History, hours_before?: string | null, altitude_m?: number | null}} by
 * @returns {{questions: Question[]} | {readings: Reading[], findings: Finding[], verdict: string}}
 */
export function judgeCheck(check, { checklist, history = {}, hours_before = null, altitude_m }) {
  const { load, warmth, engine_hours = null, hours_confirmed } = check;
  try {
    if (engine_hours !== null) tenths(engine_hours);
  } catch (e) {
    if (!(e instanceof Unclear)) throw e;
    return { questions: [whole("/engine_hours", e.said)] };
  }
  const { air, questions } = readAir(check.air_temperature, check.air_unit);
  const context = { load, warmth, engine_hours, hours_confirmed, air, altitude_m };
  const { readings, questions: more } = read(checklist, context, check.answers, hours_before);
  questions.push(...more);
  if (questions.length) return { questions };
  const findings = judge(checklist, context, readings, history);
  return { readings, findings, verdict: verdict(findings) };
}

/**
 * Whether this page knows all that the checklist's rules look for. One from before a new kind of rule came would judge
 * too mildly, and must not judge at all.
 * @param {Checklist} checklist
 */
export const knowsRulesOf = (checklist) => checklist.rules.every((r) => r.when.every((c) => KINDS.includes(c.kind)));

/** @param {Checklist} checklist @param {Context} context @param {Reading[]} readings @param {History} history @returns {Finding[]} */
export function judge(checklist, context, readings, history) {
  const sheet = new Sheet(walk(checklist), readings, context, history);
  return findingsOf(checklist, sheet);
}

/** What the machine may be used for by this check alone. @param {Finding[]} findings */
export function verdict(findings) {
  if (findings.some((f) => f.severity === OUT_OF_SERVICE)) return OUT_OF_SERVICE;
  return findings.length ? "monitored" : "fit for use";
}

/**
 * What it may be used for once this check is in: what is open on the machine holds on. As workflow/submit_check.rs plans it.
 * @param {Finding[]} findings @param {string} standing as last known, before the check
 */
export function standingAfter(findings, standing) {
  if (standing === "retired" || standing === OUT_OF_SERVICE) return standing;
  const found = verdict(findings);
  return found === "fit for use" ? standing : found;
}

/** One finding per failed stop, most severe first, then in walking order. @param {Checklist} checklist @param {Sheet} sheet */
function findingsOf(checklist, sheet) {
  const matches = checklist.rules.flatMap((rule, order) => sheet.matches(rule, order));
  const found = sheet.stops.flatMap((stop) => {
    const here = matches.filter((m) => m.anchor === stop.index);
    let finding = undecided(sheet, stop);
    if (finding && !here.some((m) => decides(m.rule, /** @type {Finding} */ (finding)))) {
      // A rule that needs something else to go wrong as well must not make this failure milder.
      finding.supporting = here.flatMap((m) => sheet.reasons(m));
      finding.escalated = here.some((m) => recurs(m.rule));
    } else if (here.length) finding = decided(sheet, stop, here);
    else return [];
    const sentence = sheet.weather(checklist, stop.index);
    if (sentence !== null) finding.supporting.push({ rule: AIR_TEMPERATURE, sentence });
    return [finding];
  });
  return found.sort((a, b) => rank(b.severity) - rank(a.severity));
}

/** @param {string} severity */
const rank = (severity) => (severity === OUT_OF_SERVICE ? 1 : 0);

/** @param {Rule} rule */
const recurs = (rule) => rule.when.some((c) => c.kind === "recurs");

/** Whether a rule settles a failure that would else be judged without one. @param {Rule} rule @param {Finding} fallback */
const decides = (rule, fallback) =>
  rank(rule.severity) >= rank(fallback.severity) || saysAllOfItsItem(rule, fallback.item);

/** Whether a rule speaks of the failures of one item as such, and of nothing beyond the reading. @param {Rule} rule @param {string} item */
const saysAllOfItsItem = (rule, item) =>
  rule.when.every(
    (c) =>
      !c.at || (["outcome", "level", "limit"].includes(c.kind) && c.at_temperature == null && c.at.item === item),
  );

/** The most severe rule wins, a final one before others, then the one written first. @param {Sheet} sheet @param {Stop} stop @param {Match[]} here @returns {Finding} */
function decided(sheet, stop, here) {
  here.sort(
    (a, b) =>
      rank(b.rule.severity) - rank(a.rule.severity) ||
      Number(b.rule.final) - Number(a.rule.final) ||
      a.order - b.order,
  );
  const winner = here[0];
  const { rule } = winner;
  const equal = here.filter((m) => m.rule.severity === rule.severity);
  // Of several watches the shortest holds.
  const shortest = (/** @type {"good_for_days" | "good_for_hours"} */ of) =>
    equal.map((m) => m.rule[of] ?? Infinity).reduce((a, b) => Math.min(a, b));
  const finite = (/** @type {number} */ n) => (n === Infinity ? null : n);
  const failed = new Set(equal.flatMap((m) => [...m.failed]));
  failed.delete(stop.index);
  return {
    ...about(stop),
    what: `${stop.title}: ${winner.facts[0] ? inFull(winner.facts[0]) : ""}`,
    severity: rule.severity,
    rule: rule.name,
    final_: rule.final,
    why: sheet.why(winner),
    instruction: rule.instruction,
    good_for_days: finite(shortest("good_for_days")),
    good_for_hours: finite(shortest("good_for_hours")),
    route: rule.route ?? null,
    escalated: here.some((m) => recurs(m.rule)),
    supporting: [...sheet.details(winner), ...here.slice(1).flatMap((m) => sheet.reasons(m))],
    failed: [stop.index, ...[...failed].sort((a, b) => a - b)].map((i) => sheet.at(i)),
  };
}

/** A defect that no rule speaks of, or a safety item that nobody answered. @param {Sheet} sheet @param {Stop} stop @returns {Finding | null} */
function undecided(sheet, stop) {
  const { safety } = stop.item;
  const outcome = sheet.outcome(stop.index);
  let rule;
  let called;
  if (outcome === "defect") {
    rule = safety ? "safety item failed" : "item failed";
    called = safety ? "judge-rule-safety-item-failed" : "judge-rule-item-failed";
  } else if (outcome === null && safety) {
    rule = "safety item not answered";
    called = "judge-rule-safety-item-unanswered";
  } else return null;
  const what = `${stop.title}: ${sheet.describe(stop.index)}`;
  return {
    ...about(stop),
    what,
    severity: safety ? OUT_OF_SERVICE : MONITOR,
    rule,
    final_: false,
    why: `${what} ${byRule(say(called))}`,
    instruction: say(safety ? "judge-instruction-stop" : "judge-instruction-watch"),
    good_for_days: safety ? null : WATCH_DAYS,
    good_for_hours: null,
    route: null,
    escalated: false,
    supporting: [],
    failed: [sheet.at(stop.index)],
  };
}

/** @param {Stop} stop */
const about = ({ item, position }) => ({ item: item.key, position, system: item.system });
