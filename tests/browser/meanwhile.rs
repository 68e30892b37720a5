//! What changes while records wait on a phone: the checklist, the machine, the app itself, who is signed in, and whether the
//! pictures' bucket is there. Nothing is lost, and each is said.

use chock::domain::ids::{MachineId, PersonId};
use chock::domain::standing::Standing;
use chock::workflow;
use serde_json::json;

use super::no_signal::{QUEUE, Yard};
use crate::support::bucket::{Bucket, Mood};
use crate::support::link::Signal;

impl Yard {
    /// A check of U-07 is on the phone and nowhere else.
    async fn saves_a_check(&self, fails: bool) {
        self.link.becomes(Signal::Refuses);
        self.walk_round(fails).await;
        self.phone.tap("Send the check").await;
        self.phone.until("Saved on this phone").await;
    }

    /// Of nobody it stays where it is: what is of whoever is signed in is sent by the first page that comes from the server.
    pub async fn belongs_to(&self, person: Option<PersonId>) {
        let person = person.map_or_else(|| "nobody".to_owned(), |p| p.to_string());
        self.run(&format!(
            "{QUEUE} const [e] = await q.entries(); \
             await q.save({{ ...e, person: '{person}', state: 'saved', next: Date.now() + 600000 }});"
        ))
        .await;
    }

    async fn states(&self) -> serde_json::Value {
        self.run(&format!("{QUEUE} return (await q.entries()).map((e) => e.state)")).await
    }

