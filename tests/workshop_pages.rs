//! The mechanic's, supervisor's and owner's pages, used as a browser without scripts uses them: read, fill in, send.

use actix_web::App;
use actix_web::cookie::Cookie;
use actix_web::http::header::CONTENT_TYPE;
use actix_web::test::{TestRequest, call_service, init_service};
use chock::domain::standing::Standing;
use chock::http::routes;
use chock::workflow::{self, NewMachine, NewYard};

use crate::support::browser::Browser;
use crate::support::{Bench, PASSWORD, at, on_both};

on_both!(
    from_the_queue_back_to_service,
    what_was_typed_is_kept,
    whoever_may_not_is_not_asked,
    the_board_says_what_is_grounded,
    a_change_is_told_at_once_and_only_in_ones_yards,
    the_store_and_its_ledger,
    setting_up,
    a_checklist_with_faults_loses_nothing,
);

async fn from_the_queue_back_to_service(b: Bench) {
    let w = &b.workshop;
    let mut check = b.check(b.machine, 12_010);
    let pad = at(&mut check.answers, "brake-pad", "front-left");
    (pad.value, pad.unit) = (Some("1.2".into()), Some("mm".into()));
    pad.note = Some("Grinds <downhill>".into());
    let order = b.submit(check).await.work_order.unwrap();
    let here = format!("/work-orders/{order}");
    let (mats, sara) = (Browser::of(w, &b.mechanic).await, Browser::of(w, &b.supervisor).await);

    let queue = mats.get("/queue").await;
    queue.is(200).says("U-07").says("Brake pad, front left: 1.2 mm").says("The machine is out of service");
    queue.says(&format!("action=\"{here}/claim\""));
    mats.send(&format!("{here}/claim"), &[]).await.leads_to("?done=claimed");
    let page = mats.get(&format!("{here}?done=claimed")).await;
    page.is(200).says("The work order is yours.").says("1.2 mm").says("at least 1.5 mm");
    page.says("Grinds &#60;downhill&#62;").says("Caution").says("Start the timer");

    mats.send(&format!("{here}/start"), &[]).await.leads_to("?done=started");
    mats.get(&here).await.says("Send for repair outside");
    b.wait(45);
    mats.get(&here).await.says("Stop the timer").says("0:45:00");
    mats.send(&format!("{here}/stop"), &[]).await.leads_to("?done=stopped");
    // 45 minutes at 60.00 an hour.
    mats.get(&here).await.says("45.00 EUR");

    let part = b.part.to_string();
    let take = |act, quantity| [("act", act), ("part", part.as_str()), ("quantity", quantity)];
    mats.send(&format!("{here}/parts"), &take("reserve", "2")).await.leads_to("?done=reserved");
    mats.send(&format!("{here}/parts"), &take("issue", "2")).await.leads_to("?done=issued");
    mats.send(&format!("{here}/parts"), &take("return", "1")).await.leads_to("?done=returned");
    mats.get(&here).await.says("30.00 EUR").says("75.00 EUR");

    let wait = [("waiting_for", "access"), ("until", "2026-11-27"), ("note", "lift is in use")];
    mats.send(&format!("{here}/wait"), &wait).await.leads_to("?done=waiting");
    mats.get("/queue").await.says("Waiting for access: lift is in use, expected Fri 27 Nov");
    mats.send(&format!("{here}/start"), &[]).await.leads_to("?done=started");

    let defect = workflow::order_page(w, &b.owner, order).await.unwrap().defects[0].defect.id.to_string();
    let (cause, remedy) = (format!("defects-{defect}-cause"), format!("defects-{defect}-remedy"));
    let finish: [(&str, &str); 3] =
        [("defect", &defect), (&cause, "Worn to the backing"), (&remedy, "New pads, slides greased")];
    mats.send(&format!("{here}/finish"), &finish).await.leads_to("?done=done");

    // The release waits for the retest, and says so.
    sara.get(&here).await.says("has not been retested");
    let retest = format!("{here}/defects/{defect}/retest");
    mats.get(&here).await.says(&format!("action=\"{retest}\"")).says("At the check").says("1.2 mm");
    let answer = |value| {
        [
            ("answers-0-item", "brake-pad"),
            ("answers-0-position", "front-left"),
            ("answers-0-outcome", "measured"),
            ("answers-0-value", value),
            ("answers-0-unit", "mm"),
        ]
    };
    let asked = mats.send(&retest, &answer("")).await;
    asked.is(422).says(&format!("href=\"#retest-{defect}-answers-0")).says("give the figure");
    mats.send(&retest, &answer("1.4")).await.leads_to("?done=retest-failed");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    b.wait(1);
    mats.send(&format!("{here}/finish"), &finish).await.leads_to("?done=done");
    mats.send(&retest, &answer("9.5")).await.leads_to("?done=retest-passed");

    // Whoever signed in long ago gives the password as well: tests/rights.rs. She has just come in.
    let sara = Browser::of(w, &b.supervisor).await;
    sara.get(&here).await.says("U-07</span> to service?");
    let hasty = sara.send(&format!("{here}/release"), &[("note", "Braked twice, holds")]).await;
    hasty.is(422).says("#release-confirm").says("value=\"Braked twice, holds\"");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    let sure = [("confirm", "yes"), ("note", "Braked twice, holds")];
    sara.get(&here).await.says("In doubt, it stays out of service.").says("Cost so far");
    sara.send(&format!("{here}/release"), &sure).await.leads_to("?done=released");
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);
    // Pressed twice: no answer is wrong.
    let twice = sara.send(&format!("{here}/release"), &sure).await;
    twice.is(409).says("Not done</h2>").says("The work order is closed.").says_not("needs your attention");
    let closed = sara.get(&here).await;
    closed.is(200).says_not("Send for repair outside").says_not("Cost so far");
    let note = sara.get(&format!("{here}/note")).await;
    note.is(200).says("Return to service").says("Worn to the backing").says("New pads, slides greased");
    note.says("Mats Mechanic").says("Sara Supervisor").says("Braked twice, holds");
    note.says_not("Released by the repairer");
    b.assert_sound().await;
}

