//! Every alert-worthy event is owed to each recipient once, and is delivered or visibly failing (invariant 6).

use std::sync::Arc;

use chock::notify::{Mail, Mailer, Memory, SendError};
use chock::tasks::{Post, deliver_once};
use chock::words::Lang;
use chock::workflow::{self, OutboxState, SendOutside};
use chrono::TimeDelta;

use crate::support::{Bench, on_both};

on_both!(
    each_recipient_gets_one_mail,
    of_one_event_each_reads_in_their_own_language,
    a_mail_that_fails_is_tried_again_and_keeps_its_id,
    a_sender_that_died_leaves_its_mail_to_the_next,
    a_late_repair_outside_is_read_in_both_languages,
);

/// Rounds until nothing is due; answers how many mails were tried.
async fn deliver_all(b: &Bench, post: &Post) -> usize {
    let mut tried = 0;
    loop {
        match deliver_once(&b.workshop, post).await.unwrap() {
            0 => return tried,
            n => tried += n,
        }
    }
}

fn post(mailer: Arc<dyn Mailer>) -> Post {
    Post { mailer, public_url: "https://chock.example.org".into(), domain: "chock.example.org".into() }
}

async fn each_recipient_gets_one_mail(b: Bench) {
    b.ground(b.machine).await;
    let memory = Arc::new(Memory::new());
    let post = post(memory.clone());
    assert_eq!(deliver_all(&b, &post).await, 5);
    let sent = memory.sent();
    let mut to: Vec<&str> = sent.iter().map(|m| m.to_address.as_str()).collect();
    to.sort_unstable();
    assert_eq!(
        to,
        [
            "mats@yard.example",
            "mia@yard.example",
            "olga@yard.example",
            "otto@yard.example",
            "sara@yard.example"
        ]
    );
    for mail in &sent {
        assert!(mail.subject.contains("U-07"), "{}", mail.subject);
        assert!(
            mail.text.contains(&format!("https://chock.example.org/machines/{}", b.machine)),
            "{}",
            mail.text
        );
        assert!(mail.text.contains("isolates no energy"), "{}", mail.text);
        assert!(mail.text.contains("07:00"), "the yard's own time: {}", mail.text);
    }
    let outbox = workflow::outbox(&b.workshop, &b.owner, 50).await.unwrap();
    assert!(outbox.iter().all(|o| o.state == OutboxState::Delivered));
    assert_eq!(deliver_all(&b, &post).await, 0);
}

async fn of_one_event_each_reads_in_their_own_language(b: Bench) {
    workflow::choose_language(&b.workshop, &b.supervisor, Lang::Es).await.unwrap();
    b.ground(b.machine).await;
    let memory = Arc::new(Memory::new());
    deliver_all(&b, &post(memory.clone())).await;
    let sent = memory.sent();
    let to = |address: &str| sent.iter().find(|m| m.to_address == address).unwrap();
    let (spanish, english) = (to("sara@yard.example"), to("olga@yard.example"));
    assert!(spanish.subject.starts_with("U-07 está fuera de servicio"), "{}", spanish.subject);
    assert!(english.subject.starts_with("U-07 is out of service"), "{}", english.subject);
    for (mail, own, others) in [
        (
            spanish,
            ["U-07 está FUERA DE SERVICIO. No la use.", "Detenida por: Otto", "de 2026, 07:00"],
            ["OUT OF SERVICE", "Stopped by", "Do not use it"],
        ),
        (
            english,
            ["U-07 is OUT OF SERVICE. Do not use it.", "Stopped by: Otto", "2026, 07:00"],
            ["FUERA DE SERVICIO", "Detenida por", "No la use"],
        ),
    ] {
        for words in own {
            assert!(mail.text.contains(words), "lacks {words:?}:\n{}", mail.text);
        }
        for words in others {
            assert!(
                !mail.text.contains(words) && !mail.html.contains(words),
                "says {words:?}:\n{}",
                mail.text
            );
        }
    }
    assert!(spanish.html.contains("lang=\"es\"") && spanish.html.contains("No la use."), "{}", spanish.html);
    assert!(
        english.html.contains("lang=\"en\"") && english.html.contains("Do not use it."),
        "{}",
        english.html
    );
}

