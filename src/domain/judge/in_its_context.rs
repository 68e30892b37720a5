//! The retest of what failed in one context, done in the air of another day.

use super::{Retest, retest};
use crate::domain::air;
use crate::domain::answers::ItemAt;
use crate::domain::checklist::Checklist;
use crate::domain::reading::{Context, Reading};
use crate::domain::unit::Measured;

/// What of a check's context mattered to what failed: it is kept with the defect, and asked for at its retest.
pub fn what_mattered(checklist: &Checklist, context: &Context, failed: &[ItemAt]) -> Context {
    let by_air = failed.iter().any(|(item, _)| checklist.judged_at(item).is_some());
    let air = context.air.clone().filter(|_| by_air);
    Context {
        warmth: context.warmth.filter(|_| checklist.asks_warmth()),
        altitude_m: context.altitude_m.filter(|_| air.is_some()),
        air,
        ..Context::of(context.load)
    }
}

/// Judges a retest in the context of the failure: its load, its warmth, its yard's height. Nobody can bring back the
/// cold of that morning, so a pressure that a rule judges at an air temperature is judged twice: as it is read in
/// today's air, and brought to the air it failed in. Both must pass. A tyre filled in a warm workshop has to stand up in
/// the cold; a low tyre is low whatever the weather.
pub fn retest_in_its_context(
    checklist: &Checklist,
    failed_in: &Context,
    air_now: Option<&Measured>,
    readings: &[Reading],
    failed: &[ItemAt],
) -> Retest {
    let today = Context { air: air_now.cloned(), ..failed_in.clone() };
    let mut result = retest(checklist, &today, readings, failed);
    let (Some(then), Some(now)) = (&failed_in.air, air_now) else { return result };
    let ambient = air::ambient_pressure(failed_in.altitude_m.unwrap_or(0));
    let brought: Vec<Reading> = readings
        .iter()
        .map(|r| {
            let measure = checklist.item(&r.item).and_then(|i| i.measure());
            let judged = measure.filter(|_| checklist.judged_at(&r.item).is_some());
            let value = r.value.as_ref().map(|v| match judged {
                Some(m) => {
                    let base = air::at_temperature(v.base, now.base, then.base, ambient);
                    let shown = m.in_unit(base, v.unit);
                    let figure = shown.split(' ').next().unwrap_or_default().to_owned();
                    Measured { as_read: figure, unit: v.unit, base }
                }
                None => v.clone(),
            });
            Reading { value, ..r.clone() }
        })
        .collect();
    let as_then = retest(checklist, failed_in, &brought, failed);
    for place in as_then.not_ok {
        if !result.not_ok.contains(&place) {
            result.not_ok.push(place);
        }
    }
    for mut finding in as_then.findings {
        let known = result.findings.iter().any(|f| f.item == finding.item && f.position == finding.position);
        if !known {
            finding.why = said!("judge-brought", now = now, then = then, why = finding.why);
            result.findings.push(finding);
        }
    }
    result
}