async fn what_was_typed_is_kept(b: Bench) {
    let order = b.ground(b.machine).await;
    let here = format!("/work-orders/{order}");
    let mats = Browser::of(&b.workshop, &b.mechanic).await;
    mats.send(&format!("{here}/claim"), &[]).await.is(303);

    let times = [("from", "2026-10-25T02:30"), ("to", "2026-10-25T04:00")];
    let twice = mats.send(&format!("{here}/labour"), &times).await;
    twice.is(422).says("came twice").says("value=\"2026-10-25T02:30\"").says("#labour-from");
    let times = [("from", "2026-11-25T06:30"), ("to", "2026-11-25T09:30")];
    let later = mats.send(&format!("{here}/labour"), &times).await;
    later.is(422).says("before it is done").says("value=\"2026-11-25T06:30\"");
    // The yard is an hour ahead of UTC in winter.
    let times = [("from", "2026-11-25T06:00"), ("to", "2026-11-25T06:30")];
    mats.send(&format!("{here}/labour"), &times).await.leads_to("?done=entered");
    let again = mats.send(&format!("{here}/labour"), &times).await;
    again.is(409).says("overlaps").says("value=\"2026-11-25T06:30\"");

    let part = b.part.to_string();
    let greedy = [("act", "issue"), ("part", part.as_str()), ("quantity", "4")];
    mats.send(&format!("{here}/parts"), &greedy).await.is(409).says("Only 3").says("value=\"4\"");
    let nothing = [("act", "reserve"), ("part", ""), ("quantity", "1")];
    mats.send(&format!("{here}/parts"), &nothing).await.is(422).says("Choose a part.");

    let wait = [("waiting_for", "parts"), ("until", "soon"), ("note", "a seal")];
    mats.send(&format!("{here}/wait"), &wait).await.is(422).says("#wait-until").says("value=\"a seal\"");

    let defect =
        workflow::order_page(&b.workshop, &b.owner, order).await.unwrap().defects[0].defect.id.to_string();
    let cause = format!("defects-{defect}-cause");
    let half: [(&str, &str); 2] = [("defect", &defect), (&cause, "Hose chafed on the bracket")];
    let asked = mats.send(&format!("{here}/finish"), &half).await;
    asked
        .is(422)
        .says(&format!("#finish-defects-{defect}-remedy"))
        .says("Hose chafed on the bracket</textarea>");
}

