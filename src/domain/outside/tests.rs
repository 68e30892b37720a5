use proptest::prelude::*;
use uuid::Uuid;

use super::*;

fn day(n: i64) -> DateTime<Utc> {
    DateTime::<Utc>::UNIX_EPOCH + TimeDelta::days(n)
}

fn nok() -> Currency {
    Currency::parse("NOK").expect("a code")
}

fn sent(licensed: Option<&str>) -> OutsideRepair {
    OutsideRepair::send("Elvedal Engines", licensed.map(Into::into), day(1), day(1)).expect("sent")
}

fn promise(n: i64) -> OutsideCommand {
    OutsideCommand::Promise { back_by: day(n) }
}

fn back() -> OutsideCommand {
    OutsideCommand::Return { licence: None }
}

fn chase() -> OutsideCommand {
    OutsideCommand::Chase { by: PersonId(Uuid::from_u128(1)), note: " rang them ".into() }
}

fn invoice(minor: i64, code: &str) -> OutsideCommand {
    let amount = Amount { minor, currency: Currency::parse(code).expect("a code") };
    OutsideCommand::Invoice { number: "R-17".into(), amount }
}

fn after(steps: &[(OutsideCommand, i64)]) -> OutsideRepair {
    steps.iter().fold(sent(None), |r, (command, n)| r.told(command.clone(), nok(), day(*n)).expect("allowed"))
}

#[test]
fn from_sent_to_invoiced() {
    let all =
        after(&[(promise(5), 1), (chase(), 6), (promise(8), 6), (back(), 9), (invoice(12_500, "NOK"), 20)]);
    assert_eq!(all.step(), OutsideStep::Invoiced);
    assert_eq!(
        (all.back_by(), all.returned_at, all.chased[0].note.as_str()),
        (Some(day(8)), Some(day(9)), "rang them")
    );
    assert_eq!(all.invoice.as_ref().map(|i| i.minor), Some(12_500));
    assert_eq!(all.days_late(), Some(4.0), "by the first promise");
    assert_eq!(after(&[(back(), 3)]).days_late(), None);
}

#[test]
fn what_is_refused_changes_nothing() {
    let (away, home) = (sent(None), after(&[(back(), 3)]));
    let refused = |r: &OutsideRepair, c: OutsideCommand| r.told(c, nok(), day(4)).unwrap_err();
    assert_eq!(refused(&away, promise(4)), OutsideFault::PromisePassed { back_by: day(4) });
    assert_eq!(refused(&away, invoice(1, "NOK")), OutsideFault::NotBack);
    for command in [promise(9), chase(), back()] {
        assert_eq!(refused(&home, command), OutsideFault::AlreadyBack { since: day(3) });
    }
    assert_eq!(refused(&home, invoice(-1, "NOK")), OutsideFault::Negative);
    let other = OtherCurrency { books: nok(), given: Currency::parse("SEK").expect("a code") };
    assert_eq!(refused(&home, invoice(1, "SEK")), OutsideFault::OtherCurrency(other));
    let amount = Amount { minor: 1, currency: nok() };
    let unnumbered = OutsideCommand::Invoice { number: "  ".into(), amount };
    assert_eq!(refused(&home, unnumbered), OutsideFault::NoInvoiceNumber);
    let paid = after(&[(back(), 3), (invoice(1, "NOK"), 3)]);
    assert_eq!(refused(&paid, invoice(1, "NOK")), OutsideFault::AlreadyInvoiced { number: "R-17".into() });
    assert_eq!(OutsideRepair::send(" ", None, day(1), day(1)), Err(OutsideFault::NoVendor));
    let future = OutsideRepair::send("Elvedal Engines", None, day(2), day(1));
    assert_eq!(future, Err(OutsideFault::InTheFuture { now: day(1) }));
}

#[test]
fn licensed_work_comes_back_with_its_licence() {
    let gas = sent(Some("gas"));
    for none in [None, Some("  ".to_owned())] {
        let refused = gas.told(OutsideCommand::Return { licence: none }, nok(), day(3));
        assert_eq!(refused, Err(OutsideFault::LicenceNeeded { licensed: "gas".into() }));
    }
    let home =
        gas.told(OutsideCommand::Return { licence: Some(" G 204 ".into()) }, nok(), day(3)).expect("back");
    assert_eq!((home.licence.as_deref(), home.step()), (Some("G 204"), OutsideStep::Returned));
}

#[test]
fn late_ones_rise() {
    let late = |by| after(&[(promise(by), 1)]);
    let mut all = vec![after(&[(back(), 3)]), late(20), late(9), sent(None), late(5), late(15)];
    let now = day(10);
    assert_eq!(late(9).lateness(now), Lateness::Late { by: TimeDelta::days(1) });
    assert_eq!(late(10).lateness(now), Lateness::InTime { left: TimeDelta::zero() });
    latest_first(&mut all, now);
    let order: Vec<_> = all.iter().map(|r| r.back_by().map(|b| (b - day(0)).num_days())).collect();
    assert_eq!(order, [Some(5), Some(9), None, Some(15), Some(20), None]);
    assert_eq!(all[2].step(), OutsideStep::AtVendor, "no promise stands before what is in time");
}

proptest! {
    /// Whatever is told in whatever order: steps only go forward, and an invoice stands only on what is back.
    #[test]
    fn only_forward(commands in prop::collection::vec((0..4_u8, 0..30_i64), 1..30)) {
        let mut repair = sent(None);
        for ((what, n), now) in commands.into_iter().zip(1..) {
            let command = match what { 0 => promise(n), 1 => chase(), 2 => back(), _ => invoice(n, "NOK") };
            let before = repair.clone();
            if let Ok(next) = repair.told(command, nok(), day(now)) {
                prop_assert!(next.step() >= before.step());
                prop_assert!(next.promises.len() >= before.promises.len() && next.chased.len() >= before.chased.len());
                repair = next;
            }
            prop_assert!(repair.invoice.is_none() || repair.returned_at.is_some());
            prop_assert_eq!(repair.lateness(day(now)) == Lateness::Back, repair.returned_at.is_some());
        }
    }
}
