//! A figure is read back as it was understood before it is sent, and nothing moves while it is.

use serde_json::json;

use super::driver::{Device, Driver};
use super::screen::Screen;
use crate::support::served::Served;
use crate::support::{Bench, Engine, PASSWORD};

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_typed_is_read_back() {
    let b = Bench::new(Engine::Sqlite).await;
    let served = Served::start(&b.workshop).await;
    let driver = Driver::start().await;
    let phone = Screen::open(&driver, Device::Phone, true, &served.url).await;
    phone.go(&format!("/machines/{}/check", b.machine)).await;
    phone.sign_in("olga@yard.example", PASSWORD).await;
    let items = phone.items().await;
    let measured = |unit: &str| {
        let item = items.iter().find(|i| i.measured && i.limits.iter().any(|l| l.contains(unit)));
        item.unwrap_or_else(|| panic!("no limit in {unit}: {items:?}")).legends.clone()
    };
    let (length, pressure) = (measured(" mm"), measured(" psi"));
    let (length, pressure): (Vec<&str>, Vec<&str>) =
        (length.iter().map(String::as_str).collect(), pressure.iter().map(String::as_str).collect());
    let before = height(&phone).await;
    let answered = answers(&phone).await;

    // A comma as well as a point.
    for (typed, read) in
        [("1,2", "1.2 mm"), (" 3.40 ", "3.40 mm"), ("1,2,3", "Cannot be read. Like this: 14.5")]
    {
        phone.fill_in(&length, ".measure input", typed).await;
        phone.until(read).await;
        assert_eq!(height(&phone).await, before, "the page moved at {typed:?}");
    }
    assert_eq!(answers(&phone).await, answered, "what cannot be read is no answer");
    phone.fill_in(&length, ".measure input", "4").await;
    phone.until("4 mm").await;
    phone.says_not("Cannot be read").await;
    assert_ne!(answers(&phone).await, answered);

    // NIST SP 811, B.8 (from memory): 1 psi is 6.894757 kPa. In the limit's own unit nothing is worked out.
    phone.fill_in(&pressure, ".measure input", "20").await;
    phone.until("20 psi").await;
    phone.says_not("20 psi =").await;
    phone.fill_in(&pressure, ".measure input", "100").await;
    phone.take_unit(&pressure, "kPa").await;
    phone.until("100 kPa = 14.5 psi").await;
    assert_eq!(height(&phone).await, before);

    // The last answer leads to where the check is sent, many screens away.
    let all = "for (const a of document.querySelectorAll('.answers')) { \
        if (!a.querySelector('input:checked')) a.querySelector('input').click(); \
        const figure = a.parentElement.querySelector('.measure input'); if (figure) figure.value = '20'; } \
        document.getElementById('check').dispatchEvent(new Event('input'));";
    phone.window.run(all, &json!([])).await.unwrap();
    phone.until("All answered").await;
    phone.tap("Go to sending").await;
    let at = phone.window.run("return document.activeElement.textContent", &json!([])).await;
    assert_eq!(at, Ok(json!("Send the check")));

    // A report without a word is asked about before it is kept; one that the server refuses was not sent.
    phone.go(&format!("/machines/{}/report", b.machine)).await;
    phone.tap("Report it").await;
    phone.until("Say what is wrong: what you saw, heard, felt or smelt.").await;
    phone.fill("What is wrong?", &"x".repeat(301)).await;
    phone.tap("Report it").await;
    phone.until("300").await;
    phone.says_not("on this phone only").await;
    phone.says_not("Everything on this phone is sent").await;

    // Without scripts there is neither the line nor room for it.
    phone.window.close().await;
    let plain = Screen::open(&driver, Device::Phone, false, &served.url).await;
    plain.go(&format!("/machines/{}/check", b.machine)).await;
    plain.sign_in("olga@yard.example", PASSWORD).await;
    plain.fill_in(&length, ".measure input", "1,2").await;
    plain.says_not("1.2 mm").await;
    plain.window.close().await;
    served.stop().await;
}

async fn height(phone: &Screen) -> i64 {
    let asked = phone.window.run("return document.documentElement.scrollHeight", &json!([])).await;
    asked.expect("a height").as_i64().expect("a figure")
}

async fn answers(phone: &Screen) -> serde_json::Value {
    let asked = "return document.querySelector('[data-progress] output').textContent";
    phone.window.run(asked, &json!([])).await.expect("how many")
}
