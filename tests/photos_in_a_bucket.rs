//! Pictures in a bucket that speaks S3, and what becomes of a photo when the bucket cannot be reached: the check is in, the
//! sender is told in a sentence, and sending the photo again later is all it takes.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use actix_web::http::header::CONTENT_TYPE;
use actix_web::test::TestRequest;
use actix_web::web::Data;
use chock::domain::person::Actor;
use chock::http::Site;
use chock::http::photo_store::{self, PhotoError, PhotoStore};
use chock::workflow;

use crate::operator_pages::Walk;
use crate::support::browser::{Answer, Browser, picture};
use crate::support::bucket::{Bucket, KEY, Mood, NAME, REGION, SECRET};
use crate::support::{Bench, Engine, on_both};

on_both!(
    a_photo_goes_into_the_bucket_and_comes_back_to_those_who_may_see_it,
    a_photo_that_cannot_be_stored_keeps_no_check_back_and_is_sent_again,
);

fn settings(bucket: &Bucket) -> photo_store::Bucket {
    photo_store::Bucket {
        name: NAME.to_owned(),
        prefix: "chock/photos".to_owned(),
        endpoint: Some(bucket.url.clone()),
        region: REGION.to_owned(),
        key: KEY.to_owned(),
        secret: SECRET.to_owned(),
        root: None,
        patience: Duration::from_millis(700),
    }
}

async fn with_bucket(b: &Bench, bucket: &Bucket) -> Browser {
    at_store(b, &b.operator, &settings(bucket)).await
}

async fn at_store(b: &Bench, who: &Actor, settings: &photo_store::Bucket) -> Browser {
    let mut browser = Browser::of(&b.workshop, who).await;
    let photos = PhotoStore::bucket(settings).unwrap();
    browser.site = Data::new(Site { photos, ..Site::clone(&browser.site) });
    browser
}

/// As a phone sends it: with the session of the page, after the check itself.
async fn send(browser: &Browser, check: &str) -> Answer {
    let request = TestRequest::put()
        .uri(&format!("/api/v1/checks/{check}/photos?item=horn&position="))
        .insert_header((CONTENT_TYPE, "image/png"))
        .insert_header(("sec-fetch-site", "same-origin"))
        .set_payload(picture());
    browser.ask(request).await
}

/// A photo of a check that is well. The same once more is the same object. Answers its page, and its name in the store.
async fn sent_twice(b: &Bench, otto: &Browser) -> (String, String) {
    let check = b.check(b.machine, 12_010);
    b.submit(check.clone()).await;
    send(otto, &check.id.to_string()).await.is(201);
    send(otto, &check.id.to_string()).await.is(200);
    let v = workflow::verdict(&b.workshop, &b.operator, check.id).await.unwrap();
    let [photo] = v.photos.as_slice() else { panic!("{:?}", v.photos) };
    let name = format!("chock/photos/{}/{}.jpg", &photo.sha256[..2], photo.sha256);
    (format!("/photos/{}", photo.id), name)
}

async fn a_photo_goes_into_the_bucket_and_comes_back_to_those_who_may_see_it(b: Bench) {
    let bucket = Bucket::start();
    let otto = with_bucket(&b, &bucket).await;
    let (path, name) = sent_twice(&b, &otto).await;
    let objects = bucket.objects();
    let [(kept_as, bytes)] = objects.as_slice() else { panic!("{} objects", objects.len()) };
    assert_eq!(*kept_as, name);
    let seen = otto.get(&path).await;
    seen.is(200);
    assert_eq!(&seen.bytes, bytes);
    assert_eq!(bucket.refused(), Vec::<String>::new(), "every request was signed as published");

    let mut stranger = Browser::of(&b.workshop, &b.somebody_elsewhere().await).await;
    stranger.site = otto.site.clone();
    let asked = bucket.asked();
    stranger.get(&path).await.is(404);
    assert_eq!(bucket.asked(), asked, "who may see it is decided before the bucket is asked");

    // Another picture in its place is not shown.
    bucket.put(&name, b"another picture");
    otto.get(&path).await.is(500);
    bucket.stop().await;
}

