//! From the fields of the check form to a check, and from a question's pointer back to its field.

use crate::domain::answers;
use crate::domain::checklist::{Asked, Checklist, Load, Stop};
use crate::domain::ids::{CheckId, ChecklistId, DefectId, MachineId};
use crate::domain::reading::{Before, Context, Level, Outcome, RawAnswer};
use crate::domain::refusal::Problem;
use crate::domain::unit::Hours;
use crate::domain::watched::Said;
use crate::http::pages::form::Form;
use crate::workflow::SubmitCheck;

/// Chosen with a figure: the outcome then follows from the figure.
pub const MEASURED: &str = "measured";

/// The check, with one answer for every stop of the walk in its order: answer `n` of a question's pointer is stop `n`.
pub fn read(
    sent: &Form,
    id: CheckId,
    machine: MachineId,
    checklist_id: ChecklistId,
    checklist: &Checklist,
) -> Result<SubmitCheck, Vec<Problem>> {
    let mut problems = Vec::new();
    let load = sent.text("load").parse().map_err(|_| {
        problems.push(Problem { pointer: "/load".to_owned(), sentence: said!("check-form-say-load") });
    });
    let hours: Result<Option<Hours>, ()> = match sent.text("hours").trim() {
        "" => Ok(None),
        typed => typed.parse().map(Some).map_err(|e: crate::domain::unit::MeasureError| {
            let sentence = said!("check-form-hours", fault = e);
            problems.push(Problem { pointer: "/engine_hours".to_owned(), sentence });
        }),
    };
    let watched = watched(sent);
    let answers = answers_of(sent, checklist);
    let (Ok(load), Ok(engine_hours)) = (load, hours) else {
        // Whatever else must be mended is asked at once. What hangs on the load is judged by the milder limits here.
        let context = Context::of(Load::Unladen);
        // By name once the form is whole: only the workshop knows the defects.
        let open = watched.iter().enumerate().filter(|(_, w)| w.now.is_none());
        problems.extend(open.map(|(n, _)| Problem {
            pointer: format!("/watched/{n}/now"),
            sentence: said!("check-form-look-at-watched"),
        }));
        let others = answers::read(checklist, &context, &answers, &Before::default()).err();
        let others = others.into_iter().flatten();
        problems.extend(others.map(|q| Problem { pointer: q.pointer, sentence: q.sentence }));
        return Err(problems);
    };
    Ok(SubmitCheck {
        id,
        machine,
        checklist: checklist_id,
        load,
        warmth: sent.text("warmth").parse().ok(),
        air_temperature: Some(sent.text("air").to_owned()).filter(|t| !t.trim().is_empty()),
        air_unit: Some(sent.text("air_unit").to_owned()).filter(|t| !t.is_empty()),
        watched,
        engine_hours,
        hours_confirmed: sent.has("hours_confirmed"),
        answers,
        note: sent.text("note").to_owned(),
        begun_at: sent.text("begun").parse().ok(),
        recorded_at: None,
    })
}

/// One for every stop of the walk, in its order.
pub fn answers_of(sent: &Form, checklist: &Checklist) -> Vec<RawAnswer> {
    checklist.walk().iter().map(|stop| answer(sent, stop)).collect()
}

/// One for every defect that the form showed, in its order. What is typed beside an answer that needs no words is kept.
fn watched(sent: &Form) -> Vec<Said> {
    sent.all("watched")
        .filter_map(|id| id.parse::<DefectId>().ok())
        .map(|defect| Said {
            defect,
            now: sent.text(&format!("w.{defect}")).parse().ok(),
            note: sent.text(&format!("w.{defect}.note")).to_owned(),
        })
        .collect()
}

fn answer(sent: &Form, stop: &Stop<'_>) -> RawAnswer {
    let n = stop.index;
    let field = |name: &str| {
        let text = sent.text(&format!("a.{n}.{name}")).trim();
        (!text.is_empty()).then(|| text.to_owned())
    };
    let chosen = field("outcome");
    let is_level = stop.item.asks.kind() == Asked::Level;
    let level = chosen.clone().filter(|c| is_level && c.parse::<Level>().is_ok()).or_else(|| field("level"));
    let outcome = chosen.filter(|c| c != MEASURED && Some(c) != level.as_ref());
    // A browser also sends what it has folded away: what was put right counts only when that is the answer.
    let corrected = outcome.as_deref() == Some(Outcome::Corrected.as_str());
    let put_right = |name: &str| if corrected { field(name) } else { None };
    let place = stop.place();
    RawAnswer {
        item: Some(place.item),
        position: place.position,
        outcome,
        level,
        value: field("value"),
        unit: field("unit"),
        correction: put_right("correction"),
        amount: put_right("amount"),
        amount_unit: put_right("amount_unit"),
        note: field("note"),
    }
}

