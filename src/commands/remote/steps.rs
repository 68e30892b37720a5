//! The steps that say something of a machine: what was done, what the failed items show now, and that somebody looked.

use chock::domain::reading::{Level, Outcome};
use clap::Args;
use serde_json::{Value, json};
use uuid::Uuid;

use super::ask::{AskError, Server};
use super::said::{each, text};

/// Before whatever puts a machine back into use.
const LOOK: &str = "CAUTION. Look at the machine yourself before you sign: whoever takes it next relies on your word. Make sure \
that nobody works on it, and that guards, locks and tags are as your procedure says. In doubt, it stays out of service.";

#[derive(Args)]
pub struct Looked {
    /// You have looked at the machine yourself. A script cannot: it passes on the word of somebody who has
    #[arg(long)]
    looked: bool,
}

impl Looked {
    pub fn said(&self) -> bool {
        self.looked
    }

    /// The caution stands before the step, whether or not somebody has looked.
    pub fn confirmed(&self) -> bool {
        eprintln!("{LOOK}");
        if !self.looked {
            eprintln!("Nothing was done. When you have looked, say so with --looked.");
        }
        self.looked
    }
}

#[derive(Args)]
pub struct Finish {
    /// Id or number of the work order, or unit number of its machine
    order: String,
    /// Of one defect, where the order has several
    #[arg(long, value_name = "ID")]
    defect: Option<Uuid>,
    /// Why it had failed
    #[arg(long, default_value = "")]
    cause: String,
    /// What was done about it
    #[arg(long, default_value = "")]
    remedy: String,
    /// Instead of cause and remedy
    #[arg(long)]
    no_fault_found: bool,
    /// A new part was fitted: its series of readings starts again
    #[arg(long)]
    part_replaced: bool,
    /// What the hour meter shows now
    #[arg(long)]
    hours: Option<String>,
    /// The same of every defect of the order, where it has several
    #[arg(long, conflicts_with = "defect")]
    all: bool,
}

impl Finish {
    pub async fn send(&self, server: &Server) -> Result<Value, AskError> {
        let order = server.order(&self.order).await?;
        let open: Vec<&str> = each(&order["defects"])
            .filter(|d| d["closed_at"].is_null())
            .map(|d| text(&d["id"]))
            .filter(|id| self.defect.is_none_or(|d| d.to_string() == **id))
            .collect();
        if let (Some(defect), true) = (self.defect, open.is_empty()) {
            return Err(AskError::Refused(vec![format!("{defect}: no open defect of this work order.")]));
        }
        if open.len() > 1 && !self.all {
            let mut said = vec![format!(
                "It has {} open defects. To say the same of each: --all. Else say which with --defect:",
                open.len()
            )];
            said.extend(named(&order));
            return Err(AskError::Refused(said));
        }
        let work = json!({
            "cause": self.cause, "remedy": self.remedy, "no_fault_found": self.no_fault_found,
            "part_replaced": self.part_replaced,
        });
        let defects: serde_json::Map<String, Value> =
            open.iter().map(|id| ((*id).to_owned(), work.clone())).collect();
        let done = json!({ "defects": defects, "engine_hours": self.hours });
        server.post(&format!("/work-orders/{}/finish", text(&order["id"])), done).await
    }
}

#[derive(Args)]
pub struct Retest {
    /// Id or number of the work order, or unit number of its machine
    order: String,
    /// Which defect, where the order has several
    #[arg(long)]
    defect: Option<Uuid>,
    /// ITEM=ANSWER or ITEM@POSITION=ANSWER: ok, "defect: what you saw", a level, or a figure with its unit such as "5.2 mm"
    #[arg(long = "answer", value_name = "ITEM=ANSWER")]
    answers: Vec<String>,
    /// Of a defect that was reported outside a check: what was tried, and that the fault is gone
    #[arg(long, requires = "tried")]
    gone: bool,
    /// How it was tried whether the fault is gone
    #[arg(long, default_value = "")]
    tried: String,
    /// The temperature of the air now, in °C, where it is asked for
    #[arg(long)]
    air: Option<String>,
    #[command(flatten)]
    looked: Looked,
}

