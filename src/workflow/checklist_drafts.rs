//! A supervisor edits a checklist: a draft of their own, part by part, until nothing is wrong with it and it becomes the
//! next version.

use super::checklists::{new_version, subject};
use super::trail::Trail;
use super::{Result, WorkflowError, Workshop, from_json, to_json};
use crate::domain::checklist_draft::{Difference, Draft, DraftFault, Edit, How, Part, differences};
use crate::domain::checklist_file::{is_key, key_of};
use crate::domain::ids::{ChecklistId, DraftId};
use crate::domain::machine::class_said;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Problem, Refusal, Thing, plain_text};
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::{ChecklistRow, DraftRow, StorageError, Tx};
use crate::words::Text;

/// A draft with what is wrong with it.
pub struct DraftPage {
    pub row: DraftRow,
    pub draft: Draft,
    pub faults: Vec<DraftFault>,
    /// The newest version of its name now; 0 for a checklist that has none.
    pub newest: i64,
    /// What is different from the version it began from; empty for a checklist that has none.
    pub differences: Vec<Difference>,
    /// Titles of other checklists in use for its classes, whose place it would take.
    pub takes_the_place_of: Vec<Text>,
}

/// Goes on with one's own draft of this checklist, or begins one from this version.
pub async fn edit_checklist(workshop: &Workshop, actor: &Actor, id: ChecklistId) -> Result<DraftId> {
    actor.must(Act::SetUpChecklists)?;
    let mut tx = workshop.db.begin().await?;
    let row = tx.checklist(id).await?.ok_or(Refusal::NotFound(Thing::Checklist))?;
    if let Some(begun) = tx.draft_named(actor.id, &row.name).await? {
        return Ok(begun.id);
    }
    let draft = read_back(&row)?;
    let newest = tx.newest_version(&row.name).await?;
    begin(workshop, tx, actor, &draft, Some(row.id), newest).await
}

/// Begins a checklist of its own: a copy of another one's walk and rules, or from nothing.
pub async fn copy_checklist(
    workshop: &Workshop,
    actor: &Actor,
    of: Option<ChecklistId>,
    title: &str,
    classes: &str,
) -> Result<DraftId> {
    actor.must(Act::SetUpChecklists)?;
    let title = plain_text("/title", said!("what-title"), title, 100)?;
    let classes = classes_of(classes);
    if classes.is_empty() {
        return Err(Refusal::invalid("/classes", said!("checklist-a-class")).into());
    }
    let name = key_of(&title);
    if !is_key(&name) {
        return Err(Refusal::invalid("/title", said!("checklist-title-too-long")).into());
    }
    let mut tx = workshop.db.begin().await?;
    let taken = tx.newest_version(&name).await? > 0 || tx.draft_named(actor.id, &name).await?.is_some();
    if taken {
        return Err(Refusal::invalid("/title", said!("checklist-title-taken", name = name)).into());
    }
    let draft = match of {
        Some(id) => {
            let row = tx.checklist(id).await?.ok_or(Refusal::NotFound(Thing::Checklist))?;
            read_back(&row)?.copied_as(&name, &title, classes)
        }
        None => Draft::empty(&name, &title, classes),
    };
    begin(workshop, tx, actor, &draft, None, 0).await
}

/// One's own drafts, the one last changed first.
pub async fn my_drafts(workshop: &Workshop, actor: &Actor) -> Result<Vec<(DraftRow, Draft)>> {
    actor.must(Act::SetUpChecklists)?;
    let rows = workshop.db.read().await?.drafts_of(actor.id).await?;
    rows.into_iter().map(|row| Ok((row.clone(), from_json(&row.body)?))).collect()
}

pub async fn draft_page(workshop: &Workshop, actor: &Actor, id: DraftId) -> Result<DraftPage> {
    let mut tx = workshop.db.read().await?;
    let (row, draft) = own(&mut tx, actor, id).await?;
    let before = match row.based_on {
        Some(based_on) => tx.checklist(based_on).await?.map(|r| read_back(&r)).transpose()?,
        None => None,
    };
    let mut takes_the_place_of = Vec::new();
    for class in &draft.classes {
        let other = tx.checklist_for_class(class).await?.filter(|r| r.name != draft.name);
        takes_the_place_of.extend(
            other.map(|r| said!("checklist-title-for-class", title = r.title, class = class_said(class))),
        );
    }
    Ok(DraftPage {
        faults: draft.ready().err().unwrap_or_default(),
        newest: tx.newest_version(&row.name).await?,
        differences: before.map(|b| differences(&b, &draft)).unwrap_or_default(),
        takes_the_place_of,
        row,
        draft,
    })
}

/// Changes one part, if the draft is still as it was when the form was shown. Answers the part.
pub async fn change_draft(
    workshop: &Workshop,
    actor: &Actor,
    id: DraftId,
    version: i64,
    edit: Edit,
) -> Result<Part> {
    let mut tx = workshop.db.begin().await?;
    let (row, mut draft) = own(&mut tx, actor, id).await?;
    unchanged(&row, version)?;
    let part = draft.edit(edit)?;
    let body = to_json(&draft)?;
    if body.len() > LARGEST_DRAFT {
        return Err(Refusal::conflict(said!("checklist-too-long")).into());
    }
    tx.save_draft(&row, &body, workshop.ambient.now()).await?;
    tx.commit().await?;
    Ok(part)
}

