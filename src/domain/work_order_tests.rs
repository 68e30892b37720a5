//! State × command × role, all of it: what is not listed as allowed must be refused.

use super::*;
use crate::domain::ids::PersonId;
use crate::domain::person::{Actor, Role};
use uuid::Uuid;

const ME: PersonId = PersonId(Uuid::from_u128(1));
const OTHER: PersonId = PersonId(Uuid::from_u128(2));

fn actor(role: Role) -> Actor {
    Actor { id: ME, name: "Me".into(), roles: vec![role], yards: vec![], by_pin: false, long_ago: false }
}

fn wait() -> Wait {
    Wait { waiting_for: WaitingFor::Parts, until: None, note: "pads".into() }
}

fn states() -> Vec<OrderState> {
    let mut states =
        vec![OrderState::Queued, OrderState::Closed, OrderState::Cancelled { reason: Text::typed("x") }];
    for by in [ME, OTHER] {
        states.extend([
            OrderState::Claimed { by },
            OrderState::InWork { by },
            OrderState::Waiting { by, wait: wait() },
            OrderState::WorkDone { by },
        ]);
    }
    states
}

/// What each command leads to, by the rules of the workshop and not by the code under test.
fn expected(state: &OrderState, command: &OrderCommand, role: Role) -> Option<OrderWord> {
    use OrderCommand as C;
    use OrderWord as W;
    let word = state.word();
    let mine = state.claimant() == Some(ME) && role == Role::Mechanic;
    let boss = matches!(role, Role::Supervisor | Role::Owner);
    let open = !matches!(word, W::Closed | W::Cancelled);
    match command {
        C::Claim if role == Role::Mechanic => match word {
            W::Queued => Some(W::Claimed),
            W::Claimed | W::InWork | W::Waiting if mine => Some(word),
            _ => None,
        },
        C::HandBack if mine || boss => {
            matches!(word, W::Claimed | W::InWork | W::Waiting).then_some(W::Queued)
        }
        C::Start if mine => matches!(word, W::Claimed | W::InWork | W::Waiting).then_some(W::InWork),
        C::Help if role == Role::Mechanic => matches!(word, W::Claimed | W::InWork).then_some(W::InWork),
        C::Wait(_) if mine => matches!(word, W::Claimed | W::InWork | W::Waiting).then_some(W::Waiting),
        C::FinishWork if mine => matches!(word, W::Claimed | W::InWork).then_some(W::WorkDone),
        C::BackToWork if open => Some(if word == W::WorkDone { W::InWork } else { word }),
        // The store decides these, for everybody alike.
        C::LackParts(_) => Some(if matches!(word, W::Claimed | W::InWork) { W::Waiting } else { word }),
        C::PartsCame => Some(if word == W::Waiting { W::Claimed } else { word }),
        C::Cancel { .. } if boss => open.then_some(W::Cancelled),
        C::Close if boss => (word == W::WorkDone).then_some(W::Closed),
        _ => None,
    }
}

#[test]
fn state_by_command_by_role() {
    let commands = [
        OrderCommand::Claim,
        OrderCommand::HandBack,
        OrderCommand::Start,
        OrderCommand::Help,
        OrderCommand::Wait(wait()),
        OrderCommand::FinishWork,
        OrderCommand::BackToWork,
        OrderCommand::LackParts(wait()),
        OrderCommand::PartsCame,
        OrderCommand::Cancel { reason: "scrapped".into() },
        OrderCommand::Close,
    ];
    let mut allowed = 0;
    for state in states() {
        for command in &commands {
            for role in Role::ALL.iter().copied() {
                let got = decide(&state, command.clone(), &actor(role), "Somebody").ok().map(|s| s.word());
                assert_eq!(got, expected(&state, command, role), "{state:?} {command:?} {role}");
                allowed += usize::from(got.is_some());
            }
        }
    }
    assert!(allowed > 50, "the table allows almost nothing: {allowed}");
}

#[test]
fn the_second_claim_is_told_who_has_it() {
    let refused =
        decide(&OrderState::InWork { by: OTHER }, OrderCommand::Claim, &actor(Role::Mechanic), "Maj Lind");
    assert_eq!(refused.unwrap_err().said(), "Maj Lind has this work order.");
}

#[test]
fn a_wait_and_a_cancellation_need_a_reason() {
    let mut empty = wait();
    empty.note = "  ".into();
    assert!(matches!(
        decide(&OrderState::InWork { by: ME }, OrderCommand::Wait(empty), &actor(Role::Mechanic), ""),
        Err(Refusal::Invalid { .. })
    ));
    assert!(matches!(
        decide(&OrderState::Queued, OrderCommand::Cancel { reason: " ".into() }, &actor(Role::Owner), ""),
        Err(Refusal::Invalid { .. })
    ));
}

#[test]
fn parts_end_no_other_wait() {
    let access = Wait { waiting_for: WaitingFor::Access, until: None, note: "in the field".into() };
    let state = OrderState::Waiting { by: OTHER, wait: access };
    for command in [OrderCommand::PartsCame, OrderCommand::LackParts(wait())] {
        assert_eq!(decide(&state, command, &actor(Role::Operator), "").unwrap(), state);
    }
}
