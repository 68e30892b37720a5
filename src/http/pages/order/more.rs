//! What the work order's page shows beside the order: what is foreseen, earlier repairs, notes, photos, and the machine's
//! other orders; and the forms that belong to it.

use actix_web::{HttpRequest, web};
use chrono::{DateTime, Utc};

use super::answer;
use crate::domain::ids::{DefectId, WorkOrderId};
use crate::domain::person::{Act, Actor};
use crate::domain::standing::Standing;
use crate::domain::work_order::{OrderState, OrderWord};
use crate::http::Site;
use crate::http::pages::Page;
use crate::http::pages::foreseen::{Foreseen, foreseen};
use crate::http::pages::form::Form;
use crate::http::pages::shown::{When, quantity, when};
use crate::http::pages::typed::refused;
use crate::http::pages::waiting::dated;
use crate::http::session::Signed;
use crate::workflow::{self, EarlierRow, OrderPage, PhotoOf, WorkflowError};

pub struct MoreView {
    pub foreseen: Foreseen,
    /// Nothing is foreseen of it, for it stands too far back in the queue.
    pub too_far_back: bool,
    /// Systems that only the skilled work on; empty for none.
    pub skilled_in: String,
    /// Whoever has it lacks the skill that it asks for by now.
    pub claimant_lacks: bool,
    /// What it lacks while nothing says that it waits; empty for nothing.
    pub lacks: String,
    pub notes: Vec<(When, String, String)>,
    pub photos: Vec<String>,
    /// How many repairs outside there were; they have a page of their own.
    pub outside: usize,
    pub away_with: String,
    pub earlier: Vec<EarlierView>,
    /// Id and number of the machine's other open orders.
    pub others: Vec<(String, i64, String)>,
    /// Open defects that can be split off.
    pub splits: Vec<(String, String)>,
    pub may_note: bool,
    pub may_merge: bool,
    pub may_pin: bool,
    pub pinned: bool,
    pub may_see_outside: bool,
}

pub struct EarlierView {
    pub what: String,
    pub on_machine: Vec<Past>,
    pub on_class: Vec<Past>,
    /// Cause, remedy, and how often.
    pub fixed_by: Vec<(String, String, i64)>,
    pub parts: Vec<UsedPart>,
}

pub struct Past {
    pub href: String,
    pub unit_number: String,
    pub at: When,
    pub done: String,
}

pub struct UsedPart {
    pub id: String,
    pub name: String,
    pub number: String,
    pub quantity: String,
    pub figure: String,
    pub times: i64,
}

impl MoreView {
    pub fn new(actor: &Actor, o: &OrderPage, now: DateTime<Utc>) -> Self {
        let zone = &o.yard.zone;
        let supervises = actor.may(Act::CancelWorkOrder);
        let changes = o.state.is_taking() && (supervises || (o.mine && actor.may(Act::WorkOnOrder)));
        let open: Vec<_> = o.defects.iter().filter(|d| d.defect.closed_at.is_none()).collect();
        let past = |e: &EarlierRow| Past {
            href: format!("/defects/{}", e.defect_id),
            unit_number: e.unit_number.clone(),
            at: when(e.closed_at, zone, now),
            done: if e.no_fault_found {
                t!("order-no-fault-found")
            } else {
                t!("order-cause-then-remedy", cause = e.cause, remedy = e.remedy)
            },
        };
        let m = &o.more;
        Self {
            foreseen: m
                .forecast
                .as_ref()
                .map(|f| foreseen(&f.said, o.standing == Standing::OutOfService, zone, now))
                .unwrap_or_default(),
            too_far_back: m.too_far_back,
            skilled_in: m.skill.as_ref().map(|s| s.systems.to_string()).unwrap_or_default(),
            claimant_lacks: o.state.claimant().is_some() && m.skill.as_ref().is_some_and(|s| !s.of_claimant),
            lacks: if m.lacking.is_empty() || matches!(o.state, OrderState::Waiting { .. }) {
                String::new()
            } else {
                let note = workflow::lacking_in_words(&m.lacking);
                dated(&note, workflow::last_expected(&m.lacking), zone, now)
            },
            notes: m
                .notes
                .iter()
                .map(|n| (when(n.at, zone, now), n.by_name.clone(), n.note.clone()))
                .collect(),
            photos: m.photos.iter().map(|p| format!("/photos/{}", p.id)).collect(),
            outside: m.outside.len(),
            away_with: m.outside.iter().find(|r| r.is_away()).map(|r| r.vendor.clone()).unwrap_or_default(),
            earlier: m
                .earlier
                .iter()
                .map(|e| EarlierView {
                    what: e.what.to_string(),
                    on_machine: e.on_machine.iter().map(past).collect(),
                    on_class: e.on_class.iter().map(past).collect(),
                    fixed_by: e
                        .fixed_by
                        .iter()
                        .map(|f| (f.cause.clone(), f.remedy.clone(), f.times))
                        .collect(),
                    parts: e
                        .parts
                        .iter()
                        .map(|p| UsedPart {
                            id: p.part_id.to_string(),
                            name: p.name.clone(),
                            number: p.number.clone(),
                            quantity: quantity(p.most_taken, &p.unit),
                            figure: crate::domain::store::Quantity(p.most_taken).to_string(),
                            times: p.times,
                        })
                        .collect(),
                })
                .collect(),
            others: m.others.iter().map(|w| (w.id.to_string(), w.number, w.word().here())).collect(),
            splits: if changes && open.len() > 1 {
                open.iter().map(|d| (d.defect.id.to_string(), d.defect.what.to_string())).collect()
            } else {
                Vec::new()
            },
            may_note: actor.may(Act::SeeQueue),
            may_merge: changes && m.others.iter().any(|w| w.word() != OrderWord::WorkDone),
            may_pin: actor.may(Act::PinWorkOrder) && o.state.is_taking(),
            pinned: o.order.pin_rank.is_some(),
            may_see_outside: actor.may(Act::SeeQueue) && (o.state.is_taking() || !m.outside.is_empty()),
        }
    }
}

