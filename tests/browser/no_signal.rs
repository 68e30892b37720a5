//! The operator's part where there is no signal: a phone behind a link that refuses, hangs, breaks off, drips and loses
//! answers. Whatever happens on the way, each record arrives once, and nothing is said to be known that is not.

use std::time::{Duration, Instant};

use chock::config::Photos;
use chock::domain::standing::Standing;
use chock::workflow;
use serde_json::{Value, json};

use super::driver::{Device, Driver};
use super::screen::Screen;
use crate::support::link::{Link, Signal};
use crate::support::served::Served;
use crate::support::{Bench, Engine, PASSWORD};

const PATIENCE: Duration = Duration::from_secs(40);
/// The phone's own queue, for a script.
pub const QUEUE: &str = "const assets = document.querySelector('link[rel=stylesheet]').href.replace('chock.css', ''); \
    const q = await import(assets + 'queue.js');";

pub struct Yard {
    pub bench: Bench,
    pub served: Served,
    pub link: Link,
    pub driver: Driver,
    pub phone: Screen,
}

impl Yard {
    /// The operator has signed in and looked at U-07 this morning, where there was a signal.
    pub async fn this_morning() -> Self {
        Self::with_photos(None).await
    }

    pub async fn with_photos(photos: Option<Photos>) -> Self {
        let bench = Bench::new(Engine::Sqlite).await;
        crate::support::has_password(&bench.workshop, bench.operator.id).await;
        let served = Served::with_photos(&bench.workshop, photos).await;
        let link = Link::to(&served.url).await;
        let driver = Driver::start().await;
        let phone = Screen::open(&driver, Device::Phone, true, &link.url).await;
        phone.go("/machines").await;
        phone.sign_in("otto@yard.example", PASSWORD).await;
        let yard = Self { bench, served, link, driver, phone };
        yard.has_its_pages().await;
        yard
    }

    /// The body of an async function, asked until it answers true.
    pub async fn until(&self, what: &str, script: &str) {
        let by = Instant::now() + PATIENCE;
        let script = format!("return (async () => {{ {script} }})()");
        let mut last = Ok(Value::Null);
        while last != Ok(json!(true)) {
            assert!(Instant::now() < by, "never came to be: {what}; {last:?}; {}", self.phone.text().await);
            tokio::time::sleep(Duration::from_millis(100)).await;
            last = self.phone.window.run(&script, &json!([])).await;
        }
    }

    pub async fn run(&self, script: &str) -> Value {
        let script = format!("return (async () => {{ {script} }})()");
        self.phone.window.run(&script, &json!([])).await.unwrap_or_else(|e| panic!("{script}: {e}"))
    }

    /// Without asking that the browser has nothing to complain of: here it has.
    pub async fn signs_in(&self, email: &str) {
        // It is put in above the form: nobody taps while the page still moves.
        self.until(
            "what waits here is said",
            &format!(
                "{QUEUE} return !(await q.entries()).some(q.isUnsent) || document.getElementById('unsent') !== null"
            ),
        )
        .await;
        self.phone.fill("Mail address", email).await;
        self.phone.fill("Password", PASSWORD).await;
        self.phone.tap("Sign in").await;
    }

    /// The last of the pages a phone keeps is there.
    pub async fn has_its_pages(&self) {
        let check = format!("/machines/{}/check", self.bench.second_machine);
        self.until(
            "the pages are on the phone",
            &format!("return (await (await caches.open('pages')).match('{check}')) !== undefined"),
        )
        .await;
    }

    async fn sets_a_pin(&self, pin: &str) {
        self.phone.go("/pin").await;
        self.phone.fill("PIN", pin).await;
        self.phone.fill("The same PIN again", pin).await;
        self.phone.fill("Your password", PASSWORD).await;
        self.phone.tap("Set the PIN").await;
        self.phone.until("Your PIN works on this device now").await;
    }

    /// Whoever takes the tablet next; asked about what is not sent, they go on.
    async fn becomes(&self, name: &str, pin: &str) {
        self.phone.window.go(&format!("{}/change-person", self.link.url)).await;
        self.phone.until("Who are you?").await;
        self.run("window.confirm = () => true;").await;
        self.phone.tick(name).await;
        self.phone.fill("PIN", pin).await;
        self.phone.tap("Go on").await;
        self.until("the person has changed", &format!("return document.body.dataset.name === '{name}'"))
            .await;
    }