async fn whoever_may_not_is_not_asked(b: Bench) {
    let order = b.ground(b.machine).await;
    let here = format!("/work-orders/{order}");
    let w = &b.workshop;
    let (mats, mia) = (Browser::of(w, &b.mechanic).await, Browser::of(w, &b.other_mechanic).await);
    let (otto, sara) = (Browser::of(w, &b.operator).await, Browser::of(w, &b.supervisor).await);
    let stranger = Browser::of(w, &b.somebody_elsewhere().await).await;

    mats.send(&format!("{here}/claim"), &[]).await.is(303);
    mia.send(&format!("{here}/claim"), &[]).await.is(409).says("Mats Mechanic has this work order.");
    let no_mechanic = sara.send(&format!("{here}/claim"), &[]).await;
    no_mechanic.is(403).says("you need the role mechanic").says_not("needs your attention");

    mia.get(&here).await.is(200).says_not("Start the timer").says_not("Work done</button>");
    otto.get(&here).await.is(200).says_not("/claim\"").says_not("/parts\"").says_not("/cancel\"");
    otto.send(&format!("{here}/cancel"), &[("reason", "I want it back")]).await.is(403);
    stranger.get(&here).await.is(404).says_not("U-07");
    stranger.send(&format!("{here}/cancel"), &[("reason", "x")]).await.is(404);
    otto.get("/queue").await.is(403);
    otto.get("/set-up").await.is(403);
    otto.get("/audit").await.is(403);
    sara.get("/set-up/people").await.is(403);
    let nobody = mats.with_secret("guessed");
    nobody.get("/board").await.leads_to("/sign-in?to=/board");
    nobody.get("/live").await.is(303);

    let reason = sara.send(&format!("{here}/cancel"), &[("reason", "")]).await;
    reason
        .is(422)
        .says("#cancel-reason")
        .says("Cancel the work order of <span class=\"unbroken\">U-07</span>?");
    sara.send(&format!("{here}/cancel"), &[("reason", "opened twice")]).await.leads_to("?done=cancelled");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    let board = sara.get("/board").await;
    board.says("a work order").says(&format!("action=\"/machines/{}/work-order\"", b.machine));
    let opened = sara.send(&format!("/machines/{}/work-order", b.machine), &[]).await;
    sara.get(&opened.to).await.is(200).says("nobody yet");
}

