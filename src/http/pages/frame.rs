//! What every page has around it: who is signed in, where they may go, and what was just done.

use actix_web::HttpRequest;

use crate::domain::person::{Act, Actor};
use crate::http::assets;
use crate::http::session::{device_of, site_of};
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
}

pub struct Link {
    pub href: &'static str,
    pub words: &'static str,
}

const LINKS: &[(Act, Link)] = &[
    (Act::SeeBoard, Link { href: "/board", words: "Yard board" }),
    (Act::SeeMachines, Link { href: "/machines", words: "Machines" }),
    (Act::ReportDefect, Link { href: "/my-reports", words: "My reports" }),
    (Act::SubmitCheck, Link { href: "/phone", words: "On this phone" }),
    (Act::SeeQueue, Link { href: "/queue", words: "Queue" }),
    (Act::SeeStore, Link { href: "/store", words: "Store" }),
    (Act::SeeOutbox, Link { href: "/outbox", words: "Outbox" }),
    (Act::SeeAudit, Link { href: "/audit", words: "Audit" }),
    (Act::SetUpMachines, Link { href: "/set-up", words: "Set-up" }),
];

/// What may be said in a notice, by the word in `?done=`: an address cannot put words of its own on a page.
const NOTICES: &[(&str, &str)] = &[
    ("signed-out", "You are signed out."),
    ("pin-set", "Your PIN works on this device now, and nowhere else."),
    ("pin-ended", "Your PIN is off this device."),
    (
        "lost-device-forgotten",
        "The device is forgotten. No PIN works on it, and nobody is signed in on it any more.",
    ),
    ("device-forgotten", "This device is forgotten. No PIN works here any more."),
    ("held", "The machine is out of service. Everybody who should know is being told. Fit the tag."),
    ("lifted", "The hold is lifted."),
    ("lowered", "The defect is watched now, and its hold is lifted. The reporter is told."),
    ("reported", "Your report is in."),
    ("claimed", "The work order is yours."),
    ("handed-back", "The work order is back in the queue."),
    ("started", "Your time is running."),
    ("stopped", "Your time is stopped."),
    ("entered", "The time is entered."),
    ("reserved", "The parts are reserved."),
    ("issued", "The parts are issued."),
    ("returned", "The parts are back in the store."),
    ("waiting", "The work order waits. The machine stays as it is."),
    ("done", "The work is marked done. Now the retest."),
    ("retest-passed", "The retest passed."),
    ("retest-failed", "The retest failed. The defect is back in work and the machine stays out of service."),
    ("released", "The machine is released. Everybody who should know is being told."),
    ("released-still-held", "The work order is closed. Another hold keeps the machine out of service."),
    ("cancelled", "The work order is cancelled. Its defects stay open and the machine stays as it is."),
    ("saved", "Saved."),
    ("kept", "Kept in the draft."),
    ("removed", "Taken out of the draft."),
    ("discarded", "The draft is thrown away."),
    ("version-saved", "The new version is saved and in use from the next check on."),
    ("checklist-retired", "The checklist is retired. No new check is made with it."),
    (
        "watch-over",
        "Saved. The time to watch a defect is over by these engine hours: the machine is out of service.",
    ),
    ("resent", "The mail will be sent again."),
    ("received", "The parts are in the store."),
    (
        "reported-no-photo",
        "Your report is in, but the photo was not kept: it is no picture that can be read here.",
    ),
    (
        "reported-photo-later",
        "Your report is in, but the photo was not kept: the place where pictures are kept cannot be reached just now.",
    ),
];

impl Frame {
    pub fn new(req: &HttpRequest, actor: Option<&Actor>) -> Self {
        let links = match actor {
            Some(a) => LINKS.iter().filter(|(act, _)| a.may(*act)).map(|(_, l)| Link { ..*l }).collect(),
            None => Vec::new(),
        };
        let done = req.query_string().split('&').find_map(|pair| pair.strip_prefix("done="));
        let notice =
            done.and_then(|d| NOTICES.iter().find(|(word, _)| *word == d)).map(|(_, s)| (*s).to_owned());
        Self {
            assets: &assets::BASE,
            path: req.path().to_owned(),
            person: actor.cloned(),
            links,
            notice,
            change_person: device_of(req).is_some(),
            once: site_of(req).workshop.ambient.id(),
        }
    }
}
