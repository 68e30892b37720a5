//! The watch on monitored defects: every later check says first of each whether it is the same, worse or gone.

use chock::domain::alert::Event;
use chock::domain::defect::DefectState;
use chock::domain::ids::{DefectId, MachineId};
use chock::domain::refusal::Refusal;
use chock::domain::standing::{Severity, Standing};
use chock::domain::watched::{SAID_TO_BE_WORSE, Said, Watched};
use chock::workflow::{self, DefectDone, ReportDefect, SubmitCheck, WorkflowError};
use chrono::TimeDelta;

use crate::operator_pages::Walk;
use crate::support::browser::Browser;
use crate::support::{Bench, fail, on_both, slight};

on_both!(
    an_unanswered_watch_is_refused_by_name,
    the_same_is_a_further_sighting,
    worse_is_out_of_service_at_that_instant,
    gone_stays_open_until_a_mechanic_has_looked,
    what_is_read_goes_before_what_is_said,
    what_was_raised_meanwhile_is_asked_for_and_what_came_later_is_not,
    what_was_released_meanwhile_never_reopens,
    the_check_page_asks_first,
);

/// A horn that is silent: watched for a day.
async fn silent_horn(b: &Bench) -> DefectId {
    let answered = b.submit(b.failed_check(b.machine, 12_010, "horn", "")).await;
    assert_eq!(answered.standing, Standing::Monitored);
    b.wait(60);
    answered.findings[0].defect
}

fn said(defect: DefectId, now: Watched, note: &str) -> Vec<Said> {
    vec![Said { defect, now: Some(now), note: note.to_owned() }]
}

fn says(b: &Bench, watched: Vec<Said>) -> SubmitCheck {
    SubmitCheck { watched, ..b.check(b.machine, 12_020) }
}

async fn refused(b: &Bench, check: SubmitCheck) -> Vec<(String, String)> {
    match workflow::submit_check(&b.workshop, &b.operator, check).await {
        Err(WorkflowError::Refused(Refusal::Invalid { problems })) => {
            problems.into_iter().map(|p| (p.pointer, p.sentence.to_string())).collect()
        }
        other => panic!("{other:?}"),
    }
}

async fn report(b: &Bench, machine: MachineId, what: &str) -> DefectId {
    let report = ReportDefect {
        id: b.workshop.ambient.id(),
        machine,
        what: what.to_owned(),
        answers: slight(chock::domain::checklist::System::BodyAndFrame),
    };
    workflow::report_defect(&b.workshop, &b.mechanic, report).await.unwrap().defect
}

async fn seen(b: &Bench, defect: DefectId) -> Vec<(Option<Watched>, String)> {
    let page = workflow::defect_page(&b.workshop, &b.owner, defect).await.unwrap();
    page.sightings.into_iter().map(|s| (s.said, s.what.to_string())).collect()
}

/// Acts of the machine's trail that are about the defect, oldest first.
async fn acts(b: &Bench, defect: DefectId) -> Vec<String> {
    let stream = format!("machine {}", b.machine);
    let rows = workflow::audit_trail(&b.workshop, &b.owner, &stream, "", 500).await.unwrap();
    let about = format!("defect {defect}");
    rows.into_iter().rev().filter(|r| r.subject == about).map(|r| r.act).collect()
}

async fn an_unanswered_watch_is_refused_by_name(b: Bench) {
    let horn = silent_horn(&b).await;
    let name = "“Horn: does not work” is being watched. Look at it and say: same, worse or gone.";
    assert_eq!(refused(&b, says(&b, Vec::new())).await, [("/watched".to_owned(), name.to_owned())]);
    let open = vec![Said { defect: horn, now: None, note: String::new() }];
    assert_eq!(refused(&b, says(&b, open)).await, [("/watched/0/now".to_owned(), name.to_owned())]);
    let elsewhere = said(b.workshop.ambient.id(), Watched::Same, "");
    let asked = refused(&b, says(&b, elsewhere)).await;
    assert_eq!(asked.iter().map(|p| p.0.as_str()).collect::<Vec<_>>(), ["/watched/0/defect", "/watched"]);
    let worse = refused(&b, says(&b, said(horn, Watched::Worse, " "))).await;
    assert_eq!(worse[0].0, "/watched/0/note", "a reason");
    // Whatever else is open is asked at once.
    let mut both = says(&b, Vec::new());
    both.answers.pop();
    assert_eq!(refused(&b, both).await.len(), 2);
    let record = workflow::machine_record(&b.workshop, &b.owner, b.machine, 9).await.unwrap();
    assert_eq!(record.checks.len(), 1, "nothing was recorded");
    b.assert_sound().await;
}

async fn the_same_is_a_further_sighting(b: Bench) {
    let horn = silent_horn(&b).await;
    let answered = b.submit(says(&b, said(horn, Watched::Same, "still silent"))).await;
    assert_eq!((answered.standing, answered.findings.len()), (Standing::Monitored, 0));
    assert_eq!(answered.watched[0].outcome, "It is watched on.");
    assert_eq!(
        seen(&b, horn).await,
        [
            (None, "Horn: does not work".to_owned()),
            (Some(Watched::Same), "The same: still silent".to_owned())
        ]
    );
    assert_eq!(acts(&b, horn).await, ["defect raised", "defect said to be the same"]);
    assert!(workflow::outbox(&b.workshop, &b.owner, 9).await.unwrap().is_empty(), "no news");
    b.assert_sound().await;
}