async fn the_board_says_what_is_grounded(b: Bench) {
    let w = &b.workshop;
    let olga = Browser::of(w, &b.owner).await;
    olga.get("/board").await.is(200).says("No machine is out of service");
    let order = b.ground(b.machine).await;
    let horn = b.submit(b.failed_check(b.second_machine, 3_010, "horn", "")).await;
    assert_eq!(horn.standing, Standing::Monitored);
    workflow::set_need(w, &b.owner, b.yard, "utility vehicle", 2).await.unwrap();
    b.wait(131);
    let board = olga.get("/board").await;
    board
        .says("1 machine out of service, 0.00 EUR so far")
        .says("Fuel and injection lines, left side")
        .says("2 h 11 min");
    board.says("a mechanic").says("0.00 EUR").says("Horn").says("<strong>1</strong>");
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let fragment = olga.get("/board?fragment=1&yard=North+yard").await;
    fragment.is(200).says("Mats Mechanic").says_not("<html").says_not("<h1>");
    olga.get("/board?class=quad").await.is(422);
    let new_yard = NewYard {
        name: "South yard".into(),
        zone: "Europe/Oslo".into(),
        one_person: false,
        altitude_m: None,
    };
    let elsewhere = workflow::add_yard(w, &b.owner, new_yard).await.unwrap();
    let quad = NewMachine {
        yard: elsewhere,
        unit_number: "Q-9".into(),
        class: "quad".into(),
        description: String::new(),
        serial: String::new(),
        engine_hours: None,
    };
    workflow::add_machine(w, &b.owner, quad).await.unwrap();
    let nothing = olga.get("/board?yard=North+yard&class=quad").await;
    nothing.says("No machine is out of service here").says("No machine of this choice.");
    nothing.says_not("There are no machines yet");
    let csv = olga.get("/board.csv").await;
    let rows: Vec<&str> = csv.is(200).html.split("\r\n").collect();
    assert_eq!(rows.len(), 4, "a head, two machines, and the end of the last line: {rows:?}");
    assert!(rows[1].starts_with("U-07,utility vehicle,North yard,out of service,"), "{}", rows[1]);
    assert!(rows[2].starts_with("U-08,utility vehicle,North yard,monitored,"), "{}", rows[2]);
}

/// What `/live` sends between two moments is read off its body, as a browser would.
async fn a_change_is_told_at_once_and_only_in_ones_yards(b: Bench) {
    use actix_web::body::MessageBody;
    use std::future::poll_fn;
    use std::pin::pin;
    use std::time::Duration;

    let stranger = b.somebody_elsewhere().await;
    for (person, hears) in [(&b.mechanic, true), (&stranger, false)] {
        let browser = Browser::of(&b.workshop, person).await;
        let app = init_service(App::new().app_data(browser.site.clone()).configure(routes::configure)).await;
        let request = TestRequest::get().uri("/live").cookie(Cookie::new("chock", browser.secret.clone()));
        let answer = call_service(&app, request.to_request()).await;
        assert_eq!(answer.headers().get(CONTENT_TYPE).unwrap(), "text/event-stream; charset=utf-8");
        let mut body = pin!(answer.into_body());
        let mut sent = String::new();
        // SQLite tells within the process; PostgreSQL through its own channel, which must be listened to first.
        let relay = tokio::spawn({
            let workshop = b.workshop.clone();
            async move { workflow::relay_changes(&workshop).await }
        });
        tokio::time::sleep(Duration::from_millis(300)).await;
        let placed = workflow::place_hold(
            &b.workshop,
            &b.operator,
            b.workshop.ambient.id(),
            b.second_machine,
            "Something rattles",
        );
        placed.await.unwrap();
        let listening = async {
            while let Some(Ok(bytes)) = poll_fn(|cx| body.as_mut().poll_next(cx)).await {
                sent.push_str(std::str::from_utf8(&bytes).unwrap());
                if sent.contains(&b.yard.to_string()) {
                    break;
                }
            }
        };
        let _ = tokio::time::timeout(Duration::from_secs(2), listening).await;
        relay.abort();
        assert!(sent.starts_with("retry: "), "{sent}");
        let event = format!("event: changed\ndata: {}\n\n", b.yard);
        assert_eq!(sent.contains(&event), hears, "{}: {sent}", person.name);
    }
}

