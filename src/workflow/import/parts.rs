//! Parts, and what lies in the bins to begin with. Stock comes in as a receipt at what it is worth, into a bin whose ledger
//! is empty: the books stay the sum of what happened. A bin that has moved is put right by a stock-take, never by a file.

use std::collections::HashMap;

use super::super::part_store::{NewPart, insert_part, ready_part, receive_in};
use super::super::trail::Trail;
use super::super::{Result, Workshop};
use super::{Import, Yards, change, new};
use crate::domain::ids::{PartId, YardId};
use crate::domain::import::ImportOutcome;
use crate::domain::import::sheet::Sheet;
use crate::domain::money;
use crate::domain::person::Actor;
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::store::Quantity;
use crate::domain::trail::TrailAct;
use crate::storage::{PartRow, Tx};

/// One line: a part as one yard has it.
pub struct Step {
    row: PartRow,
    /// The part is known, or on an earlier line.
    part: Option<PartId>,
    /// As it is called now, where the file calls it otherwise.
    renamed_from: Option<String>,
    /// Where the bin is another than it was: before, and the level that stays.
    placed: Option<(String, Option<i64>)>,
    /// What comes in, and what it is worth.
    receipt: Option<(Quantity, i64)>,
}

pub async fn plan(
    workshop: &Workshop,
    tx: &mut Tx,
    sheet: &Sheet,
    yards: &Yards<'_>,
    import: &mut Import,
) -> Result<Vec<Step>> {
    let mut parts: HashMap<String, (PartId, String, String)> =
        tx.known_parts().await?.into_iter().map(|p| (p.number, (p.id, p.name, p.unit))).collect();
    let stock: HashMap<(PartId, YardId), _> =
        tx.known_stock().await?.into_iter().map(|k| ((k.part_id, k.yard_id), k)).collect();
    let mut seen: HashMap<(String, YardId), u64> = HashMap::new();
    let mut steps = Vec::new();
    for mut line in sheet.lines() {
        let Some(yard) = yards.of(&mut line, "yard") else {
            import.sound(line);
            continue;
        };
        let typed = NewPart {
            number: line.text("part number").to_owned(),
            name: line.text("name").to_owned(),
            unit: line.text("unit").to_owned(),
            yard: yard.id,
            bin: line.text("bin").to_owned(),
        };
        let row = match ready_part(workshop, &typed, yard.name.clone()) {
            Ok(row) => row,
            Err(refusal) => {
                line.refused(&refusal, &[("number", "part number")]);
                import.sound(line);
                continue;
            }
        };
        if let Some(first) = seen.insert((row.number.clone(), yard.id), line.number()) {
            line.fault("part number", said!("import-stands-twice", first = first.to_string()));
        }
        let none = |text: &str| text.trim_matches(['0', '.', ',']).is_empty();
        let quantity = if none(line.text("on hand")) { None } else { line.quantity("on hand") };
        let worth = line.amount("worth", &workshop.currency).map(|a| a.minor);
        if quantity.is_some() && worth.is_none() && line.text("worth").is_empty() {
            line.fault("worth", said!("import-worth-needed"));
        }
        let before = parts.get(&row.number).cloned();
        let bin = before.as_ref().and_then(|(id, ..)| stock.get(&(*id, yard.id)));
        if let Some((_, name, unit)) = &before {
            if *unit != row.unit {
                line.fault("unit", said!("import-part-unit", unit = unit.as_str()));
            }
            // One part has one name, whichever yard's line says it.
            if *name != row.name && steps.iter().any(|s: &Step| s.row.number == row.number) {
                line.fault("name", said!("import-part-name", name = name.as_str()));
            }
        }
        let mut receipt = quantity.map(|q| (q, worth.unwrap_or(0)));
        if let Some(bin) = bin.filter(|b| b.moved)
            && let Some((quantity, value)) = receipt.take()
            && (quantity.0 != bin.on_hand || value != bin.worth_minor)
        {
            let sentence = said!(
                "import-stock-has-moved",
                has = Quantity(bin.on_hand),
                worth = money::shown(bin.worth_minor, &workshop.currency)
            );
            line.fault("on hand", sentence);
        }
        let number = line.number();
        if !import.sound(line) {
            continue;
        }
        let renamed_from = before.as_ref().map(|(_, name, _)| name.clone()).filter(|name| *name != row.name);
        let was_bin = bin.map_or("", |b| b.bin.as_str());
        let placed = (before.is_some() && sheet.has("bin") && was_bin != row.bin)
            .then(|| (was_bin.to_owned(), bin.and_then(|b| b.level)));
        let mut changes: Vec<_> =
            renamed_from.iter().filter_map(|from| change("name", from, &row.name)).collect();
        changes.extend(placed.iter().filter_map(|(from, _)| change("bin", from, &row.bin)));
        if before.is_none() {
            changes.extend([new("name", row.name.as_str()), new("unit", row.unit.as_str())]);
            changes.extend((!row.bin.is_empty()).then(|| new("bin", row.bin.as_str())));
        }
        changes.extend(receipt.map(|(quantity, _)| new("on hand", quantity.to_string())));
        changes.extend(receipt.map(|(_, value)| new("worth", money::shown(value, &workshop.currency))));
        let outcome = match (&before, changes.is_empty()) {
            (None, _) => ImportOutcome::Added,
            (Some(_), false) => ImportOutcome::Changed,
            (Some(_), true) => ImportOutcome::AlreadySo,
        };
        import.add(number, &format!("{} · {}", row.number, yard.name), outcome, changes);
        if outcome != ImportOutcome::AlreadySo {
            let part = before.as_ref().map(|(id, ..)| *id);
            let id = part.unwrap_or(row.id);
            parts.insert(row.number.clone(), (id, row.name.clone(), row.unit.clone()));
            steps.push(Step { part, renamed_from, placed, receipt, row });
        }
    }
    Ok(steps)
}

pub async fn take(workshop: &Workshop, tx: &mut Tx, actor: &Actor, steps: Vec<Step>) -> Result<()> {
    let now = workshop.ambient.now();
    for step in steps {
        let row = &step.row;
        let (id, subject) = (step.part.unwrap_or(row.id), format!("part {}", row.number));
        let mut trail = Trail::new(actor, now);
        let why = said!("trail-in-file");
        match step.part {
            None => insert_part(workshop, tx, actor, row).await?,
            Some(id) => {
                tx.part_for_change(id, row.yard_id).await?.ok_or(Refusal::NotFound(Thing::Part))?;
            }
        }
        if let Some(from) = &step.renamed_from {
            tx.rename_part(id, &row.name).await?;
            trail.add(TrailAct::PartChanged, subject.clone(), from.as_str(), row.name.as_str(), why.clone());
        }
        if let Some((from, level)) = &step.placed {
            tx.set_bin_and_level(id, row.yard_id, &row.bin, *level).await?;
            trail.add(TrailAct::PartPlaced, subject, from.as_str(), row.bin.as_str(), why);
        }
        trail.write(tx, &format!("part {id}")).await?;
        if let Some((quantity, value)) = step.receipt {
            let note = said!("import-receipt-note").kept();
            let movement = workshop.ambient.id();
            receive_in(workshop, tx, actor, movement, id, row.yard_id, quantity, value, &note).await?;
        }
    }
    Ok(())
}