    async fn checks_of(&self, machine: MachineId) -> usize {
        let w = &self.bench.workshop;
        workflow::machine_record(w, &self.bench.supervisor, machine, 1000).await.unwrap().checks.len()
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_checklist_that_has_a_new_version_meanwhile_keeps_no_check_back() {
    let yard = Yard::this_morning().await;
    yard.saves_a_check(true).await;
    let w = &yard.bench.workshop;
    let source = chock::domain::shipped::SHIPPED[0].1;
    let (_, version) = workflow::upload_checklist(w, &yard.bench.owner, source).await.unwrap();
    assert_eq!(version, 2);
    // Whatever its turn is: the page came from the server, so there is a signal.
    yard.belongs_to(Some(yard.bench.operator.id)).await;
    yard.link.becomes(Signal::Good);
    yard.phone.window.go(&format!("{}/phone", yard.link.url)).await;
    yard.phone.until("Received").await;
    assert_eq!(yard.checks().await, 1);
    assert_eq!(yard.bench.standing(yard.bench.machine).await, Standing::OutOfService);
    // By the rules it was made with.
    yard.phone.window.go(&format!("{}/phone", yard.link.url)).await;
    yard.phone.until("The verdict").await;
    // Asked in a way that does not mind what the link did to the browser before.
    yard.run("location.assign([...document.querySelectorAll('a')].find((a) => a.textContent === 'The verdict').href)").await;
    yard.until(
        "the verdict",
        "return document.body.textContent.includes('Daily check, utility vehicle, version 1')",
    )
    .await;
    yard.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_machine_that_is_retired_meanwhile_says_so_and_holds_up_nothing_else() {
    let yard = Yard::this_morning().await;
    yard.saves_a_check(true).await;
    // And one of another machine behind it.
    let other = yard.bench.second_machine;
    yard.run(&format!(
        "{QUEUE} const [first] = await q.entries(); \
         const body = {{ ...first.body, machine: '{other}', engine_hours: '300.5' }}; \
         await q.save({{ ...first, id: q.newId(), machine: '{other}', unit: 'U-08', body, \
         recordedAt: new Date(Date.parse(first.recordedAt) + 1).toISOString(), next: 0 }});"
    ))
    .await;
    // The phone goes by the real clock and this yard by its own, which has to be later than that for it to be retired after.
    #[expect(clippy::disallowed_methods, reason = "what the phone recorded has the real time")]
    yard.bench.time.set(chrono::Utc::now() + chrono::TimeDelta::minutes(1));
    crate::support::has_password(&yard.bench.workshop, yard.bench.operator.id).await;
    workflow::retire_machine(&yard.bench.workshop, &yard.bench.owner, yard.bench.machine, "Sold")
        .await
        .unwrap();
    yard.link.becomes(Signal::Good);
    yard.phone.window.go(&format!("{}/sign-in?to=/phone", yard.link.url)).await;
    yard.signs_in("otto@yard.example").await;
    yard.phone.until("Check of U-07").await;
    yard.send_now().await;
    yard.phone.until("U-07 was retired after this check was recorded").await;
    yard.phone.says("tell the supervisor").await;
    assert_eq!(yard.states().await, json!(["refused", "received"]));
    assert_eq!((yard.checks().await, yard.checks_of(other).await), (0, 1));
    // What was recorded stays on the phone until its person deletes it.
    yard.send_now().await;
    assert_eq!(yard.states().await, json!(["refused", "received"]));
    yard.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn signing_out_with_unsent_checks_asks_first_and_loses_nothing_either_way() {
    let yard = Yard::this_morning().await;
    yard.saves_a_check(false).await;
    // Without a signal nobody is signed out, and nobody stands before the browser's own page.
    yard.run("document.querySelector('form.leave[action=\"/sign-out\"]').requestSubmit();").await;
    yard.phone.until("No signal: you are still signed in").await;
    assert_eq!(yard.phone.path().await, "/phone");
    yard.belongs_to(None).await;
    yard.link.becomes(Signal::Good);
    yard.phone.window.go(&format!("{}/phone", yard.link.url)).await;
    yard.phone.until("Saved on this phone").await;
    let leave = "window.asked = []; window.confirm = (q) => { window.asked.push(q); return ANSWER; }; \
        document.querySelector('form.leave[action=\"/sign-out\"]').requestSubmit(); \
        await new Promise((done) => setTimeout(done, 500)); return window.asked";
    let asked = yard.run(&leave.replace("ANSWER", "false")).await;
    let question = asked[0].as_str().expect("it asks").to_owned();
    assert!(
        question.contains("on this phone only") && question.contains("Sign out all the same?"),
        "{question}"
    );
    assert_eq!(yard.phone.path().await, "/phone", "still here");
    assert_eq!(yard.states().await, json!(["saved"]));
    // A tap within a moment of the last is the same tap.
    tokio::time::sleep(std::time::Duration::from_secs(5)).await;
    let sure =
        leave.replace("ANSWER", "true").replace("await new Promise((done) => setTimeout(done, 500));", "");
    yard.run(&sure).await;
    yard.phone.until("You are signed out").await;
    assert_eq!(yard.states().await, json!(["saved"]), "it waits for its person");
    assert_eq!(yard.checks().await, 0);
    yard.phone.window.go(&format!("{}/sign-in?to=/phone", yard.link.url)).await;
    yard.signs_in("otto@yard.example").await;
    yard.phone.until("Check of U-07").await;
    // Any other page says so on top, and goes on saying something there: what stands below must not move under a finger.
    yard.phone.window.go(&format!("{}/machines", yard.link.url)).await;
    yard.phone.until("on this phone only").await;
    let top = "return document.querySelector('main h1').getBoundingClientRect().top";
    let before = yard.run(top).await;
    yard.belongs_to(Some(yard.bench.operator.id)).await;
    yard.send_now().await;
    yard.phone.until("Everything on this phone is sent.").await;
    assert!(yard.run(top).await.as_f64().unwrap() <= before.as_f64().unwrap());
    yard.phone.window.go(&format!("{}/phone", yard.link.url)).await;
    yard.phone.until("Received").await;
    assert_eq!(yard.checks().await, 1);
    yard.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_new_version_of_the_app_sends_what_the_one_before_kept() {
    let yard = Yard::this_morning().await;
    yard.saves_a_check(true).await;
    yard.belongs_to(None).await;
    yard.link.becomes(Signal::OfAnotherBuild);
    yard.phone.window.go(&format!("{}/phone", yard.link.url)).await;
    yard.phone.until("Saved on this phone").await;
    let old = chock::http::assets::BASE.to_string();
    let new = yard.run("return new URL(document.querySelector('link[rel=stylesheet]').href).pathname").await;
    assert!(!new.as_str().unwrap().starts_with(&old) && new.as_str().unwrap().contains("/0000"), "{new}");
    yard.run("await (await navigator.serviceWorker.ready).update();").await;
    yard.until("the new worker is in charge", "const r = await navigator.serviceWorker.ready; return !r.waiting && !r.installing && r.active.state === 'activated'").await;
    assert_eq!(yard.states().await, json!(["saved"]), "the queue outlives the version");
    // The pages kept by the version before still open without a signal.
    yard.link.becomes(Signal::Refuses);
    yard.phone.window.go(&format!("{}/machines/{}/check", yard.link.url, yard.bench.second_machine)).await;
    yard.phone.until("No signal.").await;
    yard.phone.says("Send the check").await;
    yard.link.becomes(Signal::OfAnotherBuild);
    yard.phone.window.go(&format!("{}/phone", yard.link.url)).await;
    yard.phone.until("Saved on this phone").await;
    yard.belongs_to(Some(yard.bench.operator.id)).await;
    yard.send_now().await;
    yard.phone.until("Received").await;
    assert_eq!(yard.checks().await, 1);
    yard.end().await;
}

/// The check is in; its photo is sent again by itself once the bucket is there.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_photo_waits_on_the_phone_while_the_bucket_is_away() {
    let bucket = Bucket::start();
    let yard = Yard::with_photos(Some(bucket.settings())).await;
    bucket.be(Mood::Ill);
    yard.saves_a_check(true).await;
    yard.run(&format!(
        "{QUEUE} const canvas = Object.assign(document.createElement('canvas'), {{ width: 40, height: 20 }}); \
         canvas.getContext('2d').fillRect(0, 0, 40, 20); \
         const picture = await new Promise((done) => canvas.toBlob(done, 'image/jpeg')); \
         const [e] = await q.entries(); await q.save({{ ...e, photos: [{{ item: 'horn', position: '', picture }}], next: 0 }});"
    ))
    .await;
    yard.link.becomes(Signal::Good);
    yard.send_now().await;
    yard.phone.until("One photo is still to be sent").await;
    assert_eq!(yard.checks().await, 1, "no picture keeps a check from arriving");
    assert_eq!(yard.bench.standing(yard.bench.machine).await, Standing::OutOfService);
    let said = yard.run(&format!("{QUEUE} return (await q.entries())[0].said")).await;
    assert!(said.as_str().unwrap().contains("Send the picture again"), "{said}");
    bucket.be(Mood::Well);
    yard.until(
        "the photo is sent",
        &format!("{QUEUE} await q.drain(true); return (await q.entries())[0].photos.length === 0"),
    )
    .await;
    assert_eq!(bucket.objects().len(), 1);
    yard.end().await;
    bucket.stop().await;
}