async fn the_store_and_its_ledger(b: Bench) {
    let sara = Browser::of(&b.workshop, &b.supervisor).await;
    sara.get("/store").await.is(200).says("Brake pad set").says("90.00 EUR");
    let twice = [("number", "BP-1"), ("name", "Pads"), ("unit", "set"), ("bin", "")];
    sara.send("/store/new", &twice)
        .await
        .is(409)
        .says("There is a part BP-1 already.")
        .says("value=\"Pads\"");
    let fluid = [("number", "BF-4"), ("name", "Brake fluid"), ("unit", "L"), ("bin", "F2")];
    let added = sara.send("/store/new", &fluid).await;
    let here = added.is(303).to.trim_end_matches("?done=saved").to_owned();
    let some = [("quantity", "0,35"), ("value", "5.95"), ("note", "=note 7")];
    sara.send(&format!("{here}/receive"), &some).await.leads_to("&done=received");
    let bad = [("quantity", "1e3"), ("value", "5"), ("note", "")];
    sara.send(&format!("{here}/receive"), &bad).await.is(422).says("#receive-quantity").says("value=\"1e3\"");
    let ordered = [("quantity", "2"), ("at", "2026-11-30")];
    sara.send(&format!("{here}/ordered"), &ordered).await.leads_to("&done=ordered");
    let page = sara.get(&here).await;
    page.says("0.35 L").says("5.95 EUR").says("Mon 30 Nov").says("+0.35 L").says("=note 7");
    b.assert_sound().await;
}

async fn setting_up(b: Bench) {
    let w = &b.workshop;
    let olga = Browser::of(w, &b.owner).await;
    let nowhere = [("name", "Far yard"), ("zone", "Europe/Nowhere")];
    olga.send("/set-up/yards", &nowhere).await.is(422).says("#yard-zone").says("value=\"Europe/Nowhere\"");
    let far = [("name", "Far yard"), ("zone", "Pacific/Auckland")];
    olga.send("/set-up/yards", &far).await.leads_to("?done=saved");
    olga.get("/set-up/yards").await.says("Far yard").says("Times are in Pacific/Auckland");
    let yard = b.yard.to_string();
    let need = [("class", "Utility vehicle"), ("needed", "2")];
    olga.send(&format!("/set-up/yards/{yard}/need"), &need).await.leads_to("?done=saved");
    let need = [("class", "quad"), ("needed", "many")];
    let many = olga.send(&format!("/set-up/yards/{yard}/need"), &need).await;
    many.is(422).says(&format!("#need-{yard}-needed")).says("value=\"many\"");
    olga.send(&format!("/set-up/yards/{yard}/one-person"), &[("one_person", "yes")]).await.is(303);
    olga.get("/set-up/yards").await.says("One person only: the repairer may release");

    let machine = [
        ("unit_number", "Q-1"),
        ("yard", &*yard),
        ("class", "quad"),
        ("description", ""),
        ("serial", ""),
        ("engine_hours", "lots"),
    ];
    olga.send("/set-up/machines", &machine)
        .await
        .is(422)
        .says("#machine-engine_hours")
        .says("value=\"lots\"");
    let mut right = machine;
    right[5].1 = "12.5";
    olga.send("/set-up/machines", &right).await.leads_to("?done=saved");
    olga.send("/set-up/machines", &right).await.is(409).says("already");
    // Nobody can check it: said where it is set up, and at the machine, in place of the way that leads nowhere.
    let why = "No checklist covers the class “quad”: Q-1 cannot be checked before use.";
    olga.get("/set-up/machines")
        .await
        .says(why)
        .says("href=\"/set-up/checklists\"")
        .says_not("class “utility");
    let quad = workflow::find_machine(w, &b.owner, "Q-1").await.unwrap();
    let gate = olga.get(&format!("/machines/{quad}")).await;
    gate.says(why).says("href=\"/set-up/checklists\"").says_not(&format!("/machines/{quad}/check\""));
    let otto = olga.with_secret(Browser::of(w, &b.operator).await.secret);
    otto.get(&format!("/machines/{quad}")).await.says("tell a supervisor").says_not("/set-up/checklists");
    let nothing_typed = otto.get(&format!("/machines/{quad}/check")).await;
    nothing_typed.is(409).says("There is no checklist for a quad yet").says_not("back button");
    let typed = otto.send(&format!("/machines/{quad}/check"), &[("checklist", "lost")]).await;
    typed.is(400).says("use your browser");
    otto.get(&format!("/machines/{}", b.machine)).await.says_not("No checklist covers");
    let retire = format!("/set-up/machines/{}/retire", b.second_machine);
    olga.get(&retire).await.says("U-08</span> for good?");
    olga.send(&retire, &[("reason", " ")]).await.is(422).says("#retire-reason");
    olga.send(&retire, &[("reason", "sold")]).await.leads_to("?done=saved");
    assert_eq!(b.standing(b.second_machine).await, Standing::Retired);

    let person = [
        ("name", "Pia"),
        ("email", "pia@"),
        ("rate", "40"),
        ("roles", "mechanic"),
        ("yards", &*yard),
        ("password", PASSWORD),
    ];
    let asked = olga.send("/set-up/people", &person).await;
    asked.is(422).says("#person-email").says("value=\"mechanic\" checked").says("value=\"40\"");
    let mut person = person;
    person[1].1 = "pia@yard.example";
    let link = olga.send("/set-up/people", &person).await;
    link.is(200).says("It is shown this once.").says("http://yard.example/welcome/");
    let secret = link.html.split("/welcome/").nth(1).unwrap().split('<').next().unwrap();
    workflow::accept_invitation(w, secret, "", "", PASSWORD).await.unwrap();
    let pia =
        workflow::people(w, &b.owner).await.unwrap().into_iter().find(|(p, ..)| p.name == "Pia").unwrap().0;
    assert_eq!(pia.rate_minor, 4_000);
    let here = format!("/set-up/people/{}", pia.id);
    olga.get(&here).await.says("pia@yard.example").says("value=\"40.00\"");
    let change = [
        ("name", "Pia"),
        ("email", "pia@yard.example"),
        ("rate", ""),
        ("roles", "mechanic"),
        ("roles", "supervisor"),
        ("yards", &*yard),
        ("password", PASSWORD),
    ];
    olga.send(&here, &change[..6]).await.is(422).says("#person-password");
    olga.send(&here, &change).await.leads_to("?done=saved");
    olga.get("/set-up/people").await.says("mechanic, supervisor");
    olga.send(&format!("{here}/disable"), &[("disabled", "yes")]).await.leads_to("?done=saved");
    olga.get(&here).await.says("Let Pia in");
    let audit = olga.get("/audit?q=pia").await;
    audit.is(200).says("person added").says("person disabled or enabled");
    olga.get("/audit?machine=u8").await.says("machine retired").says("sold").says_not("person added");
    olga.get("/audit?machine=none").await.says("No entry matches.");
}

