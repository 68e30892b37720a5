//! Passkeys in a browser, with the virtual authenticator of WebDriver (W3C Web Authentication Level 3, 11): added, used to
//! sign in, and refused when anything about the proof is not right.

use chock::workflow;
use serde_json::{Value, json};

use super::driver::{Device, Driver};
use super::screen::Screen;
use crate::support::served::Served;
use crate::support::{Bench, PASSWORD, on_both};

on_both!(a_passkey_lets_in_and_nothing_like_it);

/// Asks for a challenge, has it answered, and sends the answer twice; answers with both statuses.
const ATTEMPT: &str = r#"
    const [spoil] = arguments;
    const post = async (url, body) => {
        const answer = await fetch(url, {
            method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) });
        return [answer.status, await answer.json()];
    };
    return (async () => {
        const [, asked] = await post("/sign-in/passkey/begin", {});
        const publicKey = PublicKeyCredential.parseRequestOptionsFromJSON(asked.options);
        const answer = (await navigator.credentials.get({ publicKey })).toJSON();
        if (spoil === "signature") {
            const at = 20, was = answer.response.signature;
            answer.response.signature = was.slice(0, at) + (was[at] === "A" ? "B" : "A") + was.slice(at + 1);
        }
        if (spoil === "another challenge") [, { begun: asked.begun }] = [0, (await post("/sign-in/passkey/begin", {}))[1]];
        if (spoil === "another person") answer.response.userHandle = "AZkfHgAAcACAAAAAAAAAAQ";
        const sent = { begun: asked.begun, answer, to: "/" };
        return [(await post("/sign-in/passkey", sent))[0], (await post("/sign-in/passkey", sent))[0]];
    })();
"#;

async fn attempt(screen: &Screen, spoil: &str) -> Value {
    screen.window.run(ATTEMPT, &json!([spoil])).await.unwrap_or_else(|e| panic!("{spoil}: {e}"))
}

async fn a_passkey_lets_in_and_nothing_like_it(b: Bench) {
    let w = &b.workshop;
    crate::support::has_password(w, b.supervisor.id).await;
    let served = Served::by_name(w).await;
    let driver = Driver::start().await;
    let sara = Screen::open(&driver, Device::Phone, true, &served.url).await;
    let authenticator = sara.window.authenticator().await;

    sara.go("/me/passkeys").await;
    sara.sign_in("sara@yard.example", PASSWORD).await;
    sara.fill("Name", "My phone").await;
    sara.fill("Your password", "guessed at random").await;
    sara.tap("Add the passkey").await;
    sara.until("This is not your password.").await;
    sara.fill("Your password", PASSWORD).await;
    sara.press("Add the passkey").await;
    sara.says("The passkey is added.").await;
    sara.says("My phone").await;
    assert_eq!(workflow::my_passkeys(w, &b.supervisor).await.unwrap().len(), 1);

    // In with it, and with no password.
    sara.sign_out().await;
    sara.press("Sign in with a passkey").await;
    assert_eq!(sara.path().await, "/board");
    let used = workflow::my_passkeys(w, &b.supervisor).await.unwrap()[0].last_used_at;
    assert_eq!(used, Some(b.now()));
    let listed = workflow::own_sessions(w, &b.supervisor, &workflow::Here::default()).await.unwrap();
    assert!(listed.iter().any(|s| s.program.starts_with("Chrome")), "{listed:?}");
    sara.sign_out().await;

    // Each challenge is answered once; the answer to one is none to another; and nothing of it may be changed.
    assert_eq!(attempt(&sara, "nothing").await, json!([200, 403]));
    for spoil in ["signature", "another challenge", "another person"] {
        assert_eq!(attempt(&sara, spoil).await, json!([403, 403]), "{spoil}");
    }
    // Whoever holds the phone and is not its owner.
    sara.go("/sign-in").await;
    sara.window.verifies(&authenticator, false).await;
    sara.tap("Sign in with a passkey").await;
    sara.until("It was broken off").await;
    sara.window.verifies(&authenticator, true).await;

    // Disabled, and let in again without it.
    workflow::disable_person(w, &b.owner, b.supervisor.id, true).await.unwrap();
    assert_eq!(attempt(&sara, "nothing").await, json!([403, 403]));
    workflow::disable_person(w, &b.owner, b.supervisor.id, false).await.unwrap();
    let passkey = workflow::my_passkeys(w, &b.supervisor).await.unwrap()[0].id;
    assert!(workflow::remove_passkey(w, &b.supervisor, passkey, "guessed at random").await.is_err());
    assert!(workflow::remove_passkey(w, &b.mechanic, passkey, PASSWORD).await.is_err(), "somebody else's");
    workflow::remove_passkey(w, &b.supervisor, passkey, PASSWORD).await.unwrap();
    sara.go("/sign-in").await;
    sara.tap("Sign in with a passkey").await;
    sara.until("This passkey does not let you in here.").await;
    b.assert_sound().await;
    sara.window.close().await;
    served.stop().await;
}