/// The id of the field that a question's pointer speaks of, for `#…` in the summary of errors.
pub fn field_of(pointer: &str, checklist: &Checklist, sent: &Form) -> String {
    let mut parts = pointer.trim_start_matches('/').split('/');
    match (parts.next().unwrap_or_default(), parts.next().and_then(|n| n.parse::<usize>().ok())) {
        ("answers", Some(n)) => {
            let measured = checklist.walk().get(n).is_some_and(|s| s.item.asks.kind() == Asked::Measure);
            match parts.next() {
                Some(member @ ("value" | "unit" | "correction" | "amount" | "amount_unit" | "note")) => {
                    format!("a{n}-{member}")
                }
                None if measured => format!("a{n}-value"),
                _ => format!("a{n}-outcome"),
            }
        }
        ("watched", Some(n)) => {
            let defect = watched(sent).get(n).map(|w| w.defect.to_string()).unwrap_or_default();
            match parts.next() {
                Some("note") => format!("w-{defect}-note"),
                _ => format!("w-{defect}"),
            }
        }
        ("watched", None) => "watched".to_owned(),
        ("air_temperature" | "air_unit", _) => "air".to_owned(),
        ("load", _) => "load".to_owned(),
        ("engine_hours", _) => "hours".to_owned(),
        ("note", _) => "note".to_owned(),
        _ => "check".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::checklist_file::parse;
    use crate::domain::shipped::SHIPPED;

    fn shipped() -> Checklist {
        parse(SHIPPED[0].1).expect("the shipped checklist is sound")
    }

    fn stop(checklist: &Checklist, item: &str, position: Option<&str>) -> usize {
        checklist.walk().iter().find(|s| s.is(item, position)).unwrap().index
    }

    fn typed(body: &str) -> Result<SubmitCheck, Vec<Problem>> {
        let id = "01938f1e-0000-7000-8000-000000000001";
        let form = Form::urlencoded(body.as_bytes()).unwrap();
        read(&form, id.parse().unwrap(), id.parse().unwrap(), id.parse().unwrap(), &shipped())
    }

    #[test]
    fn answers_keep_their_place_in_the_walk() {
        let list = shipped();
        let (pad, oil) =
            (stop(&list, "brake-pad", Some("front-left")), stop(&list, "engine-oil-level", None));
        let body = format!(
            "load=laden&hours=12%2C5&hours_confirmed=on&a.{pad}.outcome=measured&a.{pad}.value=1.2&a.{pad}.unit=mm\
             &a.{oil}.outcome=below&a.{oil}.correction=topped+up&a.{oil}.amount=1"
        );
        let check = typed(&body).unwrap();
        assert_eq!(check.engine_hours, Some(Hours(125)));
        assert!(check.hours_confirmed);
        assert_eq!(check.answers.len(), list.walk().len());
        let pad = &check.answers[pad];
        assert_eq!((pad.outcome.as_deref(), pad.value.as_deref()), (None, Some("1.2")));
        let oil = &check.answers[oil];
        assert_eq!((oil.outcome.as_deref(), oil.level.as_deref()), (None, Some("below")));
        assert_eq!((&oil.correction, &oil.amount), (&None, &None), "nothing was put right");
    }

    #[test]
    fn what_was_put_right_counts_when_it_is_the_answer() {
        let oil = stop(&shipped(), "engine-oil-level", None);
        let check = typed(&format!(
            "load=unladen&a.{oil}.outcome=corrected&a.{oil}.correction=topped+up&a.{oil}.amount=0.3&a.{oil}.amount_unit=L"
        ))
        .unwrap();
        let oil = &check.answers[oil];
        assert_eq!(oil.outcome.as_deref(), Some("corrected"));
        assert_eq!((oil.correction.as_deref(), oil.amount.as_deref()), (Some("topped up"), Some("0.3")));
    }

    #[test]
    fn the_context_is_asked_for_by_name() {
        let problems = typed("hours=lots").unwrap_err();
        let pointers: Vec<&str> = problems.iter().map(|p| p.pointer.as_str()).collect();
        assert_eq!(pointers[..2], ["/load", "/engine_hours"]);
        assert_eq!(pointers.len(), 2 + shipped().walk().len(), "and every open item with it");
    }

    #[test]
    fn questions_lead_back_to_their_fields() {
        let list = shipped();
        let pad = stop(&list, "brake-pad", Some("front-left"));
        let (first, second) = (DefectId(uuid::Uuid::from_u128(1)), DefectId(uuid::Uuid::from_u128(2)));
        let body = format!("watched={first}&watched={second}&w.{second}=same&w.{second}.note=as+before");
        let form = Form::urlencoded(body.as_bytes()).unwrap();
        let said = watched(&form);
        assert_eq!((said[0].now, said[1].now), (None, Some(crate::domain::watched::Watched::Same)));
        assert_eq!(said[1].note, "as before");
        let field = |pointer: &str| field_of(pointer, &list, &form);
        assert_eq!(field(&format!("/answers/{pad}/value")), format!("a{pad}-value"));
        assert_eq!(field(&format!("/answers/{pad}")), format!("a{pad}-value"));
        assert_eq!(field("/answers/0"), "a0-outcome");
        assert_eq!(field("/answers/0/level"), "a0-outcome");
        assert_eq!(field("/engine_hours"), "hours");
        assert_eq!(field("/air_temperature"), "air");
        assert_eq!(field("/watched/0/now"), format!("w-{first}"));
        assert_eq!(field("/watched/1/note"), format!("w-{second}-note"));
        assert_eq!(field("/watched"), "watched");
        assert_eq!(field(""), "check");
    }
}
