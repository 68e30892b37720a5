//! The pre-use check. Nothing is answered by itself: what is not said is asked for.

use chock::domain::checklist::{Load, Warmth};
use chock::domain::watched::Watched;
use clap::Args;
use serde_json::{Value, json};
use uuid::Uuid;

use super::ask::{self, AskError, Server, words};
use super::said::{each, text};
use super::steps::{Looked, answer, print_item};

#[derive(Args)]
pub struct Check {
    /// Unit number of the machine
    unit: String,
    /// How it will be used today
    #[arg(long, value_parser = words(Load::ALL, Load::as_str), default_value = "unladen")]
    load: String,
    /// What the hour meter shows, such as 1234.5
    #[arg(long)]
    hours: Option<String>,
    /// The hours are right although they do not follow from the last ones
    #[arg(long)]
    confirmed: bool,
    /// Has it been running? Limits of both hold when it is left out
    #[arg(long, value_parser = words(Warmth::ALL, Warmth::as_str))]
    warmth: Option<String>,
    /// The temperature of the air now, in °C, where it is asked for
    #[arg(long)]
    air: Option<String>,
    /// ITEM=ANSWER or ITEM@POSITION=ANSWER: ok, "defect: what you saw", not applicable, a level, or a figure with its unit such as
    /// "5.2 mm"
    #[arg(long = "answer", value_name = "ITEM=ANSWER")]
    answers: Vec<String>,
    /// Every other item was looked at and tried, and is in order. What is measured or has a level is still to be answered
    #[arg(long)]
    others_ok: bool,
    /// DEFECT=same, worse or gone: of each defect that is being watched
    #[arg(long = "watched", value_name = "DEFECT=NOW")]
    watched: Vec<String>,
    /// Whatever else there is to say
    #[arg(long, default_value = "")]
    note: String,
    /// Id of this check (UUID, version 7): the same one when it is sent again after there was no answer
    #[arg(long)]
    id: Option<Uuid>,
    #[command(flatten)]
    looked: Looked,
}

impl Check {
    /// None when it only said what has to be looked at.
    pub async fn send(&self, server: &Server) -> Result<Option<Value>, AskError> {
        let machine = server.machine(&self.unit).await?;
        let next = server.get(&format!("/machines/{}/checklist", text(&machine["id"]))).await?;
        let mut answers = self.answers.iter().map(|a| answer(a)).collect::<Result<Vec<_>, _>>()?;
        let open = still_open(&next, &answers, self.others_ok);
        if !self.looked.said() || !open.is_empty() {
            eprintln!("{}, version {}", text(&next["title"]), next["version"]);
            for (item, positions) in &open {
                print_item(item, positions);
            }
            for defect in each(&next["open_defects"]).filter(|d| d["watched"] == true) {
                eprintln!("{}", text(&defect["what"]));
                eprintln!("  --watched {}=…", text(&defect["id"]));
            }
        }
        if !self.looked.confirmed() {
            return Ok(None);
        }
        if !open.is_empty() {
            eprintln!("Nothing was sent: what stands above is not answered.");
            return Ok(None);
        }
        if self.others_ok {
            answers.extend(in_order(&next, &answers));
        }
        let watched = self.watched.iter().map(|w| watched(w)).collect::<Result<Vec<_>, _>>()?;
        let check = json!({
            "machine": machine["id"], "checklist": next["checklist"], "load": self.load, "warmth": self.warmth,
            "engine_hours": self.hours, "hours_confirmed": self.confirmed, "air_temperature": self.air,
            "answers": answers, "watched": watched, "note": self.note,
        });
        server.put_once("/checks", self.id.unwrap_or_else(ask::new_id), check).await.map(Some)
    }
}

/// The verdict, and why.
pub fn verdict(answer: &Value) -> String {
    let mut lines = vec![text(&answer["standing"]).to_owned()];
    for finding in each(&answer["findings"]) {
        lines.push(format!("{}: {}", text(&finding["severity"]), text(&finding["what"])));
        for member in ["why", "instruction"] {
            lines.push(format!("  {}", text(&finding[member])));
        }
    }
    lines.push(format!("Check {}", text(&answer["check"])));
    lines.join("\n")
}

