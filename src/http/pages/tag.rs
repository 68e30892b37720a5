//! The tag that hangs on a held machine, on one A5 sheet, as 29 CFR 1910.145(f) asks of accident prevention tags: a
//! signal word, a major message, words that everybody exposed understands, and its place in plain sight.

use actix_web::{HttpRequest, web};
use askama::Template;

use super::error::PageError;
use super::frame::Frame;
use super::local_time::in_full;
use super::qr::{Symbol, symbol};
use super::{Page, markup, page};
use crate::domain::checklist::System;
use crate::domain::ids::MachineId;
use crate::domain::machine::class_said;
use crate::domain::refusal::Refusal;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, Gate};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/machines/{id}/tag", web::get().to(tag));
}

#[derive(Template)]
#[template(path = "tag.html", config = ".askama.toml")]
struct TagPage {
    page: Frame,
    href: String,
    /// The fixed word, for the style.
    signal: &'static str,
    signal_said: String,
    /// Set smaller, so that all of it stays on the sheet.
    crowded: bool,
    unit_number: String,
    about: String,
    why: Vec<String>,
    more: usize,
    held_by: String,
    since: String,
    /// What ends it.
    until: String,
    address: String,
    qr: Symbol,
}

/// Reasons on the sheet, and letters of each: it must not grow beyond A5. The page behind the symbol has them whole.
const MOST_REASONS: usize = 3;
const MOST_LETTERS: usize = 80;
/// Letters of a unit number that fit on one line of the largest type, and of reasons that leave room for it.
const ROOM_FOR_UNIT_NUMBER: usize = 9;
const ROOM_FOR_REASONS: usize = 150;

async fn tag(
    Signed(actor): Signed,
    req: HttpRequest,
    id: web::Path<MachineId>,
    site: web::Data<Site>,
) -> Page {
    let gate = workflow::gate(&site.workshop, &actor, *id).await?;
    let Some(first) = gate.holds.first() else {
        let unit = &gate.machine.unit_number;
        return Err(PageError::GoOnAt {
            refusal: Refusal::conflict(said!("tag-not-held", unit = unit)),
            href: format!("/machines/{id}"),
            words: t!("parts-back-to", unit = unit),
        });
    };
    let address = format!("{}/machines/{id}", site.public_url);
    let why: Vec<String> = gate.holds.iter().take(MOST_REASONS).map(|h| short(h.reason.here())).collect();
    let letters = |text: &str| text.chars().count();
    let crowded = letters(&gate.machine.unit_number) > ROOM_FOR_UNIT_NUMBER
        || why.iter().map(|w| letters(w)).sum::<usize>() > ROOM_FOR_REASONS;
    page(&TagPage {
        page: Frame::new(&req, Some(&actor)),
        href: format!("/machines/{id}"),
        signal: signal_word(&gate),
        signal_said: if signal_word(&gate) == DANGER { t!("tag-danger") } else { t!("tag-warning") },
        about: format!("{}, {}", class_said(&gate.machine.class), gate.yard.name),
        crowded,
        why,
        more: gate.holds.len().saturating_sub(MOST_REASONS),
        held_by: first.placed_by_name.clone(),
        since: in_full(first.since, &gate.yard.zone).words,
        qr: symbol(&address),
        address,
        until: until(&gate),
        unit_number: gate.machine.unit_number,
    })
}

/// What takes the tag off again: a release, where a defect is behind it.
fn until(gate: &Gate) -> String {
    let unit = &gate.machine.unit_number;
    match gate.holds.as_slice() {
        holds if holds.iter().any(|h| h.defect_id.is_some()) => {
            t!("tag-until-release", unit = unit)
        }
        [only] => t!("tag-until-one", who = only.placed_by_name),
        _ => t!("tag-until-several"),
    }
}

/// 1910.145(f)(5) to (7): DANGER stands for an immediate hazard that can kill or maim, and only for that; WARNING for
/// what lies between that and CAUTION. A machine that may not stop, steer, hold its people, stay where it is put or keep
/// its fuel is the former. A hold by hand does not say what kind of hazard it is: in doubt DANGER.
fn signal_word(gate: &Gate) -> &'static str {
    let lesser = gate.holds.iter().all(|h| {
        let defect = h.defect_id.and_then(|id| gate.defects.iter().find(|d| d.id == id));
        defect.is_some_and(|d| !immediate(d.system))
    });
    if lesser { "WARNING" } else { DANGER }
}

const DANGER: &str = "DANGER";

const fn immediate(system: System) -> bool {
    match system {
        System::Brakes
        | System::Steering
        | System::Restraint
        | System::Fuel
        | System::Controls
        | System::Transmission
        | System::Suspension
        | System::TyresAndWheels
        | System::Hydraulics
        | System::Coupling
        | System::General => true,
        System::Engine
        | System::Cooling
        | System::LightsAndSignals
        | System::Electrical
        | System::BodyAndFrame => false,
    }
}

fn short(reason: &str) -> String {
    if reason.chars().count() <= MOST_LETTERS {
        return reason.to_owned();
    }
    let cut: String = reason.chars().take(MOST_LETTERS - 1).collect();
    format!("{}…", cut.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_reasons_are_cut() {
        assert_eq!(short("Brake pad thin"), "Brake pad thin");
        assert_eq!(short(&"ä".repeat(300)).chars().count(), MOST_LETTERS);
    }
}
