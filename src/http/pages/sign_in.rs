//! Signing in and out, the one-time link with which a person sets their password, and the way in for each role.

use actix_web::http::StatusCode;
use actix_web::http::header::LOCATION;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;

use super::error::PageError;
use super::form::Form;
use super::frame::Frame;
use super::passkeys::offered;
use super::typed::{Typed, refused};
use super::{Page, page, page_with, see_other};
use crate::domain::person::{Actor, Role};
use crate::http::session::{self, Signed};
use crate::http::{Site, language};
use crate::words::Lang;
use crate::workflow::{self, Credentials, Entered, Invitation};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/", web::get().to(first_page));
    cfg.route("/sign-in", web::get().to(form));
    cfg.route("/sign-in", web::post().to(sign_in));
    cfg.route("/sign-in/code", web::post().to(code));
    cfg.route("/sign-out", web::post().to(sign_out));
    cfg.route("/welcome/{secret}", web::get().to(welcome));
    cfg.route("/welcome/{secret}", web::post().to(accept));
}

#[derive(Template)]
#[template(path = "sign_in.html", config = ".askama.toml")]
struct SignInPage {
    page: Frame,
    t: Typed,
    to: String,
    passkeys: bool,
}

#[derive(Template)]
#[template(path = "sign_in_code.html", config = ".askama.toml")]
struct CodePage {
    page: Frame,
    t: Typed,
    to: String,
    /// Secret of the sign-in that waits.
    begun: String,
}

#[derive(Template)]
#[template(path = "welcome.html", config = ".askama.toml")]
struct WelcomePage {
    page: Frame,
    t: Typed,
    /// Empty for the very first person, who gives their own.
    name: String,
    email: String,
}

#[derive(serde::Deserialize)]
struct Asked {
    #[serde(default)]
    to: String,
}

/// Everybody begins where their question is answered.
async fn first_page(Signed(actor): Signed) -> Page {
    see_other(first_page_of(&actor))
}

fn first_page_of(actor: &Actor) -> &'static str {
    if actor.has(Role::Owner) || actor.has(Role::Supervisor) {
        "/board"
    } else if actor.has(Role::Mechanic) {
        "/queue"
    } else {
        "/machines"
    }
}

async fn form(req: HttpRequest, site: web::Data<Site>, asked: web::Query<Asked>) -> Page {
    let (to, passkeys) = (local_path(&asked.to).to_owned(), offered(&site));
    page(&SignInPage { page: Frame::new(&req, None), t: Typed::nothing(), to, passkeys })
}

async fn sign_in(req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let to = local_path(form.text("to")).to_owned();
    let given = Credentials { email: form.text("email"), password: form.text("password") };
    let device = session::device_of(&req);
    match workflow::sign_in_page_on(&site.workshop, given, site.caller(&req), device.as_deref()).await {
        Ok(Entered::In(actor, secret)) => enter(&site, &req, &actor, secret, &to).await,
        Ok(Entered::CodeFirst(begun)) => show_code(&req, begun, to, Typed::nothing()),
        Err(e) => {
            let t = Typed::not_taken("sign-in", form, e)?;
            let passkeys = offered(&site);
            page_with(t.status, &SignInPage { page: Frame::new(&req, None), t, to, passkeys })
        }
    }
}

async fn code(req: HttpRequest, site: web::Data<Site>, form: Form) -> Page {
    let (begun, to) = (form.text("begun").to_owned(), local_path(form.text("to")).to_owned());
    let (device, from) = (session::device_of(&req), site.caller(&req));
    match workflow::finish_sign_in(&site.workshop, &begun, form.text("code"), from, device.as_deref()).await {
        Ok((actor, secret)) => enter(&site, &req, &actor, secret, &to).await,
        Err(e) => show_code(&req, begun, to, Typed::not_taken("code", form, e)?),
    }
}

fn show_code(req: &HttpRequest, begun: String, to: String, t: Typed) -> Page {
    let mut page = Frame::new(req, None);
    // What was sent cannot be asked for again in another language.
    page.other_languages.clear();
    page_with(t.status, &CodePage { page, t, to, begun })
}

/// Whoever was signed in here, perhaps by PIN, is not any more.
pub async fn enter(site: &Site, req: &HttpRequest, actor: &Actor, secret: String, to: &str) -> Page {
    let lang = language_on_entry(site, req, actor).await?;
    if let Some(before) = session::secret_of(req) {
        workflow::sign_out_page(&site.workshop, &before).await?;
    }
    Ok(entered(site, secret, lang, to))
}