async fn a_photo_that_cannot_be_stored_keeps_no_check_back_and_is_sent_again(b: Bench) {
    let bucket = Bucket::start();
    let otto = with_bucket(&b, &bucket).await;
    let check = b.failed_check(b.machine, 12_010, "fuel-leak", "left-side");
    let answered = b.submit(check.clone()).await;
    let id = check.id.to_string();
    for mood in [Mood::Ill, Mood::Silent] {
        bucket.be(mood);
        let asked = bucket.asked();
        let refused = send(&otto, &id).await;
        refused.is(503).says("cannot be reached just now").says("Send the picture again.");
        assert_eq!(refused.headers.get("retry-after").unwrap(), "5");
        assert!(bucket.asked() > asked + 1, "{mood:?}: it was tried again before giving up");
    }
    let v = workflow::verdict(&b.workshop, &b.operator, check.id).await.unwrap();
    assert_eq!((v.photos.len(), v.held_now), (0, true), "the check is in and holds the machine");
    assert_eq!(b.submit(check.clone()).await, answered);

    // The form without JavaScript: the check is in, and the page says which photos are not.
    bucket.be(Mood::Ill);
    let mut walk = Walk::begin(&b, &otto, b.second_machine, "301").await;
    walk.answer(&b, "horn", "", "outcome", "defect");
    let horn = b.checklist.walk().iter().find(|s| s.is("horn", None)).unwrap().index;
    let (field, png) = (format!("a.{horn}.photo"), picture());
    let sent = walk.send(&otto, b.second_machine, &[(&field, "horn.png", &png)]).await;
    sent.leads_to(&format!("/checks/{}?photos={horn}s", walk.check));
    otto.get(&sent.to).await.says("The check is in. Its photos are not").says("Horn");

    bucket.be(Mood::Well);
    send(&otto, &id).await.is(201);
    let v = workflow::verdict(&b.workshop, &b.operator, check.id).await.unwrap();
    let path = format!("/photos/{}", v.photos[0].id);
    otto.get(&path).await.is(200);
    bucket.be(Mood::Ill);
    otto.get(&path).await.is(503).says("Try again in a moment.");
    b.assert_sound().await;
    bucket.stop().await;
}

/// The tests' own bucket knows what we know of S3. This one was written by others (moto), and takes any signature.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_store_that_others_wrote_keeps_pictures_as_well() {
    let mut store = Command::new(crate::mail::python())
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/support/bucket_server.py"))
        .arg(NAME)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("run tests/run, which sets it up");
    let said = BufReader::new(store.stdout.take().unwrap()).lines().map_while(Result::ok);
    let address = said.into_iter().find(|line| line.starts_with("http://")).expect("its address");
    let settings = photo_store::Bucket {
        name: NAME.to_owned(),
        prefix: "chock/photos".to_owned(),
        endpoint: Some(address.clone()),
        region: "us-east-1".to_owned(),
        key: KEY.to_owned(),
        secret: SECRET.to_owned(),
        root: None,
        patience: Duration::from_secs(10),
    };
    let b = Bench::new(Engine::Sqlite).await;
    let otto = at_store(&b, &b.operator, &settings).await;
    let (path, name) = sent_twice(&b, &otto).await;
    let client = crate::support::client().build().unwrap();
    let unsigned = client.get(format!("{address}/{NAME}/{name}")).send().await.unwrap();
    assert_eq!(unsigned.status(), 403, "it is there, and nobody else's to read");
    let none = client.get(format!("{address}/{NAME}/{name}.not")).send().await.unwrap();
    assert_ne!(none.status(), 403);
    let kept = otto.get(&path).await;
    kept.is(200);

    // Another server, with the same settings.
    let other = at_store(&b, &b.mechanic, &settings).await;
    let seen = other.get(&path).await;
    seen.is(200);
    assert_eq!(seen.bytes, kept.bytes);

    drop(store.stdin.take());
    store.wait().unwrap();
    other.get(&path).await.is(503).says("Try again in a moment.");
}

#[tokio::test]
async fn a_wrong_secret_is_turned_away() {
    let bucket = Bucket::start();
    let wrong = photo_store::Bucket { secret: "under the second stone".to_owned(), ..settings(&bucket) };
    let store = PhotoStore::bucket(&wrong).unwrap();
    assert!(matches!(store.keep(picture().into()).await, Err(PhotoError::Store(_))));
    assert_eq!(bucket.refused(), ["the signature is another"]);
    assert!(bucket.objects().is_empty());
    bucket.stop().await;
}