/// Where an answer is due: the item, and where on the machine (nowhere in particular: an empty word).
fn places(next: &Value) -> impl Iterator<Item = (&Value, &str)> {
    each(&next["zones"]).flat_map(|zone| each(&zone["items"])).flat_map(|item| {
        let mut positions: Vec<&str> = each(&item["positions"]).map(|p| text(&p["key"])).collect();
        if positions.is_empty() {
            positions.push("");
        }
        positions.into_iter().map(move |position| (item, position))
    })
}

fn is_answered(answers: &[Value], item: &Value, position: &str) -> bool {
    answers.iter().any(|a| a["item"] == item["key"] && text(&a["position"]) == position)
}

/// Looked at or tried; a figure or a level has to be read.
fn can_be_in_order(item: &Value) -> bool {
    matches!(text(&item["asks"]), "condition" | "function")
}

fn still_open<'n>(next: &'n Value, answers: &[Value], others_ok: bool) -> Vec<(&'n Value, Vec<&'n str>)> {
    let mut open: Vec<(&Value, Vec<&str>)> = Vec::new();
    for (item, position) in places(next) {
        if is_answered(answers, item, position) || (others_ok && can_be_in_order(item)) {
            continue;
        }
        match open.last_mut() {
            Some((last, positions)) if last["key"] == item["key"] => positions.push(position),
            _ => open.push((item, vec![position])),
        }
    }
    open
}

fn in_order(next: &Value, answers: &[Value]) -> Vec<Value> {
    places(next)
        .filter(|(item, position)| can_be_in_order(item) && !is_answered(answers, item, position))
        .map(|(item, position)| {
            let position = (!position.is_empty()).then_some(position);
            json!({ "item": item["key"], "position": position, "outcome": "ok" })
        })
        .collect()
}

/// `0198…=worse`.
fn watched(typed: &str) -> Result<Value, AskError> {
    let read = typed.split_once('=').and_then(|(defect, now)| {
        Some((defect.trim().parse::<Uuid>().ok()?, now.trim().parse::<Watched>().ok()?))
    });
    match read {
        Some((defect, now)) => Ok(json!({ "defect": defect, "now": now, "note": "" })),
        None => Err(AskError::Refused(vec![format!(
            "{typed}: write DEFECT=NOW, with the defect's id and one of same, worse, gone."
        )])),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn next() -> Value {
        json!({ "zones": [
            { "items": [{ "key": "horn", "asks": "function", "positions": [] }] },
            { "items": [
                { "key": "tyre-pressure", "asks": "measure", "positions": [{ "key": "front" }, { "key": "rear" }] },
                { "key": "tread", "asks": "condition", "positions": [{ "key": "front" }, { "key": "rear" }] },
            ] },
        ] })
    }

    #[test]
    fn nothing_is_answered_by_itself() {
        let next = next();
        let answers = vec![answer("tyre-pressure@front=120 kPa").unwrap_or(Value::Null)];
        let open = |others_ok| -> Vec<(String, Vec<String>)> {
            still_open(&next, &answers, others_ok)
                .into_iter()
                .map(|(i, p)| (text(&i["key"]).to_owned(), p.into_iter().map(str::to_owned).collect()))
                .collect()
        };
        let of = |key: &str, at: &[&str]| (key.to_owned(), at.iter().map(|p| (*p).to_owned()).collect());
        let all = [of("horn", &[""]), of("tyre-pressure", &["rear"]), of("tread", &["front", "rear"])];
        assert_eq!(open(false), all);
        assert_eq!(open(true), [of("tyre-pressure", &["rear"])], "a figure is read, never supposed");
        let supposed = in_order(&next, &answers);
        assert_eq!(supposed.len(), 3, "{supposed:?}");
        assert!(supposed.iter().all(|a| a["outcome"] == "ok" && a["item"] != "tyre-pressure"));
    }

    #[test]
    fn what_is_said_of_a_watched_defect_is_one_of_three_words() {
        let id = Uuid::nil();
        assert_eq!(watched(&format!("{id}=worse")).unwrap_or(Value::Null)["now"], "worse");
        for wrong in [format!("{id}=fine"), "U-07=same".to_owned(), id.to_string()] {
            assert!(watched(&wrong).is_err(), "{wrong}");
        }
    }
}