    /// As the button does, whatever the phone is trying by itself at this moment.
    pub async fn send_now(&self) {
        self.run(&format!("{QUEUE} await q.drain(true)")).await;
    }

    /// Fills in a check of U-07; the driver's latch does not hold when `fails`.
    pub async fn walk_round(&self, fails: bool) {
        self.phone.window.go(&format!("{}/machines/{}/check", self.link.url, self.bench.machine)).await;
        self.phone.until("Send the check").await;
        // By hand in the story of the day; here the walk is not what is being tried.
        self.run(
            "for (const g of document.querySelectorAll('.answers')) { const first = g.querySelector('input'); \
             first.checked = true; const figure = g.parentElement.querySelector('.measure input'); \
             if (figure) { const limit = Math.max(...[...g.parentElement.querySelectorAll('.beside dd')] \
             .flatMap((d) => d.textContent.split(' ')).map(Number).filter((n) => n > 0)); \
             figure.value = (limit * 1.2).toFixed(1); } } \
             document.querySelector('[name=hours]').value = '1201.5';",
        )
        .await;
        if fails {
            self.phone.answer(&["Driver", "Seat belt latch"], "Does not work").await;
        }
    }

    pub async fn checks(&self) -> usize {
        let record =
            workflow::machine_record(&self.bench.workshop, &self.bench.supervisor, self.bench.machine, 1000);
        record.await.unwrap().checks.len()
    }

