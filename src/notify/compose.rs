//! From the facts kept with an outbox row to the words of a mail.

use askama::Template;
use chrono::{DateTime, Datelike, TimeDelta, Utc};
use chrono_tz::Tz;

use super::NotifyError;
use super::mail::{Mail, SUBJECT_MOST, cut, is_mail_domain, one_line};
use crate::domain::alert::{Alert, ArrivedPart, Event};
use crate::domain::ids::AlertId;

/// `public_url` is the address people reach this server at; `mail_domain` is what stands after the @ of Message-IDs and
/// must stay the same for as long as a mail may be sent again. `acknowledge` is the path of the page on which this reader says
/// that they have seen it.
pub fn compose(
    alert: &Alert,
    id: AlertId,
    to_name: &str,
    to_address: &str,
    public_url: &str,
    mail_domain: &str,
    acknowledge: Option<&str>,
) -> Result<Mail, NotifyError> {
    if !is_mail_domain(mail_domain) {
        return Err(NotifyError::MailDomain { given: mail_domain.to_owned() });
    }
    if to_address.parse::<lettre::Address>().is_err() {
        return Err(NotifyError::Address { given: to_address.to_owned() });
    }
    let alert = on_lines(alert);
    let about = About {
        when: in_zone(alert.at, alert.zone),
        link: alert
            .machine
            .map(|m| Ok::<_, NotifyError>(format!("{}/machines/{m}", link_base(public_url)?)))
            .transpose()?,
        acknowledge: acknowledge.map(|path| format!("{}{path}", public_url.trim_end_matches('/'))),
        base: link_base(public_url)?,
        to_name: one_line(to_name),
        alert: &alert,
    };
    let text = Text { about: &about }.render()?;
    let html = Html { about: &about }.render()?;
    Ok(Mail {
        message_id: format!("<{id}@{mail_domain}>"),
        date: alert.at,
        subject: subject(&alert),
        text: no_gaps(&text),
        html,
        to_name: about.to_name,
        to_address: to_address.to_owned(),
    })
}

struct About<'a> {
    alert: &'a Alert,
    /// Address of the server, for links to defects.
    base: &'a str,
    /// In the yard's zone.
    when: String,
    /// To the machine, where it is about one.
    link: Option<String>,
    acknowledge: Option<String>,
    to_name: String,
}

#[derive(Template)]
#[template(path = "mail/alert.txt", config = ".askama.toml")]
struct Text<'a> {
    about: &'a About<'a>,
}

#[derive(Template)]
#[template(path = "mail/alert.html", config = ".askama.toml")]
struct Html<'a> {
    about: &'a About<'a>,
}

/// The unit number comes first: it is what the eye looks for in a list of mails.
fn subject(alert: &Alert) -> String {
    let unit = cut(&alert.unit_number, 40);
    let line = match &alert.event {
        Event::MachineHeld { why, .. } => match why.as_slice() {
            [] => t!("mail-subject-out", unit = unit),
            [only] => t!("mail-subject-out-because", unit = unit, what = only.what),
            [first, rest @ ..] => {
                let what = cut(&first.what.to_string(), 50);
                t!("mail-subject-out-several", unit = unit, what = what, more = rest.len())
            }
        },
        Event::Released { fit_for_use: true, .. } => t!("mail-subject-back", unit = unit),
        Event::Released { fit_for_use: false, .. } => t!("mail-subject-released-still-out", unit = unit),
        Event::HoldLifted { fit_for_use: true, .. } => {
            t!("mail-subject-lifted", unit = unit, name = cut(&alert.by, 40))
        }
        Event::HoldLifted { fit_for_use: false, .. } => {
            t!("mail-subject-lifted-still-out", unit = unit, name = cut(&alert.by, 40))
        }
        Event::OutsideLate { vendor, .. } => {
            t!("mail-outside-subject", unit = unit, vendor = cut(vendor, 60))
        }
        Event::UsedWhileHeld { .. } => t!("mail-subject-meter", unit = unit),
        Event::TimerClosed { number, .. } => t!("mail-subject-timer", unit = unit, number = number),
        Event::CameBack { defects, .. } => match defects.as_slice() {
            [only] => t!("mail-subject-came-back", unit = unit, what = only.what),
            several => t!("mail-subject-several-back", unit = unit, count = several.len()),
        },
        Event::NotAcknowledged { .. } => t!("mail-subject-not-acknowledged", unit = unit),
        Event::ReportReceived { what, .. } => t!("mail-subject-received", unit = unit, what = what),
        Event::Digest { grounded, .. } => {
            t!("mail-subject-digest", yard = cut(&alert.yard_name, 60), count = grounded.len())
        }
        Event::WebhookOff { host, .. } => t!("mail-subject-webhook", host = cut(host, 60)),
        Event::TrailHead { number, .. } => t!("mail-subject-head", number = number),
        Event::SecondStepRemoved => t!("mail-subject-second-step"),
        Event::PartArrived { part, .. } => t!("mail-subject-part", unit = unit, part = cut(&part.name, 60)),
    };
    cut(&line, SUBJECT_MOST)
}

