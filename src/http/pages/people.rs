//! People: who works here, in which roles and yards. For the owner.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::form::Form;
use super::frame::Frame;
use super::shown::amount;
use super::typed::{Typed, refused};
use super::{Page, page, page_with, see_other};
use crate::domain::ids::PersonId;
use crate::domain::money;
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, NewPerson, WorkflowError};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/people", web::get().to(people));
    cfg.route("/set-up/people", web::post().to(add));
    cfg.route("/set-up/people/{id}", web::get().to(person));
    cfg.route("/set-up/people/{id}", web::post().to(change));
    cfg.route("/set-up/people/{id}/disable", web::post().to(disable));
    cfg.route("/set-up/people/{id}/invite", web::post().to(invite));
}

struct Person {
    href: String,
    name: String,
    email: String,
    roles: String,
    yards: String,
    rate: String,
    state: String,
}

/// A box of a form with what it stands for.
struct Choice {
    value: String,
    words: String,
    chosen: bool,
}

#[derive(Template)]
#[template(path = "people.html", config = ".askama.toml")]
struct PeoplePage {
    page: Frame,
    t: Typed,
    people: Vec<Person>,
    roles: Vec<Choice>,
    yards: Vec<Choice>,
    rate_words: String,
    email: String,
    /// For the form's fields, which it shares with the page of one person.
    was: Was,
}

#[derive(Template)]
#[template(path = "person.html", config = ".askama.toml")]
struct PersonPage {
    page: Frame,
    t: Typed,
    here: String,
    roles: Vec<Choice>,
    yards: Vec<Choice>,
    rate_words: String,
    was: Was,
    state_sentence: String,
    disabled: bool,
    has_second_step: bool,
    /// Of the one who asks, for browsers that fill in passwords.
    email: String,
    oneself: bool,
}

#[derive(Default)]
struct Was {
    name: String,
    email: String,
    rate: String,
}

#[derive(Template)]
#[template(path = "person_link.html", config = ".askama.toml")]
struct LinkPage {
    page: Frame,
    name: String,
    link: String,
}

async fn people(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>) -> Page {
    show(&site, &req, &actor, Typed::nothing()).await
}

async fn show(site: &Site, req: &HttpRequest, actor: &Actor, t: Typed) -> Page {
    let everybody = workflow::people(&site.workshop, actor).await?;
    let yards = workflow::yards(&site.workshop, actor).await?;
    let view = PeoplePage {
        page: Frame::new(req, Some(actor)),
        people: everybody
            .iter()
            .map(|(p, roles, at)| {
                let names: Vec<&str> =
                    yards.iter().filter(|y| at.contains(&y.id)).map(|y| y.name.as_str()).collect();
                Person {
                    href: format!("/set-up/people/{}", p.id),
                    name: p.name.clone(),
                    email: p.email.clone(),
                    yards: if roles.contains(&Role::Owner) {
                        t!("people-all-yards")
                    } else {
                        names.join(", ")
                    },
                    roles: roles.iter().map(|r| r.here()).collect::<Vec<_>>().join(", "),
                    rate: if p.rate_minor == 0 {
                        String::new()
                    } else {
                        amount(p.rate_minor, &site.workshop.currency)
                    },
                    state: state(p),
                }
            })
            .collect(),
        roles: roles(&[]),
        yards: yards
            .iter()
            .map(|y| Choice { value: y.id.to_string(), words: y.name.clone(), chosen: yards.len() == 1 })
            .collect(),
        rate_words: rate_words(site),
        email: workflow::my_email(&site.workshop, actor).await?,
        was: Was::default(),
        t,
    };
    page_with(view.t.status, &view)
}

fn state(p: &workflow::PersonRow) -> String {
    match (p.disabled_at, &p.password_hash) {
        (Some(_), _) => t!("people-disabled"),
        (None, None) => t!("people-invited"),
        (None, Some(_)) => t!("people-active"),
    }
}

fn state_sentence(p: &workflow::PersonRow) -> String {
    match (p.disabled_at, &p.password_hash) {
        (Some(_), _) => t!("people-is-disabled"),
        (None, None) => t!("people-is-invited"),
        (None, Some(_)) => t!("people-is-active"),
    }
}

fn roles(chosen: &[Role]) -> Vec<Choice> {
    Role::ALL
        .iter()
        .map(|r| Choice { value: r.to_string(), words: r.here(), chosen: chosen.contains(r) })
        .collect()
}

fn rate_words(site: &Site) -> String {
    t!("people-rate-in", currency = site.workshop.currency.as_ref())
}

