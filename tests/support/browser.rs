//! A browser without scripts: it reads pages, fills in forms and follows where they lead.

use std::sync::Arc;

use actix_web::cookie::Cookie;
use actix_web::http::StatusCode;
use actix_web::http::header::{CONTENT_TYPE, HeaderMap, LOCATION, SET_COOKIE};
use actix_web::middleware::from_fn;
use actix_web::test::{TestRequest, call_service, init_service, read_body};
use actix_web::{App, web};
use chock::domain::person::Actor;
use chock::http::pages::error;
use chock::http::photo_store::PhotoStore;
use chock::http::{Site, pages, routes, security, settled};
use chock::workflow::{self, Credentials, Workshop};
use tempfile::TempDir;

use super::PASSWORD;

/// What a page answered.
pub struct Answer {
    pub status: StatusCode,
    pub to: String,
    /// Of the answer.
    pub headers: HeaderMap,
    pub html: String,
    pub bytes: web::Bytes,
}

impl Answer {
    pub fn says(&self, words: &str) -> &Self {
        assert!(self.html.contains(words), "{words:?} is not on the page: {} {}", self.status, self.html);
        self
    }

    pub fn says_not(&self, words: &str) -> &Self {
        assert!(!self.html.contains(words), "{words:?} is on the page: {}", self.html);
        self
    }

    pub fn is(&self, status: u16) -> &Self {
        assert_eq!(self.status.as_u16(), status, "{}", self.html);
        self
    }

    pub fn leads_to(&self, end: &str) -> &Self {
        self.is(303);
        assert!(self.to.ends_with(end), "leads to {}, not to {end}", self.to);
        self
    }
}

/// A browser of one person.
pub struct Browser {
    pub site: web::Data<Site>,
    /// Of its session; anything else is nobody's.
    pub secret: String,
    /// What the device keeps for PINs; empty on one that was never trusted.
    pub device: String,
    /// Kept for as long as the photos in it are used.
    _photos: Arc<TempDir>,
}

impl Browser {
    pub async fn of(workshop: &Workshop, person: &Actor) -> Self {
        crate::support::has_password(workshop, person.id).await;
        let people = workflow::people(workshop, &owner_of(person)).await.unwrap();
        let email = &people.iter().find(|(p, ..)| p.id == person.id).unwrap().0.email;
        let credentials = Credentials { email, password: PASSWORD };
        let (_, secret) = workflow::sign_in_page(workshop, credentials).await.unwrap();
        let photos = Arc::new(tempfile::tempdir().expect("a folder"));
        let site = web::Data::new(Site {
            webhooks_private: false,
            workshop: workshop.clone(),
            public_url: "http://yard.example".into(),
            token_key: vec![7; 32],
            photos: PhotoStore::folder(photos.path()).expect("a store of pictures"),
            operation: Arc::default(),
            compose: Arc::new(|_, alert, name, _, _| {
                Some((format!("{} {}", alert.unit_number, alert.event.kind()), format!("Dear {name}")))
            }),
        });
        Self { site, secret, device: String::new(), _photos: photos }
    }

    /// Another person's, or nobody's, on the same site.
    pub fn with_secret(&self, secret: impl Into<String>) -> Self {
        Self {
            site: self.site.clone(),
            secret: secret.into(),
            device: self.device.clone(),
            _photos: self._photos.clone(),
        }
    }

    /// The same browser with the cookies of this answer.
    pub fn after(&self, answer: &Answer) -> Self {
        let mut after = self.with_secret(self.secret.clone());
        for set in answer.headers.get_all(SET_COOKIE) {
            let cookie = Cookie::parse(set.to_str().unwrap()).unwrap();
            match cookie.name() {
                "chock" => after.secret = cookie.value().to_owned(),
                "chock-device" => after.device = cookie.value().to_owned(),
                "language" => {}
                other => panic!("a cookie {other}"),
            }
        }
        after
    }

    pub async fn ask(&self, request: TestRequest) -> Answer {
        let app = App::new()
            .app_data(self.site.clone())
            .configure(routes::configure)
            .wrap(from_fn(error::framed))
            .wrap(from_fn(settled::settled))
            .wrap(from_fn(security::same_origin))
            .wrap(from_fn(pages::error::knowing_what_was_sent))
            .wrap(from_fn(security::headers));
        let app = init_service(app).await;
        let mut request = request.cookie(Cookie::new("chock", self.secret.clone()));
        if !self.device.is_empty() {
            request = request.cookie(Cookie::new("chock-device", self.device.clone()));
        }
        let request = request.to_request();
        let answer = call_service(&app, request).await;
        let (status, headers) = (answer.status(), answer.headers().clone());
        let bytes = read_body(answer).await;
        Answer {
            status,
            to: headers.get(LOCATION).map(|l| l.to_str().unwrap().to_owned()).unwrap_or_default(),
            headers,
            html: String::from_utf8_lossy(&bytes).into_owned(),
            bytes,
        }
    }

    pub async fn get(&self, path: &str) -> Answer {
        self.ask(TestRequest::get().uri(path)).await
    }

    pub async fn send(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.ask(TestRequest::post().uri(path).set_form(fields)).await
    }

    /// To the API, with the page's own session as our scripts do it.
    pub async fn send_json(&self, path: &str, body: &'static str) -> Answer {
        let request = TestRequest::post().uri(path).insert_header((CONTENT_TYPE, "application/json"));
        self.ask(request.set_payload(body)).await
    }

    /// A form with files, as RFC 7578 lays it out: name of the input, name of the file, and what is in it.
    pub async fn send_files(
        &self,
        path: &str,
        fields: &[(String, String)],
        files: &[(&str, &str, &[u8])],
    ) -> Answer {
        let mut body: Vec<u8> = Vec::new();
        for (name, value) in fields {
            let part =
                format!("--edge\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
            body.extend_from_slice(part.as_bytes());
        }
        for (name, file, bytes) in files {
            let head = format!(
                "--edge\r\nContent-Disposition: form-data; name=\"{name}\"; filename=\"{file}\"\r\n\
                 Content-Type: application/octet-stream\r\n\r\n"
            );
            body.extend_from_slice(head.as_bytes());
            body.extend_from_slice(bytes);
            body.extend_from_slice(b"\r\n");
        }
        body.extend_from_slice(b"--edge--\r\n");
        let request = TestRequest::post()
            .uri(path)
            .insert_header((CONTENT_TYPE, "multipart/form-data; boundary=edge"))
            .set_payload(body);
        self.ask(request).await
    }
}

/// Looking up a person's address takes the owner's rights, whoever it is.
fn owner_of(person: &Actor) -> Actor {
    Actor { roles: vec![chock::domain::person::Role::Owner], ..person.clone() }
}

/// The value of a hidden field.
pub fn hidden(page: &Answer, name: &str) -> String {
    let at = format!("name=\"{name}\" value=\"");
    let (_, rest) = page.html.split_once(&at).unwrap_or_else(|| panic!("no {name} in {}", page.html));
    rest.split('"').next().unwrap().to_owned()
}

/// A small picture.
pub fn picture() -> Vec<u8> {
    let mut png = std::io::Cursor::new(Vec::new());
    image::RgbImage::from_pixel(40, 20, image::Rgb([200, 30, 30]))
        .write_to(&mut png, image::ImageFormat::Png)
        .unwrap();
    png.into_inner()
}
