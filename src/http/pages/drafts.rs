//! The checklist editor: a draft as a whole, and one small form for each of its parts.

mod differs;
mod fields;
mod shapes;

pub use differs::{Differs, differs};

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, web};
use askama::Template;

use super::error::PageError;
use super::form::Form;
use super::frame::Frame;
use super::markup;
use super::shown::{When as At, when};
use super::typed::{Shown, Typed};
use super::{Page, local_time, page_with, see_other};
use crate::domain::checklist::{Asked, System};
use crate::domain::checklist_draft::{
    Draft, DraftFault, Edit, HEAD, Item, Kind, Part, Rule, When, Zone, title_said,
};
use crate::domain::ids::DraftId;
use crate::domain::person::Actor;
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::standing::Severity;
use crate::http::Site;
use crate::http::session::Signed;
use crate::words::here;
use crate::workflow::{self, DraftPage, WorkflowError};
use fields::{Asking, Field};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/set-up/drafts/{id}", web::get().to(see));
    cfg.route("/set-up/drafts/{id}", web::post().to(change_head));
    cfg.route("/set-up/drafts/{id}/save", web::post().to(save));
    cfg.route("/set-up/drafts/{id}/discard", web::post().to(discard));
    cfg.route("/set-up/drafts/{id}/move", web::post().to(move_part));
    cfg.route("/set-up/drafts/{id}/remove", web::post().to(remove));
    cfg.route("/set-up/drafts/{id}/{kind}/{part}", web::get().to(part_form));
    cfg.route("/set-up/drafts/{id}/{kind}/{part}", web::post().to(change_part));
}

type Shared = web::Data<Site>;
type Id = web::Path<DraftId>;

#[derive(Template)]
#[template(path = "draft.html", config = ".askama.toml")]
struct Whole {
    page: Frame,
    problems: Vec<Shown>,
    href: String,
    title: String,
    name: String,
    began: String,
    begun: At,
    version: i64,
    newest: i64,
    /// A later version came since this draft began.
    overtaken: bool,
    takes_the_place_of: Vec<String>,
    faults: Vec<Mend>,
    head: Vec<Field>,
    zones: Vec<ZoneRow>,
    rules: Vec<RuleRow>,
    differences: Vec<Differs>,
}

/// Something to mend, with the page where.
struct Mend {
    href: String,
    sentence: String,
}

struct ZoneRow {
    part: Part,
    title: String,
    wrong: bool,
    items: Vec<ItemRow>,
}

struct ItemRow {
    part: Part,
    title: String,
    says: String,
    wrong: bool,
}

struct RuleRow {
    part: Part,
    name: String,
    severity: String,
    when: Vec<String>,
    wrong: bool,
}