fn typed_person(form: &Form) -> Result<NewPerson, WorkflowError> {
    let rate = form.text("rate").trim();
    Ok(NewPerson {
        name: form.text("name").to_owned(),
        email: form.text("email").to_owned(),
        roles: form.all("roles").filter_map(|r| r.parse().ok()).collect(),
        yards: form.all("yards").filter_map(|y| y.parse().ok()).collect(),
        rate_minor: match rate {
            "" => 0,
            text => money::parse(text).ok_or_else(|| refused("rate", said!("people-refuse-rate")))?,
        },
    })
}

async fn add(Signed(actor): Signed, req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let outcome = match proved(&site, &actor, &form).await.and_then(|()| typed_person(&form)) {
        Ok(new) => workflow::add_person(&site.workshop, &actor, new).await,
        Err(e) => Err(e),
    };
    match outcome {
        Ok((_, secret)) => link(&site, &req, &actor, form.text("name"), &secret),
        Err(e) => show(&site, &req, &actor, Typed::not_taken("person", form, e)?).await,
    }
}

/// The only time the link is shown: of its secret we keep the hash.
fn link(site: &Site, req: &HttpRequest, actor: &Actor, name: &str, secret: &str) -> Page {
    page(&LinkPage {
        page: Frame::new(req, Some(actor)),
        name: name.trim().to_owned(),
        link: format!("{}/welcome/{secret}", site.public_url),
    })
}

async fn person(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<PersonId>,
    site: web::Data<Site>,
) -> Page {
    show_person(&site, &req, &actor, *id, Typed::nothing()).await
}

pub async fn show_person(site: &Site, req: &HttpRequest, actor: &Actor, id: PersonId, t: Typed) -> Page {
    let (p, has, at) = one(site, actor, id).await?;
    let yards = workflow::yards(&site.workshop, actor).await?;
    let view = PersonPage {
        page: Frame::new(req, Some(actor)),
        here: format!("/set-up/people/{id}"),
        roles: roles(&has),
        yards: yards
            .iter()
            .map(|y| Choice { value: y.id.to_string(), words: y.name.clone(), chosen: at.contains(&y.id) })
            .collect(),
        rate_words: rate_words(site),
        state_sentence: state_sentence(&p),
        disabled: p.disabled_at.is_some(),
        has_second_step: workflow::with_second_step(&site.workshop, actor).await?.0.contains(&id),
        email: workflow::my_email(&site.workshop, actor).await?,
        oneself: id == actor.id,
        was: Was { rate: money::shown(p.rate_minor, "").trim().to_owned(), name: p.name, email: p.email },
        t,
    };
    page_with(view.t.status, &view)
}

type Found = (workflow::PersonRow, Vec<Role>, Vec<crate::domain::ids::YardId>);

async fn one(site: &Site, actor: &Actor, id: PersonId) -> Result<Found, WorkflowError> {
    let everybody = workflow::people(&site.workshop, actor).await?;
    Ok(everybody.into_iter().find(|(p, ..)| p.id == id).ok_or(Refusal::NotFound(Thing::Person))?)
}

async fn change(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<PersonId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let outcome = match proved(&site, &actor, &form).await.and_then(|()| typed_person(&form)) {
        Ok(to) => workflow::change_person(&site.workshop, &actor, *id, to).await,
        Err(e) => Err(e),
    };
    match outcome {
        Ok(()) => see_other(&format!("/set-up/people/{id}?done=saved")),
        Err(e) => show_person(&site, &req, &actor, *id, Typed::not_taken("person", form, e)?).await,
    }
}

async fn disable(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<PersonId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let disabled = form.text("disabled") == "yes";
    // Shutting out takes nothing; letting in gives rights.
    let outcome = if disabled { Ok(()) } else { proved(&site, &actor, &form).await };
    let outcome = match outcome {
        Ok(()) => workflow::disable_person(&site.workshop, &actor, *id, disabled).await,
        Err(e) => Err(e),
    };
    match outcome {
        Ok(()) => see_other(&format!("/set-up/people/{id}?done=saved")),
        Err(e) => show_person(&site, &req, &actor, *id, Typed::not_taken("disable", form, e)?).await,
    }
}

async fn invite(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<PersonId>,
    site: web::Data<Site>,
    form: Form,
) -> Page {
    let (p, ..) = one(&site, &actor, *id).await?;
    match proved(&site, &actor, &form).await {
        Ok(()) => {
            let secret = workflow::invite_again(&site.workshop, &actor, *id).await?;
            link(&site, &req, &actor, &p.name, &secret)
        }
        Err(e) => show_person(&site, &req, &actor, *id, Typed::not_taken("invite", form, e)?).await,
    }
}

/// Whoever gives rights away gives their password first: a page that was left open gives none.
async fn proved(site: &Site, actor: &Actor, form: &Form) -> Result<(), WorkflowError> {
    workflow::prove_for(&site.workshop, actor, Act::SetUpPeople, form.text("password")).await
}