async fn a_late_repair_outside_is_read_in_both_languages(b: Bench) {
    let w = &b.workshop;
    workflow::choose_language(w, &b.supervisor, Lang::Es).await.unwrap();
    let order = b.ground(b.machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let memory = Arc::new(Memory::new());
    let post = post(memory.clone());
    deliver_all(&b, &post).await;
    let before = memory.sent().len();
    let promised = b.now() + TimeDelta::days(1);
    let sent = SendOutside {
        vendor: "Fjell Gas".into(),
        what: "Weld the <frame>".into(),
        back_by: Some(promised),
        ..SendOutside::default()
    };
    workflow::send_outside(w, &b.mechanic, order, sent).await.unwrap();
    b.wait(60 * 24 - 1);
    assert_eq!(workflow::tell_of_late_outside(w).await.unwrap(), 0, "a minute is left");
    b.wait(2);
    assert_eq!(workflow::tell_of_late_outside(w).await.unwrap(), 1);
    deliver_all(&b, &post).await;
    let sent = memory.sent().split_off(before);
    let to: Vec<&str> = sent.iter().map(|m| m.to_address.as_str()).collect();
    assert_eq!(sent.len(), 2, "the supervisor and who has the order: {to:?}");
    let to = |address: &str| sent.iter().find(|m| m.to_address == address).unwrap();
    let (spanish, english) = (to("sara@yard.example"), to("mats@yard.example"));
    assert_eq!(english.subject, "U-07: Fjell Gas has not brought it back as promised");
    assert_eq!(spanish.subject, "U-07: Fjell Gas no la ha devuelto como prometió");
    // The yard's own time: an hour ahead of UTC.
    for (mail, says) in [
        (
            english,
            [
                "U-07 is not back from Fjell Gas as promised. It stays as it is until it is back and released.",
                "Thursday 26 November 2026, 07:00",
                "Ask where it is, and write down what they say",
            ],
        ),
        (
            spanish,
            [
                "U-07 no ha vuelto de Fjell Gas como se prometió. Sigue como está hasta que vuelva",
                "jueves 26 de noviembre de 2026, 07:00",
                "Pregunte dónde está y anote lo que digan",
            ],
        ),
    ] {
        for words in says {
            assert!(mail.text.contains(words), "lacks {words:?}:\n{}", mail.text);
            assert!(mail.html.contains(words), "lacks {words:?}:\n{}", mail.html);
        }
        assert!(mail.text.contains("Weld the <frame>"), "{}", mail.text);
        assert!(!mail.html.contains("<frame>"), "what was typed is text: {}", mail.html);
        let link = format!("https://chock.example.org/machines/{}", b.machine);
        assert!(mail.text.contains(&link), "{}", mail.text);
    }
}

/// Says no, for now or for good.
struct Refusing {
    permanent: bool,
    memory: Memory,
}

#[async_trait::async_trait]
impl Mailer for Refusing {
    async fn send(&self, mail: &Mail) -> Result<String, SendError> {
        self.memory.send(mail).await?;
        let answer = if self.permanent { "550 no such box" } else { "451 busy" };
        Err(SendError { permanent: self.permanent, answer: answer.into() })
    }
}

async fn a_mail_that_fails_is_tried_again_and_keeps_its_id(b: Bench) {
    b.ground(b.machine).await;
    let busy = Arc::new(Refusing { permanent: false, memory: Memory::new() });
    let p = post(busy.clone());
    assert_eq!(deliver_all(&b, &p).await, 5);
    assert_eq!(deliver_all(&b, &p).await, 0, "not before its time");
    b.wait(2);
    assert_eq!(deliver_all(&b, &p).await, 5);
    let ids = |mails: Vec<Mail>| {
        let mut ids: Vec<String> = mails.into_iter().map(|m| m.message_id).collect();
        ids.sort();
        ids.dedup();
        ids
    };
    assert_eq!(ids(busy.memory.sent()).len(), 5, "ten attempts, five Message-IDs");
    let outbox = workflow::outbox(&b.workshop, &b.owner, 50).await.unwrap();
    assert!(
        outbox.iter().all(|o| o.state == OutboxState::Owed && o.attempts == 2 && o.last_answer == "451 busy")
    );
    b.wait(60);
    let gone = post(Arc::new(Refusing { permanent: true, memory: Memory::new() }));
    deliver_all(&b, &gone).await;
    let outbox = workflow::outbox(&b.workshop, &b.owner, 50).await.unwrap();
    assert!(outbox.iter().all(|o| o.state == OutboxState::Failed && o.last_answer == "550 no such box"));
    let board = workflow::board(&b.workshop, &b.owner, "", 50).await.unwrap();
    assert_eq!(board.grounded[0].undelivered, 5, "the board shows it");
    workflow::resend(&b.workshop, &b.supervisor, outbox[0].id).await.unwrap();
    let memory = Arc::new(Memory::new());
    assert_eq!(deliver_all(&b, &post(memory.clone())).await, 1);
    assert_eq!(
        memory.sent()[0].message_id,
        ids(busy.memory.sent()).into_iter().find(|i| *i == memory.sent()[0].message_id).unwrap()
    );
}

async fn a_sender_that_died_leaves_its_mail_to_the_next(b: Bench) {
    b.ground(b.machine).await;
    let leased = workflow::lease_deliveries(&b.workshop, 50).await.unwrap();
    assert_eq!(leased.len(), 5);
    let memory = Arc::new(Memory::new());
    let p = post(memory.clone());
    assert_eq!(deliver_all(&b, &p).await, 0, "they are leased");
    b.time.set(b.now() + TimeDelta::minutes(6));
    assert_eq!(deliver_all(&b, &p).await, 5);
}