impl About<'_> {
    /// "2 × Brake pad set (BP-1)"
    fn arrived(&self, part: &ArrivedPart) -> String {
        let figure = crate::words::here().figure(&part.quantity);
        let figure = if part.unit == "each" { figure } else { format!("{figure} {}", part.unit) };
        t!("mail-part-line", quantity = figure, part = part.name, number = part.number)
    }

    /// When it was found: by the alert's own time, unless that reached the server later.
    fn found(&self, recorded_at: &Option<DateTime<Utc>>) -> String {
        in_zone(recorded_at.unwrap_or(self.alert.at), self.alert.zone)
    }

    /// Where the heading has said whose clock it is.
    fn here(&self, at: &DateTime<Utc>) -> String {
        let local = at.with_timezone(&self.alert.zone);
        t!(
            "mail-date-here",
            weekday = t!(DAYS[local.weekday().num_days_from_monday() as usize]),
            day = local.day(),
            month = t!(MONTHS[local.month0() as usize]),
            year = local.year().to_string(),
            clock = local.format("%H:%M %Z").to_string()
        )
    }

    /// As [`About::here`], to the next quarter of an hour: nobody foresees minutes.
    fn quarter(&self, at: &DateTime<Utc>) -> String {
        const QUARTER: i64 = 15 * 60;
        let over = at.timestamp().rem_euclid(QUARTER);
        let up = if over == 0 { 0 } else { QUARTER - over };
        self.here(&(*at + TimeDelta::seconds(up)))
    }

    fn moment(&self, at: &DateTime<Utc>) -> String {
        in_zone(*at, self.alert.zone)
    }

    /// When something happened before, in the yard's zone; empty when it is not known.
    fn at(&self, at: &Option<DateTime<Utc>>) -> String {
        at.map(|at| in_zone(at, self.alert.zone)).unwrap_or_default()
    }
}

/// The zone's own abbreviation tells the two halves of a repeated hour apart; its name says whose clock this is.
fn in_zone(at: DateTime<Utc>, zone: Tz) -> String {
    let local = at.with_timezone(&zone);
    t!(
        "mail-date",
        weekday = t!(DAYS[local.weekday().num_days_from_monday() as usize]),
        day = local.day(),
        month = t!(MONTHS[local.month0() as usize]),
        year = local.year().to_string(),
        clock = local.format("%H:%M %Z").to_string(),
        zone = zone.name()
    )
}

const MONTHS: [&str; 12] = [
    "month-full-january",
    "month-full-february",
    "month-full-march",
    "month-full-april",
    "month-full-may",
    "month-full-june",
    "month-full-july",
    "month-full-august",
    "month-full-september",
    "month-full-october",
    "month-full-november",
    "month-full-december",
];
const DAYS: [&str; 7] = [
    "mail-day-monday",
    "mail-day-tuesday",
    "mail-day-wednesday",
    "mail-day-thursday",
    "mail-day-friday",
    "mail-day-saturday",
    "mail-day-sunday",
];

