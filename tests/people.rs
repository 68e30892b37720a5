//! Who gets in, and who no longer does.

use chock::domain::ids::YardId;
use chock::domain::person::{Act, Role};
use chock::domain::refusal::{Refusal, Thing};
use chock::workflow::{self, Credentials, NewMachine, NewPerson, WorkflowError};

use crate::support::{Bench, PASSWORD, on_both};

on_both!(
    a_link_works_once,
    disabling_ends_everything_at_once,
    a_refresh_token_used_twice_ends_its_family,
    the_wrong_password_says_nothing,
    rights_change_with_the_next_request,
    nothing_is_put_into_a_yard_that_is_not_there,
);

async fn a_link_works_once(b: Bench) {
    let w = &b.workshop;
    assert_eq!(workflow::first_owner_link(w).await.unwrap(), None, "somebody is here already");
    let new = NewPerson {
        name: "Nils New".into(),
        email: "Nils@Yard.example".into(),
        roles: vec![Role::Operator],
        yards: vec![b.yard],
        rate_minor: 0,
    };
    let (_, link) = workflow::add_person(w, &b.owner, new.clone()).await.unwrap();
    let twice = workflow::add_person(w, &b.owner, new).await;
    assert!(matches!(twice, Err(WorkflowError::Refused(Refusal::Conflict(_)))));
    assert!(workflow::accept_invitation(w, &link, "", "", "short").await.is_err());
    workflow::accept_invitation(w, &link, "", "", PASSWORD).await.unwrap();
    let again = workflow::accept_invitation(w, &link, "", "", "another password").await;
    assert!(matches!(again, Err(WorkflowError::Refused(Refusal::Conflict(_)))));
    let given = Credentials { email: "nils@yard.example", password: PASSWORD };
    let (actor, session) = workflow::sign_in_page(w, given).await.unwrap();
    assert_eq!(workflow::actor_of_session(w, &session).await.unwrap(), Some(actor));
    workflow::sign_out_page(w, &session).await.unwrap();
    assert_eq!(workflow::actor_of_session(w, &session).await.unwrap(), None);
}

async fn disabling_ends_everything_at_once(b: Bench) {
    let w = &b.workshop;
    workflow::set_password(w, b.operator.id, PASSWORD).await.unwrap();
    let given = || Credentials { email: "otto@yard.example", password: PASSWORD };
    let (_, session) = workflow::sign_in_page(w, given()).await.unwrap();
    let grant = workflow::sign_in_api(w, given(), None).await.unwrap();
    workflow::disable_person(w, &b.owner, b.operator.id, true).await.unwrap();
    assert_eq!(workflow::actor_of_session(w, &session).await.unwrap(), None);
    assert_eq!(workflow::actor_of_token(w, b.operator.id).await.unwrap(), None);
    assert!(workflow::refresh(w, &grant.refresh_token).await.is_err());
    assert!(workflow::sign_in_page(w, given()).await.is_err());
    assert!(workflow::disable_person(w, &b.owner, b.owner.id, true).await.is_err(), "not oneself");
}

async fn a_refresh_token_used_twice_ends_its_family(b: Bench) {
    let w = &b.workshop;
    let given = Credentials { email: "olga@yard.example", password: PASSWORD };
    let first = workflow::sign_in_api(w, given, None).await.unwrap();
    let second = workflow::refresh(w, &first.refresh_token).await.unwrap();
    let third = workflow::refresh(w, &second.refresh_token).await.unwrap();
    assert!(workflow::refresh(w, &first.refresh_token).await.is_err(), "used before");
    assert!(workflow::refresh(w, &third.refresh_token).await.is_err(), "the whole family is gone");
}

async fn the_wrong_password_says_nothing(b: Bench) {
    let say = |email: &'static str, password: &'static str| {
        let w = b.workshop.clone();
        async move { workflow::sign_in_page(&w, Credentials { email, password }).await.unwrap_err().to_string() }
    };
    let wrong = say("olga@yard.example", "not the password").await;
    assert_eq!(wrong, say("nobody@yard.example", "not the password").await);
    assert_eq!(wrong, say("otto@yard.example", PASSWORD).await, "no password set yet");
}

async fn rights_change_with_the_next_request(b: Bench) {
    let w = &b.workshop;
    let given = Credentials { email: "olga@yard.example", password: PASSWORD };
    let (_, session) = workflow::sign_in_page(w, given).await.unwrap();
    workflow::set_password(w, b.operator.id, PASSWORD).await.unwrap();
    let (actor, operators) =
        workflow::sign_in_page(w, Credentials { email: "otto@yard.example", password: PASSWORD })
            .await
            .unwrap();
    assert!(!actor.may(Act::Release));
    let to = NewPerson {
        name: "Otto Operator".into(),
        email: "otto@yard.example".into(),
        roles: vec![Role::Supervisor],
        yards: vec![b.yard],
        rate_minor: 0,
    };
    workflow::change_person(w, &b.owner, b.operator.id, to).await.unwrap();
    let now = workflow::actor_of_session(w, &operators).await.unwrap().unwrap();
    assert!(now.may(Act::Release));
    assert!(workflow::actor_of_session(w, &session).await.unwrap().is_some());
}

/// An owner is in every yard, and so in none that does not exist.
async fn nothing_is_put_into_a_yard_that_is_not_there(b: Bench) {
    let w = &b.workshop;
    let nowhere: YardId = w.ambient.id();
    let machine = NewMachine {
        yard: nowhere,
        unit_number: "U-90".into(),
        class: "quad".into(),
        description: String::new(),
        serial: String::new(),
        engine_hours: None,
    };
    let refused = workflow::add_machine(w, &b.owner, machine).await.unwrap_err();
    assert!(matches!(refused, WorkflowError::Refused(Refusal::NotFound(Thing::Yard))), "{refused:?}");
    let person = |yards: Vec<YardId>, roles: Vec<Role>| NewPerson {
        name: "Nils New".into(),
        email: "nils@yard.example".into(),
        roles,
        yards,
        rate_minor: 0,
    };
    for refused in [
        workflow::add_person(w, &b.owner, person(vec![b.yard, nowhere], vec![Role::Operator]))
            .await
            .unwrap_err(),
        workflow::change_person(w, &b.owner, b.operator.id, person(vec![nowhere], vec![Role::Operator]))
            .await
            .unwrap_err(),
    ] {
        let sentence = refused.to_string();
        assert!(sentence.contains("Choose yards that there are"), "{refused:?}");
    }
    // Said twice is said once.
    let twice = person(vec![b.yard, b.yard], vec![Role::Operator, Role::Operator]);
    let (nils, _) = workflow::add_person(w, &b.owner, twice).await.unwrap();
    let nils = workflow::actor_of_token(w, nils).await.unwrap().unwrap();
    assert_eq!((nils.roles, nils.yards), (vec![Role::Operator], vec![b.yard]));
    b.assert_sound().await;
}