async fn a_checklist_with_faults_loses_nothing(b: Bench) {
    let sara = Browser::of(&b.workshop, &b.supervisor).await;
    let page = sara.get(&format!("/set-up/checklists/{}", b.checklist_id)).await;
    page.is(200).says("Brake pad").says("at least 1.5 mm").says("final");
    let broken = "name = \"quad-daily\"\ntitle = \"Quad\"\nclasses = [\"quad\"]\ncolour = \"<red>\"\n";
    let body = format!(
        "--edge\r\nContent-Disposition: form-data; name=\"source\"\r\n\r\n\r\n--edge\r\nContent-Disposition: form-data; \
         name=\"file\"; filename=\"quad.toml\"\r\nContent-Type: text/plain\r\n\r\n{broken}\r\n--edge--\r\n"
    );
    let request = TestRequest::post()
        .uri("/set-up/checklists")
        .insert_header((CONTENT_TYPE, "multipart/form-data; boundary=edge"))
        .set_payload(body);
    let asked = sara.ask(request).await;
    asked.is(422).says("Line 4, column 1").says("colour = &#34;&#60;red&#62;&#34;").says("#checklist-source");
    let renewed = chock::domain::shipped::SHIPPED[0].1;
    sara.send("/set-up/checklists", &[("source", renewed)]).await.is(303);
    sara.get("/set-up/checklists").await.says("replaced");
}
