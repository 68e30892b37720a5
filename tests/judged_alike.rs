//! The phone judges a check as the server does. Thousands of made-up checks, sound and absurd, are judged by `domain` and,
//! in headless Chromium, by web/static/judge.js; the whole answers are held against each other: every question, every
//! finding with its sentences, and the verdict.

mod checklists;
mod dice;
mod made_up;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chock::domain::answers;
use chock::domain::checklist::Checklist;
use chock::domain::history::Point;
use chock::domain::judge::judge;
use chock::domain::reading::{Context, Question};
use chock::domain::trend;
use chock::domain::unit::{Hours, MeasureError};
use chock::words::{Lang, Text};
use serde_json::{Value, json};

use crate::browser::driver::{Device, Driver, Window};
use crate::support::served::Served;
use crate::support::{Bench, Engine};
use dice::Dice;
use made_up::Made;

const CHECKS: usize = 10_000;
const AT_ONCE: usize = 250;
/// Of what must be seen. More of it is not looked for: it would take longer than the judging.
const ENOUGH: usize = 5;
/// Of numbers that both sides have read from JSON.
const LAST_DIGIT: f64 = 1e-15;

/// The page's side of it. Checklists are sent once and named by their number; all is sent as text, for the driver takes
/// its time over every object in an argument.
const GIVE_CHECKLISTS: &str = "globalThis.checklists = JSON.parse(arguments[0]); return null;";
const JUDGE: &str = "const [sent, lang] = arguments; \
    const modules = [import('/assets/any/judge.js'), import('/assets/any/words.js')]; \
    return Promise.all(modules).then(([{ judgeCheck }, { ready }]) => ready(lang).then(() => \
        JSON.stringify(JSON.parse(sent).map((made) => \
            judgeCheck(made.check, { ...made.by, checklist: globalThis.checklists[lang][made.checklist] })))));";

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_phone_judges_as_the_server_does() {
    // Another run of other checks: CHOCK_SEED=7 tests/run judged_alike.
    let seed = std::env::var("CHOCK_SEED").ok().and_then(|s| s.parse().ok()).unwrap_or(20_261_125);
    println!("the checks are made from seed {seed}");
    let mut dice = Dice(seed);
    let phone = Phone::start().await;
    let checklists = Arc::new(checklists::all(&mut dice));
    phone.give(&checklists).await;
    let mut seen = Seen::default();
    for round in 0..CHECKS / AT_ONCE {
        let lang = Lang::ALL[round % Lang::ALL.len()];
        let made: Vec<Made> = (0..AT_ONCE).map(|_| made_up::check(&checklists, &mut dice)).collect();
        let made = Arc::new(made);
        let server = {
            let (checklists, made) = (checklists.clone(), made.clone());
            tokio::task::spawn_blocking(move || {
                made.iter().map(|check| by_the_server(&checklists, check)).collect::<Vec<_>>()
            })
        };
        let judged = phone.judge(&checklists, &made, lang).await;
        for ((check, every), phone) in made.iter().zip(server.await.expect("judged")).zip(&judged) {
            let server = told_in(lang, &every);
            if let Some(at) = different(&server, phone, "") {
                let check = check.to_json(&checklists);
                panic!(
                    "seed {seed}, {lang:?}: {at}\n\nof the check\n{check:#}\n\nserver\n{server:#}\n\nphone\n{phone:#}"
                );
            }
            seen.add(&told_in(Lang::En, &every));
        }
    }
    phone.stop().await;
    seen.assert_all_sorts();
}