async fn worse_is_out_of_service_at_that_instant(b: Bench) {
    let w = &b.workshop;
    let horn = silent_horn(&b).await;
    let check = says(&b, said(horn, Watched::Worse, "the whole wire hangs loose"));
    let answered = b.submit(check.clone()).await;
    assert_eq!(answered.standing, Standing::OutOfService);
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    let finding = &answered.findings[0];
    assert_eq!((finding.defect, finding.seen_before, finding.rule.as_str()), (horn, true, SAID_TO_BE_WORSE));
    assert_eq!(
        finding.why,
        "Worse, says Otto Operator: the whole wire hangs loose (rule: said to be worse)."
    );
    let page = workflow::defect_page(w, &b.owner, horn).await.unwrap();
    assert_eq!((page.defect.severity, page.defect.state), (Severity::OutOfService, DefectState::Held));
    assert_eq!((page.defect.good_until_at, page.defect.good_until_hours), (None, None));
    assert_eq!(page.rules, None, "no rule of the checklist decided this");
    let order = workflow::order_page(w, &b.owner, answered.work_order.expect("a work order")).await.unwrap();
    assert_eq!(order.defects[0].defect.id, horn);
    assert!(!order.defects[0].failed.is_empty(), "the horn is still what the retest repeats");
    let told = workflow::verdict(w, &b.operator, answered.check).await.unwrap().told;
    assert_eq!(told.len(), 5, "everybody of the yard");
    let (_, alert) = workflow::alert_of(w, &b.owner, told[0].id).await.unwrap();
    let Event::MachineHeld { why, .. } = alert.event else { panic!("{alert:?}") };
    assert_eq!(
        why[0].why,
        "Horn: does not work. Worse, says Otto Operator: the whole wire hangs loose (rule: said to be worse)."
    );
    assert_eq!(acts(&b, horn).await, ["defect raised", "defect worse"]);

    // Sent again, it changes nothing and answers the same; another word under the same id is another check.
    let again = workflow::put_check(w, &b.operator, check.clone()).await.unwrap();
    assert_eq!((again.answer, again.first), (answered, false));
    let other = SubmitCheck { watched: said(horn, Watched::Same, ""), ..check };
    let refused = workflow::submit_check(w, &b.operator, other).await;
    assert!(matches!(refused, Err(WorkflowError::Refused(Refusal::Conflict(_)))), "{refused:?}");
    assert_eq!(seen(&b, horn).await.len(), 2);
    b.assert_sound().await;
}

async fn gone_stays_open_until_a_mechanic_has_looked(b: Bench) {
    let w = &b.workshop;
    let horn = silent_horn(&b).await;
    let answered = b.submit(says(&b, said(horn, Watched::Gone, "it sounds again"))).await;
    assert_eq!((answered.standing, answered.findings.len()), (Standing::Monitored, 0));
    assert_eq!(answered.watched[0].outcome, "It stays open until a mechanic has looked.");
    let order = answered.work_order.expect("somebody has to look");
    let page = workflow::defect_page(w, &b.owner, horn).await.unwrap();
    assert_eq!(page.defect.said_gone_at, Some(b.now()));
    assert_eq!((page.defect.work_order_id, page.defect.closed_at), (Some(order), None));
    // Everybody who looks is told so, and the next check still asks.
    let mats = Browser::of(w, &b.mechanic).await;
    for page in [format!("/defects/{horn}"), format!("/work-orders/{order}")] {
        mats.get(&page).await.is(200).says("Otto Operator").says("Gone: it sounds again");
    }
    mats.get(&format!("/machines/{}", b.machine)).await.says("Said to be gone");
    assert_eq!(refused(&b, says(&b, Vec::new())).await[0].0, "/watched");
    // Somebody who sees it after all says so, and the mark is gone.
    b.wait(5);
    b.submit(says(&b, said(horn, Watched::Same, ""))).await;
    assert_eq!(workflow::defect_page(w, &b.owner, horn).await.unwrap().defect.said_gone_at, None);
    b.wait(5);
    let answered = b.submit(says(&b, said(horn, Watched::Gone, ""))).await;
    assert_eq!(answered.work_order, Some(order), "one order is enough");

    workflow::claim(w, &b.mechanic, order).await.unwrap();
    let done = DefectDone {
        defect: horn,
        cause: String::new(),
        remedy: String::new(),
        no_fault_found: true,
        part_replaced: false,
    };
    workflow::finish_work(w, &b.mechanic, order, vec![done], None).await.unwrap();
    // It is the workshop's now: nobody is asked about it any more.
    b.submit(says(&b, Vec::new())).await;
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::FitForUse);
    b.assert_sound().await;
}