#[derive(Template)]
#[template(path = "draft_part.html", config = ".askama.toml")]
struct OnePart {
    page: Frame,
    problems: Vec<Shown>,
    back: String,
    draft_title: String,
    heading: String,
    action: String,
    draft_href: String,
    version: i64,
    part: Part,
    /// Of a new condition.
    rule: Part,
    kind: String,
    fields: Vec<Field>,
    note: String,
    conditions: Vec<ConditionRow>,
    /// What a new condition of the rule may look at; empty for other parts.
    kinds: Vec<(&'static str, String)>,
    /// The part by name; empty when it is new.
    remove: String,
    more: String,
}

struct ConditionRow {
    href: String,
    words: String,
    wrong: bool,
}

async fn see(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared) -> Page {
    whole(&site, &req, &actor, *id, Typed::nothing(), None).await
}

async fn change_head(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    let edit = shapes::head_of(&form);
    match workflow::change_draft(&site.workshop, &actor, *id, version(&form), edit).await {
        Ok(_) => see_other(&format!("/set-up/drafts/{id}?done=saved")),
        Err(e) => {
            let t = Typed::not_taken("draft", form.clone(), e)?;
            whole(&site, &req, &actor, *id, t, Some(&form)).await
        }
    }
}

async fn save(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    let newest = form.text("newest").parse().unwrap_or(-1);
    match workflow::save_draft(&site.workshop, &actor, *id, version(&form), newest).await {
        Ok((checklist, _)) => see_other(&format!("/set-up/checklists/{checklist}?done=version-saved")),
        Err(e) => {
            let t = Typed::not_taken("save", form, e)?;
            whole(&site, &req, &actor, *id, t, None).await
        }
    }
}

async fn discard(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    match workflow::discard_draft(&site.workshop, &actor, *id, version(&form)).await {
        Ok(()) => see_other("/set-up/checklists?done=discarded"),
        Err(e) => whole(&site, &req, &actor, *id, Typed::not_taken("discard", form, e)?, None).await,
    }
}

async fn move_part(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    let part = form.text("part").parse().unwrap_or(HEAD);
    let edit = Edit::Move { part, up: form.text("to") == "up" };
    match workflow::change_draft(&site.workshop, &actor, *id, version(&form), edit).await {
        Ok(part) => see_other(&format!("/set-up/drafts/{id}#p{part}")),
        Err(e) => whole(&site, &req, &actor, *id, Typed::not_taken("draft", form, e)?, None).await,
    }
}

async fn remove(Signed(actor): Signed, req: HttpRequest, id: Id, site: Shared, form: Form) -> Page {
    let part: Part = form.text("part").parse().unwrap_or(HEAD);
    let page = workflow::draft_page(&site.workshop, &actor, *id).await?;
    // A condition leads back to its rule.
    let then = page.draft.condition(part).map_or_else(
        || format!("/set-up/drafts/{id}?done=removed"),
        |(rule, _)| format!("/set-up/drafts/{id}/rules/{}?done=removed", rule.part),
    );
    match workflow::change_draft(&site.workshop, &actor, *id, version(&form), Edit::Remove { part }).await {
        Ok(_) => see_other(&then),
        Err(e) => whole(&site, &req, &actor, *id, Typed::not_taken("draft", form, e)?, None).await,
    }
}

type PartPath = web::Path<(DraftId, String, String)>;

async fn part_form(Signed(actor): Signed, req: HttpRequest, at: PartPath, site: Shared) -> Page {
    let (id, kind, part) = at.into_inner();
    let page = workflow::draft_page(&site.workshop, &actor, id).await?;
    let query = web::Query::<Vec<(String, String)>>::from_query(req.query_string());
    let asked = |name: &str| {
        let pairs = query.as_ref().ok().map(|q| q.iter()).into_iter().flatten();
        pairs.filter(|(n, _)| n == name).map(|(_, v)| v.clone()).next_back().unwrap_or_default()
    };
    let shown = Showing::find(&page.draft, &kind, &part, &asked)?;
    one_part(&req, &actor, &page, &shown, None, Vec::new(), StatusCode::OK)
}

async fn change_part(
    Signed(actor): Signed,
    req: HttpRequest,
    at: PartPath,
    site: Shared,
    form: Form,
) -> Page {
    let (id, kind, part) = at.into_inner();
    let page = workflow::draft_page(&site.workshop, &actor, id).await?;
    let shown = Showing::find(&page.draft, &kind, &part, &|name| form.text(name).to_owned())?;
    let number = part.parse().unwrap_or(HEAD);
    let edit = match &shown {
        Showing::Zone(_) => Edit::Zone(shapes::zone_of(&form, number)),
        Showing::Item(..) => {
            let (zone, item) = shapes::item_of(&form, number);
            Edit::Item { zone, item: Box::new(item) }
        }
        Showing::Rule(_) => Edit::Rule(shapes::rule_of(&form, number)),
        Showing::Condition(rule, when) => {
            Edit::Condition { rule: *rule, when: shapes::condition_of(&form, number, when.kind) }
        }
    };
    match workflow::change_draft(&site.workshop, &actor, id, version(&form), edit).await {
        Ok(part) => see_other(&format!("/set-up/drafts/{id}/{kind}/{part}?done=kept")),
        Err(e) => {
            let t = Typed::not_taken("part", form.clone(), e)?;
            one_part(&req, &actor, &page, &shown, Some(&form), t.problems, t.status)
        }
    }
}

/// The part a form is about.
enum Showing {
    Zone(Zone),
    /// With the zone it is in, or will be.
    Item(Part, Box<Item>),
    Rule(Rule),
    /// With its rule.
    Condition(Part, When),
}

impl Showing {
    /// `part` is a number, or "new": then what it will belong to is asked for.
    fn find(
        draft: &Draft,
        kind: &str,
        part: &str,
        asked: &impl Fn(&str) -> String,
    ) -> Result<Self, PageError> {
        let gone = || PageError::from(WorkflowError::from(Refusal::NotFound(Thing::PartOfDraft)));
        let new = part == "new";
        let number: Part = if new { HEAD } else { part.parse().map_err(|_| gone())? };
        Ok(match kind {
            "zones" if new => Self::Zone(Zone::default()),
            "zones" => Self::Zone(draft.zone(number).ok_or_else(gone)?.clone()),
            "items" if new => {
                let zone = asked("zone").parse().ok().and_then(|z| draft.zone(z)).or(draft.zones.last());
                Self::Item(zone.ok_or_else(gone)?.part, Box::default())
            }
            "items" => {
                let (zone, item) = draft.item(number).ok_or_else(gone)?;
                Self::Item(zone.part, Box::new(item.clone()))
            }
            "rules" if new => Self::Rule(Rule::default()),
            "rules" => Self::Rule(draft.rule(number).ok_or_else(gone)?.clone()),
            "conditions" if new => {
                let rule = asked("rule").parse().ok().and_then(|r| draft.rule(r)).ok_or_else(gone)?;
                let kind: Kind = asked("kind").parse().map_err(|_| gone())?;
                Self::Condition(rule.part, When { part: HEAD, kind, says: std::collections::BTreeMap::new() })
            }
            "conditions" => {
                let (rule, when) = draft.condition(number).ok_or_else(gone)?;
                Self::Condition(rule.part, when.clone())
            }
            _ => return Err(gone()),
        })
    }

