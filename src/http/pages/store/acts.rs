//! What the forms of a part's page ask for.

use actix_web::{HttpRequest, web};

use super::view::show;
use super::yard_of_form;
use crate::domain::ids::{PartId, YardId};
use crate::domain::person::{Act, Actor};
use crate::http::Site;
use crate::http::pages::form::Form;
use crate::http::pages::typed::{Typed, refused};
use crate::http::pages::{Page, local_time, see_other};
use crate::http::session::Signed;
use crate::workflow::{self, Adjustment, NewSupply, WorkflowError};

type Id = web::Path<PartId>;
type Shared = web::Data<Site>;

pub async fn receive(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    let yard = yard(&site, &actor, &form).await?;
    let (quantity, value, note) = (form.text("quantity"), form.text("value"), form.text("note"));
    let once = once(&site, &form);
    let outcome =
        workflow::receive_part_once(&site.workshop, &actor, once, *id, yard, quantity, value, note).await;
    after(&site, &req, &actor, *id, yard, ("receive", form), outcome.map(|()| "received")).await
}

pub async fn ordered(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    let yard = yard(&site, &actor, &form).await?;
    let zone = local_time::zone_of(&site, &actor).await?;
    let outcome = match local_time::day(form.text("at"), &zone) {
        Ok(at) => {
            let once = once(&site, &form);
            workflow::order_part(&site.workshop, &actor, once, *id, yard, form.text("quantity"), at).await
        }
        Err(sentence) => Err(refused("at", sentence)),
    };
    if outcome.is_ok() && form.text("back") == "reorder" {
        return see_other("/store/reorder?done=ordered");
    }
    after(&site, &req, &actor, *id, yard, ("ordered", form), outcome.map(|()| "ordered")).await
}

/// Another day for what is on its way, or that it will not come.
pub async fn on_order(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    let yard = yard(&site, &actor, &form).await?;
    let zone = local_time::zone_of(&site, &actor).await?;
    let which = form.text("on_order").parse();
    let outcome = match (which, local_time::day(form.text("at"), &zone), form.text("act")) {
        (Err(_), ..) => Err(refused("on_order", said!("stock-not-on-order"))),
        (Ok(which), _, "drop") => workflow::drop_on_order(&site.workshop, &actor, *id, which).await,
        (Ok(which), Ok(at), _) => workflow::expect_part(&site.workshop, &actor, *id, which, at).await,
        (Ok(_), Err(sentence), _) => Err(refused("at", sentence)),
    };
    after(&site, &req, &actor, *id, yard, ("on-order", form), outcome.map(|()| "saved")).await
}

pub async fn adjust(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    let yard = yard(&site, &actor, &form).await?;
    let asked = Adjustment {
        id: once(&site, &form),
        part: *id,
        yard,
        change: form.text("change"),
        reason: form.text("reason").parse().ok(),
        note: form.text("note"),
    };
    let outcome = workflow::adjust_stock(&site.workshop, &actor, asked).await;
    after(&site, &req, &actor, *id, yard, ("adjust", form), outcome.map(|()| "saved")).await
}

pub async fn transfer(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    let yard = yard(&site, &actor, &form).await?;
    let outcome = match form.text("to").parse() {
        Ok(to) => {
            let (once, quantity, note) = (once(&site, &form), form.text("quantity"), form.text("note"));
            workflow::transfer_stock(&site.workshop, &actor, once, *id, (yard, to), quantity, note).await
        }
        Err(_) => Err(refused("to", said!("stock-which-yard"))),
    };
    after(&site, &req, &actor, *id, yard, ("transfer", form), outcome.map(|()| "transferred")).await
}

pub async fn place(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    let yard = yard(&site, &actor, &form).await?;
    let (bin, level) = (form.text("bin"), form.text("level"));
    let outcome = workflow::place_part(&site.workshop, &actor, *id, yard, bin, level).await;
    after(&site, &req, &actor, *id, yard, ("place", form), outcome.map(|()| "saved")).await
}

pub async fn supply(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    let yard = yard(&site, &actor, &form).await?;
    let text = |name| form.text(name).to_owned();
    let new = NewSupply {
        supplier: text("supplier"),
        price: text("price"),
        minimum_order: text("minimum_order"),
        pack: text("pack"),
        lead_days: text("lead_days"),
    };
    let outcome = workflow::set_supply(&site.workshop, &actor, *id, new).await;
    after(&site, &req, &actor, *id, yard, ("supply", form), outcome.map(|()| "saved")).await
}

/// Whoever may not is told so, not asked to mend the form.
async fn yard(site: &Site, actor: &Actor, form: &Form) -> Result<YardId, WorkflowError> {
    actor.must(Act::ReceiveParts)?;
    yard_of_form(site, actor, form).await
}

/// The id that the form carries, so that a double tap does it once.
fn once<T: From<uuid::Uuid>>(site: &Site, form: &Form) -> T {
    T::from(form.text("once").parse().unwrap_or_else(|_| site.workshop.ambient.id()))
}

async fn after(
    site: &Site,
    req: &HttpRequest,
    actor: &Actor,
    id: PartId,
    yard: YardId,
    (name, form): (&str, Form),
    outcome: Result<&str, WorkflowError>,
) -> Page {
    match outcome {
        Ok(done) => see_other(&format!("/store/{id}?yard={yard}&done={done}")),
        Err(e) => show(site, req, actor, id, Some(yard), Typed::not_taken(name, form, e)?).await,
    }
}