async fn what_is_read_goes_before_what_is_said(b: Bench) {
    let horn = silent_horn(&b).await;
    let mut check = says(&b, said(horn, Watched::Gone, ""));
    fail(&mut check.answers, "horn", "");
    let answered = b.submit(check).await;
    assert_eq!(answered.watched[0].outcome, "This check found it again, so it is taken for being there.");
    let page = workflow::defect_page(&b.workshop, &b.owner, horn).await.unwrap();
    assert_eq!(page.defect.said_gone_at, None);
    assert_eq!(page.sightings.len(), 2, "the reading alone");
    b.assert_sound().await;
}

async fn what_was_raised_meanwhile_is_asked_for_and_what_came_later_is_not(b: Bench) {
    let horn = silent_horn(&b).await;
    let mut check = says(&b, said(horn, Watched::Same, ""));
    let finished = b.now();
    b.wait(10);
    let rattle = report(&b, b.machine, "Bonnet rattles").await;
    b.wait(10);
    // Finished now: the machine is about to be taken with what was reported while its driver walked round.
    let asked = refused(&b, check.clone()).await;
    assert_eq!(asked.len(), 1);
    assert!(asked[0].1.contains("Bonnet rattles"), "{asked:?}");
    // Finished before it was reported and sent only now, as from a place without signal: it was not there to look at.
    check.recorded_at = Some(finished);
    b.submit(check.clone()).await;
    check.id = b.workshop.ambient.id();
    check.recorded_at = None;
    check.watched.extend(said(rattle, Watched::Same, ""));
    b.submit(check).await;
    assert_eq!(seen(&b, rattle).await.len(), 2);
    b.assert_sound().await;
}

async fn what_was_released_meanwhile_never_reopens(b: Bench) {
    let w = &b.workshop;
    let horn = silent_horn(&b).await;
    let order = workflow::open_order(w, &b.supervisor, b.machine).await.unwrap();
    b.repair(order).await;
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    let answered = b.submit(says(&b, said(horn, Watched::Same, ""))).await;
    assert_eq!(answered.standing, Standing::FitForUse);
    assert_eq!(answered.watched[0].outcome, "It was released while you walked round.");
    assert_eq!(seen(&b, horn).await.len(), 1);
    // Worse is a new defect that points to the old one. In doubt, out of service.
    b.wait(1);
    let answered = b.submit(says(&b, said(horn, Watched::Worse, "smells burnt"))).await;
    assert_eq!(answered.standing, Standing::OutOfService);
    let new = answered.findings[0].defect;
    assert_ne!(new, horn);
    let page = workflow::defect_page(w, &b.owner, new).await.unwrap();
    assert_eq!(page.defect.prior_defect_id, Some(horn));
    assert!(workflow::defect_page(w, &b.owner, horn).await.unwrap().defect.closed_at.is_some());
    b.assert_sound().await;
}

async fn the_check_page_asks_first(b: Bench) {
    let w = &b.workshop;
    let horn = silent_horn(&b).await;
    let otto = Browser::of(w, &b.operator).await;
    let machine = b.machine;
    let page = otto.get(&format!("/machines/{machine}/check")).await;
    page.is(200).says("First: what is being watched").says("The same").says("Worse").says("Gone");
    let (first, walk) = (page.html.find("id=\"watched\"").unwrap(), page.html.find("id=\"z0\"").unwrap());
    assert!(first < walk, "before everything else");

    let mut form = Walk::begin(&b, &otto, machine, "1203").await;
    form.set("watched", &horn.to_string());
    form.set("note", "fog on the hill");
    form.send(&otto, machine, &[])
        .await
        .is(422)
        .says("Horn: does not work: look at it and say the same, worse or gone.")
        .says(&format!("href=\"#w-{horn}\""))
        .says("fog on the hill");
    form.set(&format!("w.{horn}"), "worse");
    form.send(&otto, machine, &[]).await.is(422).says("Say in a few words what is worse");
    // Reported while the form was filled in: it comes back by name, with nothing lost.
    let rattle = report(&b, machine, "Bonnet rattles").await;
    form.set(&format!("w.{horn}"), "same");
    form.set(&format!("w.{horn}.note"), "silent as ever");
    form.send(&otto, machine, &[])
        .await
        .is(422)
        .says("“Bonnet rattles” is being watched")
        .says("silent as ever")
        .says(&format!("name=\"w.{rattle}\""));
    form.fields.push(("watched".to_owned(), rattle.to_string()));
    form.set(&format!("w.{rattle}"), "worse");
    form.set(&format!("w.{rattle}.note"), "hinge torn");
    let done = form.send(&otto, machine, &[]).await;
    done.leads_to(&format!("/checks/{}", form.check));
    otto.get(&done.to)
        .await
        .is(200)
        .says("out of service")
        .says("What was being watched")
        .says("“silent as ever.” It is watched on.")
        .says("Out of service from now on.");
    // Nothing watched, nothing asked.
    otto.get(&format!("/machines/{}/check", b.second_machine)).await.says_not("what is being watched");
    let later = b.now() + TimeDelta::days(2);
    b.time.set(later);
    assert_eq!(
        workflow::end_watches(w).await.unwrap(),
        1,
        "the horn's day is over, also when it stayed the same"
    );
    b.assert_sound().await;
}