type Order = web::Path<WorkOrderId>;
type Shared = web::Data<Site>;

pub async fn note(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared, form: Form) -> Page {
    let once = form.text("once").parse().unwrap_or_else(|_| site.workshop.ambient.id());
    let outcome =
        workflow::note_on_order(&site.workshop, &actor, *id, once, form.text("note")).await.map(|()| "noted");
    answer(&site, &req, &actor, *id, ("notes", form), outcome).await
}

pub async fn photo(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared, form: Form) -> Page {
    actor.must(Act::SeeQueue)?;
    // Whoever may not see the order learns so before a picture is kept.
    workflow::order_page(&site.workshop, &actor, *id).await?;
    let outcome = keep_photo(&site, &actor, *id, &form).await;
    answer(&site, &req, &actor, *id, ("photos", form), outcome).await
}

async fn keep_photo(
    site: &Site,
    actor: &Actor,
    id: WorkOrderId,
    form: &Form,
) -> Result<&'static str, WorkflowError> {
    let file = form.files.iter().find(|f| f.field == "photo");
    let file = file.ok_or_else(|| refused("photo", said!("order-choose-photo")))?;
    let stored = site.photos.keep(file.bytes.clone()).await.map_err(|e| {
        tracing::warn!(error = %e, order = %id, "a photo was not kept");
        refused("photo", said!("order-photo-not-kept"))
    })?;
    workflow::attach_photo(&site.workshop, actor, PhotoOf::Order(id), stored).await?;
    Ok("photo-kept")
}

pub async fn split(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared, form: Form) -> Page {
    actor.must(Act::SeeQueue)?;
    workflow::order_page(&site.workshop, &actor, *id).await?;
    let outcome = match form.text("defect").parse::<DefectId>() {
        Ok(defect) => workflow::split_order(&site.workshop, &actor, *id, defect).await.map(|_| "split"),
        Err(_) => Err(refused("defect", said!("order-choose-defect"))),
    };
    answer(&site, &req, &actor, *id, ("split", form), outcome).await
}

pub async fn merge(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared, form: Form) -> Page {
    actor.must(Act::SeeQueue)?;
    workflow::order_page(&site.workshop, &actor, *id).await?;
    let outcome = match form.text("other").parse::<WorkOrderId>() {
        Ok(other) => workflow::merge_orders(&site.workshop, &actor, *id, other).await.map(|()| "merged"),
        Err(_) => Err(refused("other", said!("order-choose-order"))),
    };
    answer(&site, &req, &actor, *id, ("merge", form), outcome).await
}