/// The comparison is worth something only if it can fail: a phone with slightly other rules is found out.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn other_rules_on_the_phone_would_be_noticed() {
    let mut dice = Dice(1);
    let phone = Phone::start().await;
    let checklists = checklists::all(&mut dice);
    let made: Vec<Made> = (0..AT_ONCE).map(|_| made_up::check(&checklists, &mut dice)).collect();
    let differences = |judged: &[Value]| {
        let differs = |(c, j): &(&Made, &Value)| {
            different(&told_in(Lang::En, &by_the_server(&checklists, c)), j, "").is_some()
        };
        made.iter().zip(judged).filter(differs).count()
    };
    phone.give(&checklists).await;
    assert_eq!(differences(&phone.judge(&checklists, &made, Lang::En).await), 0, "with the same rules");
    for (what, change) in checklists::CHANGES {
        let mut others = checklists.clone();
        others.iter_mut().for_each(change);
        phone.give(&others).await;
        let found = differences(&phone.judge(&checklists, &made, Lang::En).await);
        println!("{what}: {found} of {AT_ONCE} checks are judged otherwise");
        assert!(found > 0, "{what} makes no difference");
    }
    phone.stop().await;
}

/// A page that was kept from before a new kind of rule came must not judge by what it does not understand.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_page_too_old_for_a_rule_does_not_judge() {
    let phone = Phone::start().await;
    let checklists = checklists::all(&mut Dice(5));
    let kinds: BTreeSet<&str> =
        checklists.iter().flat_map(|c| &c.rules).flat_map(|r| &r.when).map(checklists::kind_of).collect();
    assert_eq!(kinds.len(), 10, "every kind is made up: {kinds:?}");
    let script = "return import('/assets/any/judge.js').then(({ knowsRulesOf }) => \
        JSON.parse(arguments[0]).map(knowsRulesOf));";
    let mut sent = json!(checklists);
    let known = phone.run(script, &json!([sent.to_string()])).await;
    assert!(known.as_array().expect("a list").iter().all(|k| k == true), "{known}");
    sent[0]["rules"][0]["when"][0]["kind"] = json!("smell");
    let known = phone.run(script, &json!([sent.to_string()])).await;
    assert_eq!((&known[0], &known[1]), (&json!(false), &json!(true)));
    phone.stop().await;
}

/// Figures of every size as they stand in sentences, and the points of Student's t behind the trends.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_phone_writes_figures_as_the_server_does() {
    let mut dice = Dice(3);
    let phone = Phone::start().await;
    let figures: Vec<f64> = (0..20_000).map(|_| dice.figure()).collect();
    let script = "return import('/assets/any/figures.js').then(({ wholeHours, inWords }) => \
        arguments[0].map((x) => [wholeHours(x), inWords(x, 'mm')]));";
    let written = phone.run(script, &json!([figures])).await;
    for (x, written) in figures.iter().zip(written.as_array().expect("a list")) {
        let words = chock::domain::unit::in_words(*x, chock::domain::unit::Unit::Mm);
        assert_eq!(*written, json!([format!("{x:.0}"), words]), "{x:e}");
    }
    let most = 2_000;
    let script = "return import('/assets/any/trend.js').then(({ studentT }) => \
        Array.from({ length: arguments[0] }, (_, i) => studentT(i + 1)));";
    let points = phone.run(script, &json!([most])).await;
    let mut worst: f64 = 0.0;
    // The server's takes long in a debug build: each of the first, where it bends, then every 25th.
    for freedom in (1..=200).chain((225..=most).step_by(25)) {
        let phone = points[freedom - 1].as_f64().expect("a figure");
        let server = student_t(freedom);
        worst = worst.max((phone / server - 1.0).abs());
    }
    println!("Student's t of 1 to {most} degrees of freedom: at most {worst:e} apart");
    assert!(worst < 1e-9, "{worst:e}");
    // From the table in NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, upper 0.025; from memory.
    for (freedom, table) in [(1, 12.706), (2, 4.303), (5, 2.571), (10, 2.228), (30, 2.042), (100, 1.984)] {
        let phone = points[freedom - 1].as_f64().expect("a figure");
        assert!((phone - table).abs() < 5.1e-4, "{freedom}: {phone}, in the table {table}");
    }
    phone.stop().await;
}

/// As the server works it out: it stands in what a line is kept as.
fn student_t(freedom: usize) -> f64 {
    let readings: Vec<(f64, f64)> =
        (0..freedom + 2).map(|n| (n as f64, if n % 2 == 0 { 1.0 } else { 2.0 })).collect();
    let line = trend::fit(&readings).expect("a line");
    serde_json::to_value(line).expect("JSON")["t"].as_f64().expect("a figure")
}

