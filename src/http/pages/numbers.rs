//! The numbers: where it hurts, over a period and beside the period before. Each links to the rows behind it and says how
//! it is reckoned.

mod rows;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, web};
use askama::Template;
use chrono::{DateTime, NaiveDate, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;

use super::chart::{Bar, Graph, bars};
use super::figures::{Split, between_failures, percent, percent_short, split, whole_hours};
use super::frame::Frame;
use super::markup::Markup;
use super::shown::{When, amount, date_in_words, day_and_month, month_and_year, span, when};
use super::{Page, local_time, page_with};
use crate::domain::forecast::score::{FEWEST, Scored};
use crate::domain::machine::class_said;
use crate::domain::person::Act;
use crate::domain::reliability::acknowledged::Acknowledged;
use crate::domain::reliability::pareto::first_to_make;
use crate::domain::shift::Span;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow::{self, Looking, Numbers, PeriodNumbers};

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/numbers", web::get().to(numbers));
    rows::routes(cfg);
}

#[derive(Clone, Debug, Default, serde::Deserialize)]
#[serde(default)]
struct Asked {
    yard: String,
    class: String,
    /// Days by the first yard's clock; both, or the last weeks.
    from: String,
    to: String,
}

/// A figure now and before.
struct Figure {
    name: String,
    now: String,
    before: String,
    /// The rows behind it.
    href: String,
}

struct Quick {
    href: String,
    words: String,
    chosen: bool,
}

struct Step {
    from: String,
    share: String,
}

struct SystemRow {
    words: String,
    href: String,
    defects: i64,
    grounding: i64,
    share: String,
    up_to_here: String,
}

struct Again {
    unit_number: String,
    href: String,
    what: String,
    times: i64,
    defect_href: String,
}

struct Cost {
    unit_number: String,
    href: String,
    cost: String,
    orders: i64,
}

#[derive(Template)]
#[template(path = "numbers.html", config = ".askama.toml")]
struct NumbersPage {
    page: Frame,
    as_of: When,
    asked: Asked,
    /// Why the usual time is shown instead of what was typed.
    wrong: String,
    /// As typed.
    from: String,
    to: String,
    yards: Vec<String>,
    classes: Vec<String>,
    quick: Vec<Quick>,
    /// Yard and class, where one was chosen.
    chosen: String,
    /// Of the period, and of the one before.
    period: String,
    earlier: String,
    machines: usize,
    figures: Vec<Figure>,
    steps_chart: Markup,
    steps: Vec<Step>,
    split: Split,
    down_href: String,
    systems_chart: Markup,
    systems: Vec<SystemRow>,
    /// How many of them make four fifths.
    first: usize,
    again: Vec<Again>,
    careless: String,
    costs: Vec<Cost>,
    orders_href: String,
    definitions: Vec<(String, String)>,
}

/// The periods that are a tap away, in days.
const QUICK: [(i64, &str); 4] =
    [(28, "numbers-28"), (91, "numbers-91"), (365, "numbers-365"), (1_826, "numbers-1826")];
const USUAL: i64 = 91;
const MOST_COSTS: usize = 10;

