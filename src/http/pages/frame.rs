//! What every page has around it: who is signed in, where they may go, and what was just done.

use actix_web::HttpRequest;

use crate::domain::person::{Act, Actor};
use crate::http::assets;
use crate::http::session::{device_of, site_of};
use crate::words::{Lang, here};
use uuid::Uuid;

pub struct Frame {
    pub assets: &'static str,
    pub path: String,
    pub person: Option<Actor>,
    pub links: Vec<Link>,
    /// Said once after an act.
    pub notice: Option<String>,
    /// Whether people may change by PIN here: the device keeps the secret for it.
    pub change_person: bool,
    /// An id for what a form on this page will make, so that a double tap makes it once.
    pub once: Uuid,
    pub lang: Lang,
    /// The other languages this site can be read in.
    pub other_languages: Vec<Lang>,
}

pub struct Link {
    pub href: &'static str,
    /// Key of its words.
    pub words: &'static str,
}

const LINKS: &[(Act, Link)] = &[
    (Act::SeeBoard, Link { href: "/board", words: "frame-yard-board" }),
    (Act::SeeMachines, Link { href: "/machines", words: "frame-machines" }),
    (Act::ReportDefect, Link { href: "/my-reports", words: "frame-my-reports" }),
    (Act::SubmitCheck, Link { href: "/phone", words: "frame-on-this-phone" }),
    (Act::SeeQueue, Link { href: "/queue", words: "frame-queue" }),
    (Act::WorkOnOrder, Link { href: "/my-time", words: "frame-my-time" }),
    (Act::SeeStore, Link { href: "/store", words: "frame-store" }),
    (Act::SeeNumbers, Link { href: "/numbers", words: "frame-numbers" }),
    (Act::SeeOutbox, Link { href: "/outbox", words: "frame-outbox" }),
    (Act::SeeAudit, Link { href: "/audit", words: "frame-audit" }),
    (Act::SetUpMachines, Link { href: "/set-up", words: "frame-set-up" }),
];

/// What may be said in a notice, by the word in `?done=`: an address cannot put words of its own on a page.
const NOTICES: &[(&str, &str)] = &[
    ("signed-out", "notice-signed-out"),
    ("password-changed", "notice-password-changed"),
    ("sign-ins-ended", "notice-sign-ins-ended"),
    ("second-step-removed", "notice-second-step-removed"),
    ("passkey-added", "notice-passkey-added"),
    ("passkey-removed", "notice-passkey-removed"),
    ("pin-set", "notice-pin-set"),
    ("pin-ended", "notice-pin-ended"),
    ("lost-device-forgotten", "notice-lost-device-forgotten"),
    ("device-forgotten", "notice-device-forgotten"),
    ("held", "notice-held"),
    ("lifted", "notice-lifted"),
    ("lowered", "notice-lowered"),
    ("reported", "notice-reported"),
    ("claimed", "notice-claimed"),
    ("handed-back", "notice-handed-back"),
    ("handed-back-stopped", "notice-handed-back-stopped"),
    ("started", "notice-started"),
    ("stopped", "notice-stopped"),
    ("entered", "notice-entered"),
    ("reserved", "notice-reserved"),
    ("issued", "notice-issued"),
    ("returned", "notice-returned"),
    ("waiting", "notice-waiting"),
    ("done", "notice-done"),
    ("retest-passed", "notice-retest-passed"),
    ("retest-failed", "notice-retest-failed"),
    ("released", "notice-released"),
    ("released-still-held", "notice-released-still-held"),
    ("cancelled", "notice-cancelled"),
    ("pinned", "notice-pinned"),
    ("unpinned", "notice-unpinned"),
    ("noted", "notice-noted"),
    ("photo-kept", "notice-photo-kept"),
    ("split", "notice-split"),
    ("merged", "notice-merged"),
    ("sent-outside", "notice-sent-outside"),
    ("outside-told", "notice-outside-told"),
    ("saved", "notice-saved"),
    ("kept", "notice-kept"),
    ("removed", "notice-removed"),
    ("discarded", "notice-discarded"),
    ("version-saved", "notice-version-saved"),
    ("checklist-retired", "notice-checklist-retired"),
    ("watch-over", "notice-watch-over"),
    ("resent", "notice-resent"),
    ("acknowledged", "notice-acknowledged"),
    ("webhook-tried", "notice-webhook-tried"),
    ("received", "notice-received"),
    ("lacking", "notice-lacking"),
    ("ordered", "notice-ordered"),
    ("counted", "notice-counted"),
    ("transferred", "notice-transferred"),
    ("raised-on-others", "notice-raised-on-others"),
    ("reported-no-photo", "notice-reported-no-photo"),
    ("reported-photo-later", "notice-reported-photo-later"),
];

impl Frame {
    pub fn new(req: &HttpRequest, actor: Option<&Actor>) -> Self {
        let links = match actor {
            Some(a) => LINKS.iter().filter(|(act, _)| a.may(*act)).map(|(_, l)| Link { ..*l }).collect(),
            None => Vec::new(),
        };
        let done = req.query_string().split('&').find_map(|pair| pair.strip_prefix("done="));
        let notice = done.and_then(|d| NOTICES.iter().find(|(word, _)| *word == d)).map(|(_, key)| t!(key));
        Self {
            assets: &assets::BASE,
            path: req.path().to_owned(),
            person: actor.cloned(),
            links,
            notice,
            change_person: device_of(req).is_some(),
            once: site_of(req).workshop.ambient.id(),
            lang: here(),
            other_languages: Lang::ALL.iter().copied().filter(|l| *l != here()).collect(),
        }
    }
}