fn link_base(public_url: &str) -> Result<&str, NotifyError> {
    let refused = || NotifyError::PublicUrl { given: public_url.to_owned() };
    let base = public_url.trim_end_matches('/');
    let rest = base.strip_prefix("https://").or_else(|| base.strip_prefix("http://")).ok_or_else(refused)?;
    let odd = |c: char| !c.is_ascii_graphic() || matches!(c, '"' | '<' | '>' | '\\' | '?' | '#' | '@');
    if rest.is_empty() || rest.starts_with('/') || rest.contains(odd) { Err(refused()) } else { Ok(base) }
}

/// The same alert with every text on one line, so that nothing somebody typed can pass for a line of ours.
fn on_lines(alert: &Alert) -> Alert {
    let mut alert = alert.clone();
    for text in [&mut alert.unit_number, &mut alert.yard_name, &mut alert.by] {
        *text = one_line(text);
    }
    match &mut alert.event {
        Event::MachineHeld { why, instruction, work_order: _, recorded_at: _ } => {
            for because in why {
                because.what = because.what.map(one_line);
                because.why = because.why.map(one_line);
            }
            *instruction = instruction.map(one_line);
        }
        Event::Released { defects, repaired_by, released_by_repairer: _, fit_for_use: _ } => {
            for defect in defects {
                defect.what = defect.what.map(one_line);
                for text in [&mut defect.cause, &mut defect.remedy, &mut defect.retested_by] {
                    *text = one_line(text);
                }
            }
            repaired_by.iter_mut().for_each(|name| *name = one_line(name));
        }
        Event::HoldLifted { placed_by, hold_reason, lift_reason, fit_for_use: _ } => {
            *hold_reason = hold_reason.map(one_line);
            for text in [placed_by, lift_reason] {
                *text = one_line(text);
            }
        }
        Event::UsedWhileHeld { held_at_hours, now_hours } => {
            for text in [held_at_hours, now_hours] {
                *text = one_line(text);
            }
        }
        Event::TimerClosed { .. } | Event::SecondStepRemoved => {}
        Event::NotAcknowledged { why, instruction, held_at: _, held_by } => {
            *instruction = instruction.map(one_line);
            for because in why {
                because.what = because.what.map(one_line);
                because.why = because.why.map(one_line);
            }
            *held_by = one_line(held_by);
        }
        Event::ReportReceived { defect: _, what, why, good_until: _ } => {
            (*what, *why) = (what.map(one_line), why.map(one_line));
        }
        Event::Digest { grounded, watched, not_delivered: _ } => {
            for g in grounded {
                (g.unit_number, g.why) = (one_line(&g.unit_number), g.why.map(one_line));
                g.cost = one_line(&g.cost);
            }
            for w in watched {
                (w.unit_number, w.what) = (one_line(&w.unit_number), w.what.map(one_line));
            }
        }
        Event::WebhookOff { host, since: _, last_answer } => {
            (*host, *last_answer) = (one_line(host), one_line(last_answer));
        }
        // Nobody typed any of it, and its lines are what is read back.
        Event::TrailHead { .. } => {}
        Event::OutsideLate { vendor, what, promised_at: _ } => {
            (*vendor, *what) = (one_line(vendor), one_line(what));
        }
        Event::CameBack { defects, recorded_at: _ } => {
            for d in defects {
                (d.what, d.why) = (d.what.map(one_line), d.why.map(one_line));
                d.remedy = d.remedy.map(one_line);
                d.cause = one_line(&d.cause);
            }
        }
        Event::PartArrived { part, work_order: _, number: _, all_there: _ } => {
            for text in [&mut part.name, &mut part.number, &mut part.quantity, &mut part.unit, &mut part.bin]
            {
                *text = one_line(text);
            }
        }
    }
    alert
}

/// Templates are laid out for whoever edits them; a reader gets at most one empty line at a time.
fn no_gaps(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut empty = true;
    for line in text.lines().map(str::trim_end) {
        if !(line.is_empty() && empty) {
            out.push_str(line);
            out.push('\n');
        }
        empty = line.is_empty();
    }
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}

#[cfg(test)]
#[path = "compose_tests.rs"]
mod tests;