impl Retest {
    /// None when it only said what has to be looked at.
    pub async fn send(&self, server: &Server) -> Result<Option<Value>, AskError> {
        let order = server.order(&self.order).await?;
        let open: Vec<&Value> = each(&order["defects"])
            .filter(|d| d["closed_at"].is_null())
            .filter(|d| self.defect.is_none_or(|id| text(&d["id"]) == id.to_string()))
            .collect();
        let [defect] = open.as_slice() else {
            let mut said = vec!["Say which defect with --defect:".to_owned()];
            said.extend(named(&order));
            return Err(AskError::Refused(said));
        };
        eprintln!("{}", text(&defect["what"]));
        let of_check = each(&defect["failed"]).next().is_some();
        for item in each(&defect["failed"]) {
            print_item(item, &[text(&item["position"])]);
        }
        if !of_check {
            eprintln!("  --tried \"what you did to see whether it is gone\", and --gone when it is");
        }
        if !self.looked.confirmed() {
            return Ok(None);
        }
        if !of_check && !self.answers.is_empty() {
            let said = "It was reported outside a check: say --tried and --gone instead of --answer.";
            return Err(AskError::Refused(vec![said.to_owned()]));
        }
        if (of_check && self.answers.is_empty()) || (!of_check && self.tried.is_empty()) {
            eprintln!("Nothing was sent: say what you found, as it stands above.");
            return Ok(None);
        }
        let answers = self.answers.iter().map(|a| answer(a)).collect::<Result<Vec<_>, _>>()?;
        let mut retest = json!({ "answers": answers, "tried": self.tried, "air_temperature": self.air });
        if !of_check {
            retest["fault_gone"] = json!(self.gone);
        }
        let path = format!("/work-orders/{}/defects/{}/retest", text(&order["id"]), text(&defect["id"]));
        server.post(&path, retest).await.map(Some)
    }
}

/// What is to be done at it, its caution first, and how it is answered.
pub fn print_item(item: &Value, positions: &[&str]) {
    if !text(&item["title"]).is_empty() {
        eprintln!("{}", text(&item["title"]));
    }
    for (before, member) in [("CAUTION. ", "caution"), ("", "todo"), ("Acceptable: ", "accept")] {
        let words = text(&item[member]);
        if !words.is_empty() {
            eprintln!("  {before}{words}");
        }
    }
    let key = if item["key"].is_null() { text(&item["item"]) } else { text(&item["key"]) };
    for position in positions {
        let at = if position.is_empty() { String::new() } else { format!("@{position}") };
        eprintln!("  --answer {key}{at}=…");
    }
}

/// The open defects of an order, a line each.
fn named(order: &Value) -> impl Iterator<Item = String> {
    each(&order["defects"])
        .filter(|d| d["closed_at"].is_null())
        .map(|d| format!("  {} {}", text(&d["id"]), text(&d["what"])))
}

/// `brake-pad@front-left=5.2 mm`.
pub fn answer(typed: &str) -> Result<Value, AskError> {
    let wrong = || AskError::Refused(vec![format!("{typed}: write ITEM=ANSWER or ITEM@POSITION=ANSWER.")]);
    let (place, said) = typed.split_once('=').ok_or_else(wrong)?;
    let (item, position) = match place.split_once('@') {
        Some((item, position)) => (item, Some(position)),
        None => (place, None),
    };
    let mut answer = json!({ "item": item.trim(), "position": position.map(str::trim) });
    let said = said.trim();
    let (word, note) = said.split_once(':').unwrap_or((said, ""));
    if word.trim().parse::<Outcome>().is_ok() {
        answer["outcome"] = json!(word.trim());
        if !note.trim().is_empty() {
            answer["note"] = json!(note.trim());
        }
    } else if said.parse::<Level>().is_ok() {
        answer["level"] = json!(said);
    } else {
        let end =
            said.find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | ',' | '-')).unwrap_or(said.len());
        let (figure, unit) = said.split_at(end);
        if figure.is_empty() {
            return Err(wrong());
        }
        answer["value"] = json!(figure);
        if !unit.trim().is_empty() {
            answer["unit"] = json!(unit.trim());
        }
    }
    Ok(answer)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_are_read_as_they_are_typed() {
        let of = |typed: &str| answer(typed).unwrap_or(Value::Null);
        assert_eq!(of("fuel-leak=ok"), json!({"item": "fuel-leak", "position": null, "outcome": "ok"}));
        assert_eq!(
            of("brake-pad@front-left=5.2 mm"),
            json!({"item": "brake-pad", "position": "front-left", "value": "5.2", "unit": "mm"})
        );
        assert_eq!(of("hose=defect: chafed at the clamp")["note"], "chafed at the clamp");
        assert_eq!(of("tyre@rear=120kPa")["unit"], "kPa");
        assert_eq!(of("oil=between")["level"], "between");
        for wrong in ["fuel-leak", "fuel-leak=", "fuel-leak=fine"] {
            assert_eq!(of(wrong), Value::Null, "{wrong}");
        }
    }
}