    fn part(&self) -> Part {
        match self {
            Self::Zone(z) => z.part,
            Self::Item(_, i) => i.part,
            Self::Rule(r) => r.part,
            Self::Condition(_, w) => w.part,
        }
    }

    const fn kind(&self) -> &'static str {
        match self {
            Self::Zone(_) => "zones",
            Self::Item(..) => "items",
            Self::Rule(_) => "rules",
            Self::Condition(..) => "conditions",
        }
    }
}

/// What a condition of this kind looks at.
fn looks_at(kind: Kind) -> String {
    match kind {
        Kind::Outcome => t!("drafts-looks-at-outcome"),
        Kind::Level => t!("drafts-looks-at-level"),
        Kind::Limit => t!("drafts-looks-at-limit"),
        Kind::Figure => t!("drafts-looks-at-figure"),
        Kind::Difference => t!("drafts-looks-at-difference"),
        Kind::Corrected => t!("drafts-looks-at-corrected"),
        Kind::Recurs => t!("drafts-looks-at-recurs"),
        Kind::Trend => t!("drafts-looks-at-trend"),
        Kind::Load => t!("drafts-looks-at-load"),
        Kind::Warmth => t!("drafts-looks-at-warmth"),
    }
}

fn version(form: &Form) -> i64 {
    form.text("version").parse().unwrap_or(-1)
}

fn one_part(
    req: &HttpRequest,
    actor: &Actor,
    page: &DraftPage,
    shown: &Showing,
    sent: Option<&Form>,
    refused: Vec<Shown>,
    status: StatusCode,
) -> Page {
    let draft = &page.draft;
    let part = shown.part();
    let new = part == HEAD;
    let faults: Vec<&DraftFault> = page.faults.iter().filter(|f| !new && f.part == part).collect();
    let asking = Asking { sent, faults };
    let draft_href = format!("/set-up/drafts/{}", page.row.id);
    let back = match shown {
        Showing::Condition(rule, _) => format!("{draft_href}/rules/{rule}"),
        _ => format!("{draft_href}#p{part}"),
    };
    let fields = match shown {
        Showing::Zone(zone) => shapes::zone_fields(&asking, zone),
        Showing::Item(zone, item) => shapes::item_fields(&asking, draft, *zone, item),
        Showing::Rule(rule) => shapes::rule_fields(&asking, rule),
        Showing::Condition(_, when) => shapes::condition_fields(&asking, draft, when),
    };
    let heading = match shown {
        Showing::Zone(_) if new => t!("drafts-new-zone"),
        Showing::Item(..) if new => t!("drafts-new-item"),
        Showing::Rule(_) if new => t!("drafts-new-rule"),
        Showing::Condition(_, when) => t!("drafts-condition", what = looks_at(when.kind)),
        _ => draft.called(part, here()),
    };
    let (mut conditions, mut kinds) = (Vec::new(), Vec::new());
    if let Showing::Rule(rule) = shown
        && !new
    {
        conditions.extend(rule.when.iter().map(|w| ConditionRow {
            href: format!("{draft_href}/conditions/{}", w.part),
            words: w.in_words(draft, here()),
            wrong: page.faults.iter().any(|f| f.part == w.part),
        }));
        kinds.extend(Kind::ALL.iter().map(|k| (k.as_str(), looks_at(*k))));
    }
    let problems = if refused.is_empty() { asking.problems("part") } else { refused };
    page_with(
        status,
        &OnePart {
            page: Frame::new(req, Some(actor)),
            problems,
            back,
            draft_title: title_said(&draft.title, &draft.translated, here()),
            heading,
            action: format!(
                "{draft_href}/{}/{}",
                shown.kind(),
                if new { "new".to_owned() } else { part.to_string() }
            ),
            version: page.row.version,
            part,
            rule: match shown {
                Showing::Condition(rule, _) => *rule,
                _ => HEAD,
            },
            kind: match shown {
                Showing::Condition(_, when) => when.kind.to_string(),
                _ => String::new(),
            },
            fields,
            note: match shown {
                Showing::Rule(_) if new => t!("drafts-note-rule"),
                Showing::Item(_, item) if !new && !item.key.is_empty() => {
                    t!("drafts-note-item")
                }
                _ => String::new(),
            },
            conditions,
            kinds,
            remove: if new { String::new() } else { draft.called(part, here()) },
            more: match shown {
                Showing::Item(zone, _) if !new => format!("{draft_href}/items/new?zone={zone}"),
                _ => String::new(),
            },
            draft_href,
        },
    )
}

