//! What the server answered, for people at a terminal.

use chrono::{DateTime, Utc};
use serde_json::Value;

pub fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

/// To the minute, in UTC: `2026-11-23 15:59 UTC`. A script that wants more asks for `--json`.
pub fn moment(value: &Value) -> String {
    match text(value).parse::<DateTime<Utc>>() {
        Ok(at) => at.format("%Y-%m-%d %H:%M UTC").to_string(),
        Err(_) => text(value).to_owned(),
    }
}

/// Columns under their names, two spaces between them.
pub fn table(names: &[&str], rows: &[Vec<String>]) -> String {
    let width = |at: usize| {
        let cells = rows.iter().map(|row| row[at].chars().count());
        cells.chain([names[at].chars().count()]).max().unwrap_or_default()
    };
    let widths: Vec<usize> = (0..names.len()).map(width).collect();
    let line = |cells: &mut dyn Iterator<Item = &str>| {
        let padded: Vec<String> = cells.zip(&widths).map(|(cell, width)| format!("{cell:<width$}")).collect();
        padded.join("  ").trim_end().to_owned()
    };
    let mut lines = vec![line(&mut names.iter().copied())];
    lines.extend(rows.iter().map(|row| line(&mut row.iter().map(String::as_str))));
    lines.join("\n")
}

pub fn grounded(board: &Value) -> String {
    let rows: Vec<Vec<String>> = each(&board["grounded"])
        .map(|g| {
            let who = match (text(&g["mechanic_name"]), text(&g["state"])) {
                ("", state) => state.to_owned(),
                (name, state) => format!("{state}, {name}"),
            };
            let fields = ["unit_number", "class", "yard_name"].map(|f| text(&g[f]).to_owned());
            [&fields[..], &[moment(&g["since"]), who, text(&g["why"]).to_owned()]].concat()
        })
        .collect();
    if rows.is_empty() {
        return "No machine is out of service.".to_owned();
    }
    table(&["unit", "class", "yard", "since", "work order", "why"], &rows)
}

pub fn queue(queue: &Value) -> String {
    let rows: Vec<Vec<String>> = each(&queue["work_orders"])
        .map(|o| {
            let mut row = vec![text(&o["unit_number"]).to_owned(), o["number"].to_string()];
            row.push(text(&o["state"]).to_owned());
            row.push(text(&o["mechanic"]["name"]).to_owned());
            row.extend(["first_defect", "because"].map(|f| text(&o[f]).to_owned()));
            row
        })
        .collect();
    if rows.is_empty() {
        return "Nothing waits to be repaired.".to_owned();
    }
    table(&["unit", "work order", "state", "mechanic", "defect", "because"], &rows)
}

/// "U-07: out of service".
pub fn standing(machine: &Value) -> String {
    format!("{}: {}", text(&machine["unit_number"]), text(&machine["standing"]))
}

pub fn machine(machine: &Value) -> String {
    let mut lines = vec![standing(machine)];
    let hours = text(&machine["engine_hours"]);
    lines.push(format!("{}, {}, {hours} h", text(&machine["class"]), text(&machine["yard_name"])));
    for hold in each(&machine["holds"]) {
        lines.push(format!("Held since {}: {}", moment(&hold["since"]), text(&hold["reason"])));
        lines.push(format!("  hold {}", text(&hold["id"])));
    }
    for defect in each(&machine["open_defects"]) {
        lines.push(format!("{}: {}", text(&defect["severity"]), text(&defect["what"])));
        lines.push(format!("  {}", text(&defect["instruction"])));
        lines.push(format!("  defect {}", text(&defect["id"])));
    }
    lines.join("\n")
}

pub fn order(order: &Value) -> String {
    let mut first = format!(
        "Work order {} on {}: {}",
        order["number"],
        text(&order["unit_number"]),
        text(&order["state"])
    );
    if let Some(name) = order["mechanic"]["name"].as_str() {
        first.push_str(&format!(", {name}"));
    }
    if order["my_clock_runs"] == true {
        first.push_str("; your clock runs");
    }
    let mut lines = vec![first];
    for defect in each(&order["defects"]) {
        lines.push(format!(
            "{}, {}: {}",
            text(&defect["severity"]),
            text(&defect["state"]),
            text(&defect["what"])
        ));
        lines.push(format!("  defect {}", text(&defect["id"])));
    }
    lines.join("\n")
}

/// A line for each of these members that says something.
pub fn sentences(answer: &Value, members: &[&str]) -> String {
    members.iter().map(|m| text(&answer[*m])).filter(|t| !t.is_empty()).collect::<Vec<_>>().join("\n")
}

pub fn each(list: &Value) -> impl Iterator<Item = &Value> {
    list.as_array().into_iter().flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_stand_under_their_names() {
        let rows = [vec!["U-07".to_owned(), "brake".to_owned()], vec!["Årø 12".to_owned(), String::new()]];
        assert_eq!(table(&["unit", "why"], &rows), "unit    why\nU-07    brake\nÅrø 12");
    }
}