async fn sign_out(req: HttpRequest, site: web::Data<Site>) -> Page {
    if let Some(secret) = session::secret_of(&req) {
        workflow::sign_out_page(&site.workshop, &secret).await?;
    }
    Ok(HttpResponse::SeeOther()
        .cookie(session::no_cookie(&site))
        .insert_header((LOCATION, "/sign-in?done=signed-out"))
        .finish())
}

async fn welcome(req: HttpRequest, secret: web::Path<String>, site: web::Data<Site>) -> Page {
    let invitation = workflow::invitation_for(&site.workshop, &secret).await?;
    show_welcome(&req, &invitation, Typed::nothing(), StatusCode::OK)
}

async fn accept(req: HttpRequest, secret: web::Path<String>, site: web::Data<Site>, form: Form) -> Page {
    let invitation = workflow::invitation_for(&site.workshop, &secret).await?;
    let email = match &invitation {
        Invitation::FirstOwner => form.text("email").to_owned(),
        Invitation::Person { email, .. } => email.clone(),
    };
    let password = form.text("password");
    // Typed blind on a small keyboard: a slip would lock its owner out at once.
    let accepted = if password == form.text("again") {
        workflow::accept_invitation(&site.workshop, &secret, form.text("name"), &email, password).await
    } else {
        Err(refused("again", said!("welcome-not-the-same")))
    };
    match accepted {
        Ok(_) => {
            let given = Credentials { email: &email, password };
            let device = session::device_of(&req);
            let from = site.caller(&req);
            // A new password is no way round the second step.
            match workflow::sign_in_page_on(&site.workshop, given, from, device.as_deref()).await? {
                Entered::In(actor, secret) => enter(&site, &req, &actor, secret, "/").await,
                Entered::CodeFirst(begun) => show_code(&req, begun, "/".to_owned(), Typed::nothing()),
            }
        }
        Err(e) => {
            let t = Typed::not_taken("welcome", form, e)?;
            let status = t.status;
            show_welcome(&req, &invitation, t, status)
        }
    }
}

fn show_welcome(req: &HttpRequest, invitation: &Invitation, t: Typed, status: StatusCode) -> Page {
    let (name, email) = match invitation {
        Invitation::FirstOwner => (String::new(), String::new()),
        Invitation::Person { name, email, .. } => (name.clone(), email.clone()),
    };
    page_with(status, &WelcomePage { page: Frame::new(req, None), t, name, email })
}

/// Their own choice; who never made one and chose on the way in has made it there. What somebody else read here before them
/// is shown on, and is nobody's choice.
async fn language_on_entry(site: &Site, req: &HttpRequest, actor: &Actor) -> Result<Option<Lang>, PageError> {
    let own = workflow::language_of(&site.workshop, actor.id).await?;
    let on_the_way = own.is_none().then(|| language::chosen_before_entry(req)).flatten();
    if let Some(lang) = on_the_way {
        workflow::choose_language(&site.workshop, actor, lang).await?;
    }
    Ok(own.or(on_the_way).or(language::chosen(req)))
}

fn entered(site: &Site, secret: String, lang: Option<Lang>, to: &str) -> HttpResponse {
    HttpResponse::SeeOther()
        .cookie(session::cookie(site, secret))
        .cookie(language::cookie_of_person(site, lang))
        .insert_header((LOCATION, to.to_owned()))
        .finish()
}

/// Only a path of this site: neither `//elsewhere.example` nor `/\elsewhere.example`, which browsers read alike, nor
/// anything that could break the header it goes into.
pub fn local_path(to: &str) -> &str {
    let local = to.starts_with('/')
        && !to.starts_with("//")
        && !to.contains('\\')
        && to.chars().all(|c| c.is_ascii_graphic());
    // After a sign-out the way back must not lead to the sign-in page again.
    if local && !to.starts_with("/sign-in") { to } else { "/" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_back_never_leaves_the_site() {
        assert_eq!(local_path("/machines?q=u7"), "/machines?q=u7");
        for to in [
            "",
            "machines",
            "//evil.example",
            "/\\evil.example",
            "https://evil.example",
            "/a\r\nX: y",
            "/sign-in",
        ] {
            assert_eq!(local_path(to), "/", "{to}");
        }
    }
}