/// A browser on a page of the site.
struct Phone {
    driver: Driver,
    window: Window,
    served: Served,
    _bench: Bench,
}

impl Phone {
    async fn start() -> Self {
        let bench = Bench::new(Engine::Sqlite).await;
        let served = Served::start(&bench.workshop).await;
        let driver = Driver::start().await;
        let window = driver.open(Device::Phone, true).await;
        window.go(&format!("{}/sign-in", served.url)).await;
        Self { driver, window, served, _bench: bench }
    }

    async fn run(&self, script: &str, arguments: &Value) -> Value {
        let answer = self.window.run(script, arguments).await;
        answer.unwrap_or_else(|e| panic!("the module failed: {e}"))
    }

    async fn give(&self, checklists: &[Checklist]) {
        let in_lang = |lang: &Lang| {
            let lists: Vec<Checklist> = checklists.iter().map(|c| c.in_lang(*lang)).collect();
            (lang.tag(), json!(lists))
        };
        let all: BTreeMap<&str, Value> = Lang::ALL.iter().map(in_lang).collect();
        self.run(GIVE_CHECKLISTS, &json!([json!(all).to_string()])).await;
    }

    async fn judge(&self, checklists: &[Checklist], made: &[Made], lang: Lang) -> Vec<Value> {
        let sent: Vec<Value> = made.iter().map(|m| m.to_json(checklists)).collect();
        let judged = self.run(JUDGE, &json!([json!(sent).to_string(), lang.tag()])).await;
        let judged: Vec<Value> = serde_json::from_str(judged.as_str().expect("text")).expect("a list");
        assert_eq!(judged.len(), made.len());
        judged
    }

    async fn stop(self) {
        self.window.close().await;
        drop(self.driver);
        self.served.stop().await;
    }
}

fn by_the_server(checklists: &[Checklist], made: &Made) -> Value {
    let checklist = &checklists[made.checklist];
    let whole = |pointer: &str, sentence: Text| Question {
        pointer: pointer.to_owned(),
        item: None,
        position: None,
        sentence,
    };
    let engine_hours: Option<Hours> = match made.engine_hours.as_deref().map(str::parse).transpose() {
        Ok(hours) => hours,
        // As src/http/api/machines.rs refuses them, before anything else is looked at.
        Err(e) => return json!({"questions": [whole("/engine_hours", MeasureError::said(&e))]}),
    };
    let (air, mut questions) =
        match answers::read_air(made.air_temperature.as_deref(), made.air_unit.as_deref()) {
            Ok(air) => (air, Vec::new()),
            Err(question) => (None, vec![question]),
        };
    let context = Context {
        load: made.load,
        engine_hours,
        hours_confirmed: made.hours_confirmed,
        warmth: made.warmth,
        air,
        altitude_m: made.altitude_m,
    };
    let readings = answers::read(checklist, &context, &made.answers, &made.before).unwrap_or_else(|more| {
        questions.extend(more);
        Vec::new()
    });
    if !questions.is_empty() {
        return json!({ "questions": questions });
    }
    let judgement = judge(checklist, &context, &readings, &made.history);
    let verdict = judgement.verdict();
    json!({"readings": readings, "findings": judgement.findings, "verdict": verdict})
}

/// With every text as it is read in one language.
fn told_in(lang: Lang, value: &Value) -> Value {
    match value {
        Value::Object(all) if all.contains_key(Lang::En.tag()) => {
            all.get(lang.tag()).unwrap_or(&all[Lang::En.tag()]).clone()
        }
        Value::Object(all) => all.iter().map(|(key, v)| (key.clone(), told_in(lang, v))).collect(),
        Value::Array(all) => all.iter().map(|v| told_in(lang, v)).collect(),
        other => other.clone(),
    }
}