async fn numbers(
    Signed(actor): Signed,
    req: HttpRequest,
    asked: web::Query<Asked>,
    site: web::Data<Site>,
) -> Page {
    actor.must(Act::SeeNumbers)?;
    let now = site.workshop.ambient.now();
    let zone = local_time::zone_of(&site, &actor).await?;
    let typed = asked.into_inner();
    let (typed_from, typed_to) = (typed.from.clone(), typed.to.clone());
    let (looking, asked, understood) = understood(typed, &zone, now);
    let n = workflow::numbers(&site.workshop, &actor, &looking).await?;
    let query = asked.query();
    let currency = &*site.workshop.currency;
    let period = looking.period;
    let earlier = Span::new(period.from - period.length(), period.from);
    let rows = |of: &str| format!("/numbers/rows?of={of}&{query}");
    let view = NumbersPage {
        page: Frame::new(&req, Some(&actor)),
        wrong: if understood { String::new() } else { t!("numbers-odd-period") },
        from: if understood { asked.from.clone() } else { typed_from },
        to: if understood { asked.to.clone() } else { typed_to },
        as_of: when(n.behind.unwrap_or(now), &zone, now),
        yards: n.yards.iter().map(|y| y.name.clone()).collect(),
        quick: quick(&asked, &zone, now),
        chosen: asked.chosen(None),
        period: in_days(period, &zone),
        earlier: in_days(earlier, &zone),
        machines: n.this.machines,
        figures: figures(&n, &rows, currency),
        steps_chart: steps_chart(&n, &zone),
        steps: n
            .steps
            .iter()
            .filter_map(|(from, a)| {
                Some(Step { from: date_in_words(day_of(*from, &zone)), share: percent(a.share()?) })
            })
            .collect(),
        split: split(&n.this.split, n.this.downs, &t!("numbers-split")),
        down_href: rows("down"),
        systems_chart: systems_chart(&n),
        systems: systems(&n, &query),
        first: first_to_make(&n.systems, 0.8),
        again: n
            .again
            .iter()
            .map(|a| Again {
                unit_number: a.unit_number.clone(),
                href: format!("/machines/{}/record", a.machine_id),
                what: a.what.to_string(),
                times: a.times,
                defect_href: format!("/defects/{}", a.last_defect),
            })
            .collect(),
        costs: n
            .costs
            .iter()
            .filter(|c| c.cost_minor > 0)
            .take(MOST_COSTS)
            .map(|c| Cost {
                unit_number: c.unit_number.clone(),
                href: format!("/machines/{}/record#cost", c.machine_id),
                cost: amount(c.cost_minor, currency),
                orders: c.orders,
            })
            .collect(),
        careless: match n.careless {
            Some(count) => t!("numbers-careless-said", count = count),
            None => t!("numbers-careless"),
        },
        orders_href: rows("orders"),
        definitions: definitions(),
        classes: n.classes,
        asked,
    };
    let status = if understood { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    page_with(status, &view)
}

impl Asked {
    /// "North yard · harvester · brakes": what of it was chosen; empty for everything.
    fn chosen(&self, system: Option<String>) -> String {
        let all = [self.yard.clone(), class_said(&self.class).to_string(), system.unwrap_or_default()];
        all.into_iter().filter(|one| !one.trim().is_empty()).collect::<Vec<_>>().join(" · ")
    }

    fn query(&self) -> String {
        let fields = [("yard", &self.yard), ("class", &self.class), ("from", &self.from), ("to", &self.to)];
        serde_urlencoded::to_string(fields).unwrap_or_default()
    }
}

/// What is asked for, with its days filled in, and whether they could be understood: the last thirteen weeks stand in, unless
/// two days make a period.
fn understood(asked: Asked, zone: &str, now: DateTime<Utc>) -> (Looking, Asked, bool) {
    let tz: Tz = zone.parse().unwrap_or(Tz::UTC);
    let today = now.with_timezone(&tz).date_naive();
    let read = |text: &str| NaiveDate::parse_from_str(text.trim(), "%Y-%m-%d").ok();
    let usual = (today - TimeDelta::days(USUAL - 1), today);
    let nothing_typed = asked.from.trim().is_empty() && asked.to.trim().is_empty();
    let ((from, to), understood) = match (read(&asked.from), read(&asked.to)) {
        (Some(from), Some(to)) if from <= to && (to - from).num_days() <= 3_660 && from <= today => {
            ((from, to.min(today)), true)
        }
        _ => (usual, nothing_typed),
    };
    let begin = |day: NaiveDate| {
        let midnight = day.and_time(chrono::NaiveTime::MIN);
        let found =
            (0..=3).find_map(|h| tz.from_local_datetime(&(midnight + TimeDelta::hours(h))).earliest());
        found.map_or_else(|| midnight.and_utc(), |at| at.with_timezone(&Utc))
    };
    let end = if to == today { now } else { begin(to + TimeDelta::days(1)) };
    let period = Span::new(begin(from).min(end - TimeDelta::minutes(1)), end);
    let looking = Looking { yard: asked.yard.clone(), class: asked.class.clone(), period };
    (looking, Asked { from: from.to_string(), to: to.to_string(), ..asked }, understood)
}

fn quick(asked: &Asked, zone: &str, now: DateTime<Utc>) -> Vec<Quick> {
    let today = day_of(now, zone);
    QUICK
        .iter()
        .map(|(days, words)| {
            let from = (today - TimeDelta::days(days - 1)).to_string();
            let to = today.to_string();
            let chosen = asked.from == from && asked.to == to;
            let there = Asked { from, to, ..asked.clone() };
            Quick { href: format!("/numbers?{}", there.query()), words: t!(words), chosen }
        })
        .collect()
}

fn day_of(at: DateTime<Utc>, zone: &str) -> NaiveDate {
    let tz: Tz = zone.parse().unwrap_or(Tz::UTC);
    at.with_timezone(&tz).date_naive()
}

/// "Thu 27 Aug 2026 to Wed 25 Nov 2026".
fn in_days(period: Span, zone: &str) -> String {
    let last = day_of(period.to - TimeDelta::seconds(1), zone);
    t!("numbers-period", from = date_in_words(day_of(period.from, zone)), to = date_in_words(last))
}

fn figures(n: &Numbers, rows: &impl Fn(&str) -> String, currency: &str) -> Vec<Figure> {
    let not_known = || t!("numbers-not-known");
    let figure = |name: String, href: String, say: &dyn Fn(&PeriodNumbers) -> String| Figure {
        name,
        now: say(&n.this),
        before: n.before.as_ref().map_or_else(not_known, say),
        href,
    };
    let share = |share: Option<f64>| share.map_or_else(not_known, percent);
    let held = |which: fn(&crate::domain::forecast::score::Score) -> f64| {
        move |p: &PeriodNumbers| match &p.honesty {
            Scored::Score(s) => t!("numbers-held", share = percent_short(which(s)), count = s.counted),
            Scored::TooFew { counted, .. } => t!("numbers-held-few", count = *counted, fewest = FEWEST),
        }
    };
    let (likely, surely) = (held(|s| s.likely_held), held(|s| s.almost_surely_held));
    vec![
        figure(t!("numbers-available"), rows("down"), &|p| share(p.calendar.share())),
        figure(t!("numbers-working"), rows("down"), &|p| match p.working {
            Some(w) => share(w.share()),
            None => t!("numbers-no-shifts"),
        }),
        figure(t!("numbers-downs"), rows("down"), &|p| {
            t!("numbers-downs-said", count = p.downs, time = whole_hours(p.calendar.down))
        }),
        figure(t!("numbers-failures"), rows("down"), &|p| p.failures.to_string()),
        figure(t!("numbers-mtbf"), rows("down"), &|p| between_failures(p.mtbf.as_ref(), false)),
        figure(t!("numbers-restoration"), rows("down"), &|p| match p.restored {
            0 => not_known(),
            count => t!("numbers-restoration-said", mean = span(p.restoring / count), count = count),
        }),
        figure(t!("numbers-cost"), rows("orders"), &|p| amount(p.cost, currency)),
        figure(t!("numbers-coverage"), rows("unchecked"), &|p| match p.coverage.share() {
            Some(s) => t!(
                "numbers-coverage-said",
                share = percent(s),
                checked = p.coverage.checked,
                unchecked = p.coverage.unchecked
            ),
            None => not_known(),
        }),
        figure(t!("numbers-acknowledged"), rows("acknowledged"), &|p| match p.acknowledged {
            Acknowledged { asked: 0, .. } => t!("numbers-none-asked"),
            Acknowledged { asked, median: None, .. } => t!("numbers-never-acknowledged", asked = asked),
            Acknowledged { asked, acknowledged, median: Some(median) } => t!(
                "numbers-acknowledged-said",
                median = span(median),
                acknowledged = acknowledged,
                asked = asked
            ),
        }),
        figure(t!("numbers-likely"), "/forecasts".to_owned(), &likely),
        figure(t!("numbers-surely"), "/forecasts".to_owned(), &surely),
    ]
}

fn steps_chart(n: &Numbers, zone: &str) -> Markup {
    let day = |at: DateTime<Utc>| {
        #[expect(clippy::cast_precision_loss, reason = "seconds of our times")]
        let days = at.timestamp() as f64 / 86_400.0;
        days
    };
    let points: Vec<(f64, f64)> =
        n.steps.iter().filter_map(|(at, a)| Some((day(*at), a.share()? * 100.0))).collect();
    let ends = n.steps.first().zip(n.steps.last());
    let long = ends.is_some_and(|(first, last)| last.0 - first.0 > TimeDelta::days(100));
    let short = |at: DateTime<Utc>| {
        let day = day_of(at, zone);
        if long { month_and_year(day) } else { day_and_month(day) }
    };
    let every = (n.steps.len() / 3).max(1);
    let x_words = n.steps.iter().step_by(every).map(|(at, _)| (day(*at), short(*at))).collect();
    Graph {
        says: t!("numbers-steps"),
        y_unit: "%".to_owned(),
        points,
        joined: true,
        x_words,
        y_most: Some(100.0),
        ..Graph::default()
    }
    .svg()
}

fn systems_chart(n: &Numbers) -> Markup {
    let most = n.systems.first().map_or(1, |s| s.count);
    #[expect(clippy::cast_precision_loss, reason = "counts of defects")]
    let length = |count: i64| count as f64 / most as f64;
    let drawn: Vec<Bar> = n
        .systems
        .iter()
        .map(|s| Bar {
            words: s.kind.here(),
            length: length(s.count),
            figure: format!("{} · {}", s.count, percent_short(s.share)),
        })
        .collect();
    bars(&t!("numbers-systems"), &drawn)
}

fn systems(n: &Numbers, query: &str) -> Vec<SystemRow> {
    let one = |s: &crate::domain::reliability::pareto::Ranked<crate::domain::checklist::System>| {
        let system = serde_urlencoded::to_string([("system", s.kind.as_str())]).unwrap_or_default();
        SystemRow {
            words: s.kind.here(),
            href: format!("/numbers/rows?of=defects&{system}&{query}"),
            defects: s.count,
            grounding: n.grounding.get(&s.kind).copied().unwrap_or_default(),
            share: percent_short(s.share),
            up_to_here: percent_short(s.up_to_here),
        }
    };
    n.systems.iter().map(one).collect()
}

fn definitions() -> Vec<(String, String)> {
    vec![
        (t!("numbers-available"), t!("numbers-def-available")),
        (t!("numbers-working"), t!("figures-def-working")),
        (t!("numbers-failures"), t!("figures-def-failure")),
        (t!("numbers-mtbf"), t!("numbers-def-mtbf")),
        (t!("numbers-restoration"), t!("numbers-def-restoration")),
        (t!("numbers-split"), t!("numbers-def-split")),
        (t!("numbers-cost"), t!("numbers-def-cost")),
        (t!("numbers-coverage"), t!("numbers-def-coverage")),
        (t!("numbers-acknowledged"), t!("numbers-def-acknowledged")),
        (t!("numbers-likely"), t!("forecasts-def-likely")),
        (t!("numbers-systems"), t!("numbers-def-systems")),
        (t!("numbers-again"), t!("numbers-def-again")),
    ]
}
