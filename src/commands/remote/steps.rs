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
    order: String,
    #[arg(long, default_value = "")]
    cause: String,
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
    /// Of every defect of the order, where it has several
    #[arg(long)]
    all: bool,
}

impl Finish {
    pub async fn send(&self, server: &Server) -> Result<Value, AskError> {
        let order = server.order(&self.order).await?;
        let open: Vec<&str> =
            each(&order["defects"]).filter(|d| d["closed_at"].is_null()).map(|d| text(&d["id"])).collect();
        if open.len() > 1 && !self.all {
            let said = format!("It has {} defects. To say the same of each: --all.", open.len());
            return Err(AskError::Refused(vec![said]));
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
    order: String,
    /// Which defect, where the order has several
    #[arg(long)]
    defect: Option<Uuid>,
    /// ITEM=ANSWER or ITEM@POSITION=ANSWER: ok, defect, a level, or a figure with its unit such as "5.2 mm"
    #[arg(long = "answer", value_name = "ITEM=ANSWER")]
    answers: Vec<String>,
    /// Of a defect that was reported outside a check: what was tried, and that the fault is gone
    #[arg(long)]
    gone: bool,
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
            said.extend(
                each(&order["defects"]).map(|d| format!("  {} {}", text(&d["id"]), text(&d["what"]))),
            );
            return Err(AskError::Refused(said));
        };
        eprintln!("{}", text(&defect["what"]));
        for item in each(&defect["failed"]) {
            for (before, member) in [("CAUTION. ", "caution"), ("", "todo"), ("Acceptable: ", "accept")] {
                let words = text(&item[member]);
                if !words.is_empty() {
                    eprintln!("  {before}{words}");
                }
            }
            let at = match text(&item["position"]) {
                "" => String::new(),
                position => format!("@{position}"),
            };
            eprintln!("  --answer {}{at}=…", text(&item["item"]));
        }
        if !self.looked.confirmed() || (self.answers.is_empty() && self.tried.is_empty()) {
            return Ok(None);
        }
        let answers = self.answers.iter().map(|a| answer(a)).collect::<Result<Vec<_>, _>>()?;
        let mut retest = json!({ "answers": answers, "tried": self.tried, "air_temperature": self.air });
        if each(&defect["failed"]).next().is_none() {
            retest["fault_gone"] = json!(self.gone);
        }
        let path = format!("/work-orders/{}/defects/{}/retest", text(&order["id"]), text(&defect["id"]));
        server.post(&path, retest).await.map(Some)
    }
}

/// `brake-pad@front-left=5.2 mm`.
fn answer(typed: &str) -> Result<Value, AskError> {
    let wrong = || AskError::Refused(vec![format!("{typed}: write ITEM=ANSWER or ITEM@POSITION=ANSWER.")]);
    let (place, said) = typed.split_once('=').ok_or_else(wrong)?;
    let (item, position) = match place.split_once('@') {
        Some((item, position)) => (item, Some(position)),
        None => (place, None),
    };
    let mut answer = json!({ "item": item.trim(), "position": position.map(str::trim) });
    let said = said.trim();
    if said.parse::<Outcome>().is_ok() {
        answer["outcome"] = json!(said);
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
        assert_eq!(of("tyre@rear=120kPa")["unit"], "kPa");
        assert_eq!(of("oil=between")["level"], "between");
        for wrong in ["fuel-leak", "fuel-leak=", "fuel-leak=fine"] {
            assert_eq!(of(wrong), Value::Null, "{wrong}");
        }
    }
}