    pub async fn end(self) {
        self.bench.assert_sound().await;
        self.phone.window.close().await;
        self.served.stop().await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_failed_check_is_judged_on_the_phone_and_holds_the_machine_when_it_arrives() {
    let yard = Yard::this_morning().await;
    yard.link.becomes(Signal::Refuses);
    // What a phone does not keep is said to be missing, and what was asked of a kept list is picked out of it.
    yard.phone.window.go(&format!("{}/my-reports", yard.link.url)).await;
    yard.phone.until("The page you asked for is not on this phone").await;
    yard.phone.window.go(&format!("{}/machines?q=u8", yard.link.url)).await;
    yard.phone.until("No signal.").await;
    let shown = "return [...document.querySelectorAll('tbody tr')].filter((r) => r.offsetHeight) \
        .map((r) => r.querySelector('th').textContent.trim())";
    assert_eq!(yard.run(shown).await, json!(["U-08"]));
    yard.walk_round(true).await;
    yard.phone.says("No signal.").await;
    yard.phone.tap("Send the check").await;
    yard.phone.until("Saved on this phone").await;
    for words in
        ["Out of service: do not use", "Seat belt latch, driver", "Nobody else can see this yet", "Fit a tag"]
    {
        yard.phone.says(words).await;
    }
    assert_eq!(yard.bench.standing(yard.bench.machine).await, Standing::FitForUse, "nobody knows of it yet");
    assert_eq!(yard.checks().await, 0);
    yard.bench.wait(120);
    yard.link.becomes(Signal::Good);
    yard.run("dispatchEvent(new Event('online'))").await;
    yard.phone.tap("Send now").await;
    yard.phone.until("Received").await;
    assert_eq!(yard.bench.standing(yard.bench.machine).await, Standing::OutOfService);
    assert_eq!(yard.checks().await, 1);
    yard.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_pass_that_arrives_late_releases_nothing() {
    let yard = Yard::this_morning().await;
    yard.link.becomes(Signal::Refuses);
    yard.walk_round(false).await;
    yard.phone.tap("Send the check").await;
    yard.phone.until("Saved on this phone").await;
    yard.phone.says("Fit for use").await;
    let (w, id) = (&yard.bench.workshop, yard.bench.workshop.ambient.id());
    workflow::place_hold(w, &yard.bench.supervisor, id, yard.bench.machine, "Bent steering arm")
        .await
        .unwrap();
    yard.link.becomes(Signal::Good);
    yard.phone.tap("Send now").await;
    yard.phone.until("Received").await;
    yard.phone.says("Out of service: do not use").await;
    assert_eq!(yard.bench.standing(yard.bench.machine).await, Standing::OutOfService);
    yard.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_answer_lost_on_the_way_back_makes_no_second_check() {
    let yard = Yard::this_morning().await;
    yard.walk_round(true).await;
    yard.link.becomes(Signal::LosesAnswers);
    yard.phone.tap("Send the check").await;
    yard.phone.until("Saved on this phone").await;
    assert_eq!(yard.checks().await, 1, "the server has it although the phone does not know");
    yard.link.becomes(Signal::BreaksAfter(40));
    yard.send_now().await;
    yard.phone.until("Saved on this phone").await;
    yard.link.becomes(Signal::Good);
    yard.send_now().await;
    yard.phone.until("Received").await;
    assert_eq!(yard.checks().await, 1);
    yard.end().await;
}

/// Twenty records in the queue when the browser is killed: each arrives once when it is opened again, by two tabs at once.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn twenty_records_outlive_the_browser_and_arrive_once_from_two_tabs() {
    let mut yard = Yard::this_morning().await;
    yard.link.becomes(Signal::Refuses);
    yard.walk_round(false).await;
    yard.phone.tap("Send the check").await;
    yard.phone.until("Saved on this phone").await;
    let copies = yard
        .run(
            &format!("{QUEUE} const [first] = await q.entries(); \
             for (let n = 1; n < 20; n++) {{ const id = q.newId(); const body = {{ ...first.body, \
             engine_hours: String(1201.5 + n / 10) }}; \
             await q.save({{ ...first, id, body, recordedAt: new Date(Date.parse(first.recordedAt) + n).toISOString(), next: 0 }}); }} \
             return (await q.entries()).length"),
        )
        .await;
    assert_eq!(copies, json!(20));
    yard.phone.window.kill();
    let url = yard.link.url.clone();
    let window = yard.driver.open_again(yard.phone.window).await;
    yard.phone = Screen::over(window, &url);
    yard.link.becomes(Signal::Good);
    // The cookie may not have been on the disk yet.
    yard.phone.window.go(&format!("{url}/sign-in?to=/phone")).await;
    yard.phone.until("on this phone only").await;
    yard.signs_in("otto@yard.example").await;
    yard.phone.until("On this phone").await;
    yard.run("open('/phone'); open('/machines');").await;
    yard.until(
        "all are received",
        &format!(
            "{QUEUE} await q.drain(true); const all = await q.entries(); \
             return all.length === 20 && all.every((e) => e.state === 'received')"
        ),
    )
    .await;
    assert_eq!(yard.checks().await, 20);
    yard.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_sign_in_that_ends_loses_nothing_and_nobody_else_sends_it() {
    let yard = Yard::this_morning().await;
    yard.link.becomes(Signal::Refuses);
    yard.walk_round(false).await;
    yard.phone.tap("Send the check").await;
    yard.phone.until("Saved on this phone").await;
    crate::support::has_password(&yard.bench.workshop, yard.bench.operator.id).await;
    crate::support::has_password(&yard.bench.workshop, yard.bench.mechanic.id).await;
    yard.run("document.cookie = 'chock=; max-age=0; path=/'").await;
    yard.phone.window.devtools("Network.clearBrowserCookies", json!({})).await;
    yard.link.becomes(Signal::Good);
    yard.phone.tap("Send now").await;
    yard.phone.until("Your sign-in has ended").await;
    assert_eq!(yard.checks().await, 0);
    // Somebody else takes the phone.
    yard.phone.window.go(&format!("{}/sign-in?to=/phone", yard.link.url)).await;
    yard.signs_in("mats@yard.example").await;
    yard.phone.until("sign in as Otto Operator").await;
    yard.until(
        "it stays where it is",
        &format!("{QUEUE} await q.drain(true); return (await q.entries())[0].state === 'signed out'"),
    )
    .await;
    assert_eq!(yard.checks().await, 0, "never in another one's name");
    yard.phone.window.devtools("Network.clearBrowserCookies", json!({})).await;
    yard.phone.window.go(&format!("{}/sign-in?to=/phone", yard.link.url)).await;
    yard.signs_in("otto@yard.example").await;
    yard.phone.until("Check of U-07").await;
    yard.send_now().await;
    yard.phone.until("Received").await;
    assert_eq!(yard.checks().await, 1);
    yard.end().await;
}

/// On a tablet that two share: what one recorded waits for them, and none of their pages is kept for the other.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_change_of_person_by_pin_keeps_the_queue_and_no_pages() {
    let yard = Yard::this_morning().await;
    crate::support::has_password(&yard.bench.workshop, yard.bench.mechanic.id).await;
    yard.sets_a_pin("7402").await;
    yard.phone.go("/change-person").await;
    yard.phone.press("Sign in with a password").await;
    yard.signs_in("mats@yard.example").await;
    yard.phone.until("Queue").await;
    yard.sets_a_pin("6193").await;
    yard.becomes("Otto Operator", "7402").await;
    yard.has_its_pages().await;

    yard.link.becomes(Signal::Refuses);
    yard.walk_round(false).await;
    yard.phone.tap("Send the check").await;
    yard.phone.until("Saved on this phone").await;
    // Or he would send it himself on his way out.
    yard.belongs_to(None).await;
    yard.link.becomes(Signal::Good);
    yard.becomes("Mats Mechanic", "6193").await;
    yard.belongs_to(Some(yard.bench.operator.id)).await;
    let left = "const pages = await caches.open('pages'); const texts = []; \
        for (const r of await pages.keys()) texts.push(await (await pages.match(r)).text()); \
        return texts.filter((t) => t.includes('data-name=\"Otto Operator\"')).length";
    assert_eq!(yard.run(left).await, json!(0), "a page of his was kept for the next one");
    yard.send_now().await;
    let kept = format!("{QUEUE} return (await q.entries()).map((e) => [e.name, e.state])");
    assert_eq!(yard.run(&kept).await, json!([["Otto Operator", "signed out"]]));
    assert_eq!(yard.checks().await, 0, "never in another one's name");

    yard.becomes("Otto Operator", "7402").await;
    yard.send_now().await;
    assert_eq!(yard.run(&kept).await, json!([["Otto Operator", "received"]]));
    assert_eq!(yard.checks().await, 1);
    yard.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_full_phone_says_so_and_keeps_the_form() {
    let yard = Yard::this_morning().await;
    yard.walk_round(true).await;
    // As a browser refuses when the disk is full.
    yard.run(
        "IDBObjectStore.prototype.put = () => { throw new DOMException('full', 'QuotaExceededError'); };",
    )
    .await;
    yard.link.becomes(Signal::Refuses);
    yard.phone.tap("Send the check").await;
    yard.phone.until("This phone is full").await;
    yard.phone.says("Leave this page open").await;
    // With a signal the server takes it at once.
    yard.link.becomes(Signal::Good);
    yard.phone.tap("Send the check").await;
    yard.phone.until("Who has been told").await;
    assert_eq!(yard.checks().await, 1);
    yard.end().await;
}

/// The link takes everything and answers nothing: after a moment the phone shows what it kept.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_link_that_hangs_does_not_keep_the_operator_waiting() {
    let yard = Yard::this_morning().await;
    yard.link.becomes(Signal::Hangs);
    let began = Instant::now();
    yard.walk_round(false).await;
    yard.phone.says("No signal.").await;
    assert!(began.elapsed() < PATIENCE);
    yard.phone.tap("Send the check").await;
    yard.phone.until("on this phone only").await;
    yard.link.becomes(Signal::Good);
    yard.until(
        "it is sent by itself",
        &format!(
            "{QUEUE} await q.drain(true); const all = await q.entries(); \
             return all.length === 1 && all.every((e) => e.state === 'received')"
        ),
    )
    .await;
    assert_eq!(yard.checks().await, 1);
    yard.end().await;
}

/// A phone that has never been here, on 20 kbit/s: signing in and the check page with everything it needs.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_first_check_page_is_light() {
    const MOST_BYTES: u64 = 60_000;
    let bench = Bench::new(Engine::Sqlite).await;
    crate::support::has_password(&bench.workshop, bench.operator.id).await;
    let served = Served::start(&bench.workshop).await;
    let link = Link::to(&served.url).await;
    link.becomes(Signal::Drips(20_000));
    let driver = Driver::start().await;
    let phone = Screen::open(&driver, Device::Phone, true, &link.url).await;
    phone.window.go(&format!("{}/sign-in?to=/machines/{}/check", link.url, bench.machine)).await;
    let before = link.carried();
    let began = Instant::now();
    phone.sign_in("otto@yard.example", PASSWORD).await;
    phone.until("answered").await;
    let carried = link.carried();
    println!("sign-in page {before} bytes; {carried} in all, the second part in {:?}", began.elapsed());
    assert!(carried <= MOST_BYTES, "{carried} bytes with their headers");
    phone.window.close().await;
    served.stop().await;
}