/// Makes the draft the next version, if nothing is wrong with it. `newest` is the newest version that whoever saves was
/// shown: one that came since is never passed over unseen.
pub async fn save_draft(
    workshop: &Workshop,
    actor: &Actor,
    id: DraftId,
    version: i64,
    newest: i64,
) -> Result<(ChecklistId, i64)> {
    let mut tx = workshop.db.begin().await?;
    let (row, draft) = own(&mut tx, actor, id).await?;
    unchanged(&row, version)?;
    let ready = draft.ready().map_err(|faults| Refusal::Invalid {
        problems: faults
            .into_iter()
            .map(|f| {
                let part = Text::each(|lang| draft.called(f.part, lang));
                let sentence = said!("draft-fault-of", part = part, fault = f.sentence);
                Problem::new(format!("/parts/{}/{}", f.part, f.field), sentence)
            })
            .collect(),
    })?;
    let before = tx.newest_version(&row.name).await?;
    if before != newest {
        return Err(Refusal::conflict(said!("draft-newer-version", version = before)).into());
    }
    let replaced = match row.based_on {
        Some(based_on) => tx.checklist(based_on).await?.map(|r| read_back(&r)).transpose()?,
        None => None,
    };
    let why =
        replaced.map(|b| in_short(&differences(&b, &draft))).unwrap_or_else(|| said!("trail-new-checklist"));
    let made =
        new_version(workshop, &mut tx, actor, &ready.source, &ready.checklist, TrailAct::ChecklistSaved, why)
            .await?;
    tx.delete_draft(&row).await?;
    tx.commit().await?;
    Ok(made)
}

pub async fn discard_draft(workshop: &Workshop, actor: &Actor, id: DraftId, version: i64) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    let (row, _) = own(&mut tx, actor, id).await?;
    unchanged(&row, version)?;
    tx.delete_draft(&row).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    trail.add(TrailAct::DraftDiscarded, subject(&row.name), TrailState::Draft, "", "");
    trail.write(&mut tx, &subject(&row.name)).await?;
    tx.commit().await?;
    Ok(())
}

/// What is different between two versions.
pub async fn compare_checklists(
    workshop: &Workshop,
    actor: &Actor,
    before: ChecklistId,
    after: ChecklistId,
) -> Result<(ChecklistRow, ChecklistRow, Vec<Difference>)> {
    actor.must(Act::SubmitCheck)?;
    let mut tx = workshop.db.read().await?;
    let before = tx.checklist(before).await?.ok_or(Refusal::NotFound(Thing::Checklist))?;
    let after = tx.checklist(after).await?.ok_or(Refusal::NotFound(Thing::Checklist))?;
    let found = differences(&read_back(&before)?, &read_back(&after)?);
    Ok((before, after, found))
}

/// The classes as somebody types them: "quad, buggy".
pub fn classes_of(typed: &str) -> Vec<String> {
    let classes = typed.split([',', '\n']).map(|c| c.trim().to_lowercase());
    classes.filter(|c| !c.is_empty()).collect()
}

const LARGEST_DRAFT: usize = 1024 * 1024;

async fn begin(
    workshop: &Workshop,
    mut tx: Tx,
    actor: &Actor,
    draft: &Draft,
    based_on: Option<ChecklistId>,
    based_on_version: i64,
) -> Result<DraftId> {
    let now = workshop.ambient.now();
    let row = DraftRow {
        id: workshop.ambient.id(),
        owner_id: actor.id,
        name: draft.name.clone(),
        based_on,
        based_on_version,
        body: to_json(draft)?,
        version: 1,
        created_at: now,
        changed_at: now,
    };
    tx.insert_draft(&row).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::DraftBegun, subject(&row.name), "", TrailState::Draft, "");
    trail.write(&mut tx, &subject(&row.name)).await?;
    tx.commit().await?;
    Ok(row.id)
}

/// A draft is changed by whoever began it: two people at one draft would undo each other's work.
pub(super) async fn own(tx: &mut Tx, actor: &Actor, id: DraftId) -> Result<(DraftRow, Draft)> {
    actor.must(Act::SetUpChecklists)?;
    let row = tx.draft(id).await?.ok_or(Refusal::NotFound(Thing::Draft))?;
    if row.owner_id != actor.id {
        return Err(Refusal::Forbidden(said!("draft-somebody-elses")).into());
    }
    let draft = from_json(&row.body)?;
    Ok((row, draft))
}

fn unchanged(row: &DraftRow, version: i64) -> Result<()> {
    if row.version == version { Ok(()) } else { Err(WorkflowError::Storage(StorageError::Changed)) }
}

fn read_back(row: &ChecklistRow) -> Result<Draft> {
    let unreadable = || StorageError::Unreadable(format!("checklist {} version {}", row.name, row.version));
    Ok(Draft::from_file(&row.source).ok_or_else(unreadable)?)
}

/// For the trail: what, without the wording. The versions themselves are kept.
fn in_short(found: &[Difference]) -> Text {
    const MOST: usize = 8;
    let tell = |d: &Difference| match d.how {
        How::Added => said!("trail-part-added", what = d.what),
        How::Removed => said!("trail-part-removed", what = d.what),
        How::Changed => said!("trail-part-changed", what = d.what),
    };
    let mut told: Vec<Text> = found.iter().take(MOST).map(tell).collect();
    if found.len() > MOST {
        told.push(said!("trail-and-more", more = found.len() - MOST));
    }
    if told.is_empty() { said!("trail-nothing-changed") } else { Text::joined(&told, "; ") }
}
