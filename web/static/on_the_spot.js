// @ts-check
// Judges a check on the phone by the rules that the server sent along, so that somebody without a signal knows at once.

import { tenths } from "./figures.js";
import { judgeCheck, knowsRulesOf, standingAfter } from "./judge.js";
import { kept } from "./queue.js";
import { ready, say } from "./words.js";

/**
 * @typedef {{ pointer: string, detail: string }} Fault
 * @param {string} machine @param {any} body as the API takes it
 * @returns {Promise<{ faults: Fault[], verdict?: any } | undefined>} nothing when this phone has no rules for it
 */
export async function judged(machine, body) {
  const data = await kept("check-data");
  const known = data?.machines.find((/** @type {any} */ m) => m.id === machine);
  const list = data?.checklists.find((/** @type {any} */ c) => c.id === body.checklist);
  if (!known || !list || !knowsRulesOf(list.body)) return undefined;
  await ready();
  const said = judgeCheck(body, {
    checklist: list.body,
    history: { ...known.history, now: body.recorded_at },
    hours_before: known.engine_hours,
    altitude_m: known.altitude_m,
  });
  if ("questions" in said) {
    return { faults: said.questions.map((q) => ({ pointer: q.pointer, detail: q.sentence })) };
  }
  const found = [...worse(known, body), ...said.findings];
  return { faults: [], verdict: { standing: standingAfter(found, before(known)), findings: found } };
}

/** A defect that is watched and got worse, or whose time is over, is out of service at this instant. */
function worse(/** @type {any} */ known, /** @type {any} */ body) {
  return known.open_defects.flatMap((/** @type {any} */ d) => {
    const is = body.watched.find((/** @type {any} */ w) => w.defect === d.id);
    const over = (d.good_until_at && Date.parse(d.good_until_at) <= Date.parse(body.recorded_at)) ||
      (d.good_until_hours && body.engine_hours && tenths(body.engine_hours) >= tenths(d.good_until_hours));
    if (d.severity !== "monitor" || !(is?.now === "worse" || over)) return [];
    const why = is?.now === "worse" ? say("script-watched-worse") : say("script-watch-over");
    return [{ what: d.what, severity: "out of service", why, instruction: say("script-do-not-use-machine") }];
  });
}

/** What the phone knows of the machine besides this check. */
function before(/** @type {any} */ known) {
  if (known.holds.length || known.standing === "out of service") return "out of service";
  return known.open_defects.length ? "monitored" : known.standing;
}
