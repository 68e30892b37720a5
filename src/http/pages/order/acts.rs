//! What the forms of the work order's page ask for.

use actix_web::{HttpRequest, web};

use super::{answer, zone};
use crate::domain::ids::{DefectId, MachineId, MovementId, PartId, ReservationId, WorkOrderId};
use crate::domain::person::{Act, Actor};
use crate::domain::reading::RawAnswer;
use crate::domain::work_order::WaitingFor;
use crate::http::Site;
use crate::http::pages::form::Form;
use crate::http::pages::meter::reading_if_given;
use crate::http::pages::typed::refused;
use crate::http::pages::{Page, local_time, see_other};
use crate::http::session::{Signed, here_of};
use crate::workflow::{self, DefectDone, Fitting, Here, RetestAnswers, WorkflowError};

type Order = web::Path<WorkOrderId>;
type Shared = web::Data<Site>;

pub async fn claim(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared) -> Page {
    let outcome = workflow::claim(&site.workshop, &actor, *id).await.map(|()| "claimed");
    answer(&site, &req, &actor, *id, ("claim", Form::default()), outcome).await
}

pub async fn hand_back(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared) -> Page {
    let page = workflow::order_page(&site.workshop, &actor, *id).await?;
    let ran = page.labour.iter().any(|l| l.mechanic_id == actor.id && l.ended_at.is_none());
    let done = if ran { "handed-back-stopped" } else { "handed-back" };
    let outcome = workflow::hand_back(&site.workshop, &actor, *id).await.map(|()| done);
    answer(&site, &req, &actor, *id, ("claim", Form::default()), outcome).await
}

pub async fn start(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared) -> Page {
    let outcome = workflow::start_labour(&site.workshop, &actor, *id).await.map(|()| "started");
    answer(&site, &req, &actor, *id, ("time", Form::default()), outcome).await
}

pub async fn stop(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared) -> Page {
    let outcome = workflow::stop_labour(&site.workshop, &actor, *id).await.map(|()| "stopped");
    answer(&site, &req, &actor, *id, ("time", Form::default()), outcome).await
}

/// Time entered afterwards, in the yard's own time.
pub async fn labour(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared, form: Form) -> Page {
    // Whoever may not is told so, not asked to mend the form.
    actor.must(Act::WorkOnOrder)?;
    let zone = zone(&site, &actor, *id).await?;
    let time =
        |field| local_time::moment(form.text(field), &zone).map_err(|sentence| refused(field, sentence));
    let outcome = match (time("from"), time("to")) {
        (Ok(from), Ok(to)) => {
            workflow::enter_labour(&site.workshop, &actor, *id, from, to).await.map(|()| "entered")
        }
        (Err(e), _) | (_, Err(e)) => Err(e),
    };
    answer(&site, &req, &actor, *id, ("labour", form), outcome).await
}

pub async fn parts(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared, form: Form) -> Page {
    actor.must(Act::SeeStore)?;
    let outcome = move_part(&site, &actor, *id, &form).await;
    answer(&site, &req, &actor, *id, ("parts", form), outcome).await
}

async fn move_part(
    site: &Site,
    actor: &Actor,
    id: WorkOrderId,
    form: &Form,
) -> Result<&'static str, WorkflowError> {
    let part: PartId = form.text("part").parse().map_err(|_| refused("part", said!("order-refuse-part")))?;
    let (workshop, quantity) = (&site.workshop, form.text("quantity"));
    let once: uuid::Uuid = form.text("once").parse().unwrap_or_else(|_| workshop.ambient.id());
    match form.text("act") {
        "reserve" => {
            let once = ReservationId(once);
            let taken = workflow::reserve_part_once(workshop, actor, once, id, part, quantity).await?;
            Ok(if taken.lacking.0 > 0 { "lacking" } else { "reserved" })
        }
        "issue" => workflow::move_part_once(workshop, actor, MovementId(once), id, part, quantity, false)
            .await
            .map(|()| "issued"),
        "return" => workflow::move_part_once(workshop, actor, MovementId(once), id, part, quantity, true)
            .await
            .map(|()| "returned"),
        _ => Err(refused("act", said!("order-refuse-act"))),
    }
}

pub async fn wait(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared, form: Form) -> Page {
    actor.must(Act::WorkOnOrder)?;
    let zone = zone(&site, &actor, *id).await?;
    let what: Result<WaitingFor, _> = form.text("waiting_for").parse();
    let what = what.map_err(|_| refused("waiting_for", said!("order-refuse-waiting-for")));
    let until = local_time::day(form.text("until"), &zone).map_err(|sentence| refused("until", sentence));
    let outcome = match (what, until) {
        (Ok(what), Ok(until)) => {
            let note = form.text("note");
            workflow::wait_for(&site.workshop, &actor, *id, what, until, note).await.map(|()| "waiting")
        }
        (Err(e), _) | (_, Err(e)) => Err(e),
    };
    answer(&site, &req, &actor, *id, ("wait", form), outcome).await
}