/// Where the two differ first, if they do.
fn different(server: &Value, phone: &Value, at: &str) -> Option<String> {
    match (server, phone) {
        (Value::Object(a), Value::Object(b)) => {
            let key =
                a.keys().find(|k| !b.contains_key(*k)).or_else(|| b.keys().find(|k| !a.contains_key(*k)));
            if let Some(key) = key {
                return Some(format!("{at}/{key} is on one side only"));
            }
            a.iter().find_map(|(key, value)| different(value, &b[key], &format!("{at}/{key}")))
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            a.iter().zip(b).enumerate().find_map(|(n, (a, b))| different(a, b, &format!("{at}/{n}")))
        }
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (a.as_f64()?, b.as_f64()?);
            let apart = (a - b).abs() > LAST_DIGIT * a.abs().max(b.abs());
            apart.then(|| format!("{at}: {a:e} on the server, {b:e} on the phone"))
        }
        (a, b) if a == b => None,
        (a, b) => Some(format!("{at}:\n  {a} on the server,\n  {b} on the phone")),
    }
}

/// What the made-up checks led to: were they all alike, they would prove little.
#[derive(Default)]
struct Seen {
    judged: usize,
    asked: usize,
    verdicts: BTreeMap<String, usize>,
    kinds: BTreeMap<&'static str, usize>,
}

/// Words that only one way of judging puts into an answer.
const KINDS: &[&str] = &[
    "is not answered",
    "is answered twice",
    "names no item",
    "is not on this checklist",
    "has no position",
    "is checked at",
    "cannot be right",
    "not a plain figure",
    "both a comma and a point",
    "figure is too long",
    "not a unit we know",
    "give the unit",
    "is not an answer",
    "is not a level",
    "has no marks",
    "cannot be left out",
    "cannot be put right",
    "still outside",
    "Measure it again",
    "takes no amount",
    "so it is not in",
    "Say what you did",
    "is too long. Write at most",
    "signs that cannot be shown",
    "The hour meter shows",
    "An air temperature of",
    "Air temperature:",
    "Engine hours are never negative",
    "Hours are kept in tenths",
    "(rule: safety item failed)",
    "(rule: item failed)",
    "corrected by",
    "not right",
    "corrected 2 times",
    "back on the day",
    "days after its release",
    "less than",
    "more than",
    "may be below",
    "may be above",
    "expected at",
    "at worst",
    "at 20 °C,",
    "the cold explains it",
    "the cold explains that much",
    "more than the gauge shows",
    "cold or warm",
    "its marks",
    "could not be measured",
    "does not work",
    "°F",
    "\"escalated\":true",
    "\"final_\":true",
];

impl Seen {
    fn add(&mut self, answer: &Value) {
        match answer["verdict"].as_str() {
            Some(verdict) => {
                self.judged += 1;
                *self.verdicts.entry(verdict.to_owned()).or_default() += 1;
            }
            None => self.asked += 1,
        }
        let mut text = None;
        for kind in KINDS {
            let seen = self.kinds.entry(kind).or_default();
            if *seen < ENOUGH {
                *seen += usize::from(text.get_or_insert_with(|| answer.to_string()).contains(kind));
            }
        }
    }

    fn assert_all_sorts(&self) {
        println!("{} judged {:?}, {} asked again\n{:?}", self.judged, self.verdicts, self.asked, self.kinds);
        assert!(self.judged > CHECKS / 2, "{} were judged", self.judged);
        assert!(self.asked > CHECKS / 10, "{} were asked again", self.asked);
        assert_eq!(self.verdicts.len(), 3, "{:?}", self.verdicts);
        let rare: Vec<_> = self.kinds.iter().filter(|(_, n)| **n < ENOUGH).collect();
        assert!(rare.is_empty(), "hardly ever seen: {rare:?}");
    }
}

/// Kept beside the generator's series, so that a point is written once.
fn point(at: chrono::DateTime<chrono::Utc>, hours: Option<i64>, base: f64) -> Point {
    Point { engine_hours: hours.map(chock::domain::unit::Hours), at, base }
}