async fn whole(
    site: &Site,
    req: &HttpRequest,
    actor: &Actor,
    id: DraftId,
    t: Typed,
    sent: Option<&Form>,
) -> Page {
    let page = workflow::draft_page(&site.workshop, actor, id).await?;
    let zone = local_time::zone_of(site, actor).await?;
    let draft = &page.draft;
    let wrong = |part: Part| page.faults.iter().any(|f| f.part == part);
    let of_head = page.faults.iter().filter(|f| f.part == HEAD).collect();
    let href = format!("/set-up/drafts/{id}");
    let rules = draft.rules.iter().map(|r| RuleRow {
        part: r.part,
        name: title_said(&r.name, &r.translated, here()),
        severity: r.severity.parse::<Severity>().map_or_else(|_| r.severity.clone(), Severity::here),
        when: r.when.iter().map(|w| w.in_words(draft, here())).collect(),
        wrong: wrong(r.part) || r.when.iter().any(|w| wrong(w.part)),
    });
    let view = Whole {
        page: Frame::new(req, Some(actor)),
        // What is wrong with the draft has its own list, with links to its pages.
        problems: if t.is("save") && t.status == StatusCode::UNPROCESSABLE_ENTITY {
            Vec::new()
        } else {
            t.problems
        },
        title: title_said(&draft.title, &draft.translated, here()),
        name: page.row.name.clone(),
        began: match page.row.based_on_version {
            0 => t!("drafts-began-new"),
            n => t!("drafts-began-from", version = n),
        },
        begun: when(page.row.created_at, &zone, site.workshop.ambient.now()),
        version: page.row.version,
        newest: page.newest,
        overtaken: page.newest > page.row.based_on_version,
        takes_the_place_of: page.takes_the_place_of.iter().map(ToString::to_string).collect(),
        faults: page.faults.iter().map(|f| mend(draft, &href, f)).collect(),
        head: shapes::head_fields(&Asking { sent, faults: of_head }, draft),
        zones: draft
            .zones
            .iter()
            .map(|z| ZoneRow {
                part: z.part,
                title: title_said(&z.title, &z.translated, here()),
                wrong: wrong(z.part),
                items: z.items.iter().map(|i| item_row(i, wrong(i.part))).collect(),
            })
            .collect(),
        rules: rules.collect(),
        differences: page.differences.iter().map(differs).collect(),
        href,
    };
    page_with(t.status, &view)
}

fn mend(draft: &Draft, href: &str, fault: &DraftFault) -> Mend {
    let part = fault.part;
    let kind = if draft.zone(part).is_some() {
        "zones"
    } else if draft.item(part).is_some() {
        "items"
    } else if draft.rule(part).is_some() {
        "rules"
    } else {
        "conditions"
    };
    let field = if fault.field.is_empty() { String::new() } else { format!("#f-{}", fault.field) };
    let href = if part == HEAD { field } else { format!("{href}/{kind}/{part}{field}") };
    Mend {
        href: if href.is_empty() { "#draft".to_owned() } else { href },
        sentence: t!("drafts-fault", what = draft.called(part, here()), sentence = fault.sentence),
    }
}

fn item_row(i: &Item, wrong: bool) -> ItemRow {
    // Of a draft, either may be no word of ours yet.
    let asks = i.asks.parse::<Asked>().map_or_else(|_| i.asks.clone(), Asked::here);
    let system = i.system.parse::<System>().map_or_else(|_| i.system.clone(), System::here);
    let mut says = vec![asks, system];
    if i.safety {
        says.push(t!("drafts-safety-item"));
    }
    if i.asks == "measure" {
        says.extend(i.measure.limits.iter().map(|l| l.in_words(here())));
    }
    says.retain(|s| !s.is_empty());
    ItemRow { part: i.part, title: title_said(&i.title, &i.translated, here()), says: says.join(", "), wrong }
}