/// One cause and remedy for each defect named in the form.
pub async fn finish(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared, form: Form) -> Page {
    let done = form
        .all("defect")
        .filter_map(|d| d.parse::<DefectId>().ok())
        .map(|defect| DefectDone {
            defect,
            cause: form.text(&format!("defects-{defect}-cause")).to_owned(),
            remedy: form.text(&format!("defects-{defect}-remedy")).to_owned(),
            no_fault_found: form.has(&format!("defects-{defect}-none")),
            part_replaced: form.has(&format!("defects-{defect}-new")),
        })
        .collect();
    let outcome = match reading_if_given(&form) {
        Ok(meter) => workflow::finish_work_fitting(&site.workshop, &actor, *id, done, fittings(&form), meter)
            .await
            .map(|()| "done"),
        Err(e) => Err(e),
    };
    answer(&site, &req, &actor, *id, ("finish", form), outcome).await
}

/// The issued parts that the form says were fitted: those with a quantity.
fn fittings(form: &Form) -> Vec<Fitting> {
    let mut all = Vec::new();
    for defect in form.all("defect").filter_map(|d| d.parse::<DefectId>().ok()) {
        for part in form.all(&format!("fitted-{defect}")).filter_map(|p| p.parse::<PartId>().ok()) {
            let text = |field: &str| form.text(&format!("fitted-{defect}-{part}-{field}")).to_owned();
            let (quantity, serial, batch) = (text("quantity"), text("serial"), text("batch"));
            // A number without a quantity is asked about, not dropped.
            if [&quantity, &serial, &batch].iter().any(|t| !t.trim().is_empty()) {
                all.push(Fitting { defect, part, quantity, serial, batch });
            }
        }
    }
    all
}

pub async fn retest(
    Signed(actor): Signed,
    req: HttpRequest,
    path: web::Path<(WorkOrderId, DefectId)>,
    site: Shared,
    form: Form,
) -> Page {
    let (id, defect) = path.into_inner();
    let given = RetestAnswers {
        answers: answers(&form),
        fault_gone: match form.text("fault_gone") {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        },
        tried: form.text("tried").to_owned(),
        air_temperature: Some(form.text("air_temperature").to_owned()).filter(|t| !t.trim().is_empty()),
        air_unit: Some(form.text("air_unit").to_owned()).filter(|t| !t.is_empty()),
    };
    let outcome = workflow::retest(&site.workshop, &actor, id, defect, given)
        .await
        .map(|r| if r.passed { "retest-passed" } else { "retest-failed" });
    answer(&site, &req, &actor, id, (&format!("retest-{defect}"), form), outcome).await
}

/// The items of the retest form, in its order: a refusal points at them by number.
fn answers(form: &Form) -> Vec<RawAnswer> {
    (0..)
        .map_while(|n| {
            let field = |member: &str| {
                let text = form.text(&format!("answers-{n}-{member}")).trim();
                (!text.is_empty()).then(|| text.to_owned())
            };
            let item = field("item")?;
            Some(RawAnswer {
                item: Some(item),
                position: field("position"),
                // “Measured” is no outcome of its own: the figure decides.
                outcome: field("outcome").filter(|o| o != "measured"),
                level: field("level"),
                // A figure left in the field does not stand beside “cannot be measured”.
                value: field("value").filter(|_| form.text(&format!("answers-{n}-outcome")) != "defect"),
                unit: field("unit"),
                note: field("note"),
                ..RawAnswer::default()
            })
        })
        .collect()
}

pub async fn release(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared, form: Form) -> Page {
    actor.must_have_role_for(Act::Release)?;
    let outcome = if form.has("confirm") {
        released(&site, &actor, &here_of(&req), *id, &form).await
    } else {
        Err(refused("confirm", said!("order-refuse-confirm")))
    };
    answer(&site, &req, &actor, *id, ("release", form), outcome).await
}

async fn released(
    site: &Site,
    actor: &Actor,
    here: &Here,
    id: WorkOrderId,
    form: &Form,
) -> Result<&'static str, WorkflowError> {
    let workshop = &site.workshop;
    let signer = workflow::to_sign(workshop, actor, here, form.text("password")).await?;
    let released = workflow::release(workshop, &signer, id, form.text("note")).await?;
    Ok(if released.fit_for_use { "released" } else { "released-still-held" })
}

pub async fn cancel(Signed(actor): Signed, req: HttpRequest, id: Order, site: Shared, form: Form) -> Page {
    let outcome =
        workflow::cancel_order(&site.workshop, &actor, *id, form.text("reason")).await.map(|()| "cancelled");
    answer(&site, &req, &actor, *id, ("cancel", form), outcome).await
}

/// Opens a work order for a machine's open defects, or leads to the one there is.
pub async fn open(Signed(actor): Signed, id: web::Path<MachineId>, site: Shared) -> Page {
    let order = workflow::open_order(&site.workshop, &actor, *id).await?;
    see_other(&format!("/work-orders/{order}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_keep_the_order_of_the_form() {
        let sent = "answers-0-item=pad&answers-0-position=front-left&answers-0-outcome=measured&answers-0-value=6\
            &answers-0-unit=mm&answers-1-item=pedal&answers-1-outcome=ok&answers-2-item=tyre&answers-2-outcome=defect\
            &answers-2-value=90";
        let answers = answers(&Form::urlencoded(sent.as_bytes()).unwrap());
        assert_eq!(answers.len(), 3);
        assert_eq!(answers[0].position.as_deref(), Some("front-left"));
        assert_eq!((answers[0].outcome.as_deref(), answers[0].value.as_deref()), (None, Some("6")));
        assert_eq!(answers[1].outcome.as_deref(), Some("ok"));
        assert_eq!((answers[2].outcome.as_deref(), answers[2].value.as_deref()), (Some("defect"), None));
    }
}
