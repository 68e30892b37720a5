//! RFC 8725, JSON Web Token Best Current Practices: a test for each of its points that applies to our access tokens, named
//! by its number. Not for us: 3.4 (no elliptic curves), 3.6 (nothing is encrypted).

use std::io::Write;

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use chock::domain::ids::PersonId;
use chock::http::token::{TokenError, accept_key, sign, verify};
use chock::workflow::{self, Credentials, WhoIsIn};
use chrono::{DateTime, TimeDelta, Utc};
use hmac::{Hmac, KeyInit, Mac};
use serde_json::{Value, json};
use sha2::{Sha256, Sha384, Sha512};
use uuid::Uuid;

use crate::support::{Bench, PASSWORD, on_both};

on_both!(rfc_8725_3_8_the_subject_is_somebody_of_ours, rfc_8725_3_10_what_one_may_is_not_in_the_token);

const KEY: &[u8] = b"0123456789abcdef0123456789abcdef";
const NOT_OURS: Result<(PersonId, Uuid), TokenError> = Err(TokenError::NotOurs);

fn now() -> DateTime<Utc> {
    "2026-11-25T08:00:00Z".parse().unwrap()
}

fn person() -> PersonId {
    PersonId(Uuid::from_u128(0x0190_0000_0000_7000_8000_0000_0000_0001))
}

fn family() -> Uuid {
    Uuid::from_u128(9)
}

fn header() -> Value {
    json!({ "typ": "at+jwt", "alg": "HS256" })
}

fn claims() -> Value {
    json!({
        "iss": "chock", "aud": "chock-api", "sub": person(), "sid": family(), "jti": Uuid::from_u128(7),
        "iat": now().timestamp(), "exp": now().timestamp() + 600,
    })
}

fn with(mut object: Value, member: &str, value: Value) -> Value {
    object[member] = value;
    object
}

fn without(mut object: Value, member: &str) -> Value {
    object.as_object_mut().unwrap().remove(member);
    object
}

fn encoded(header: &Value, claims: &Value) -> String {
    let part = |v: &Value| URL_SAFE_NO_PAD.encode(v.to_string());
    format!("{}.{}", part(header), part(claims))
}

macro_rules! signed_by {
    ($hash:ty, $key:expr, $message:expr) => {{
        let mut mac = Hmac::<$hash>::new_from_slice($key).unwrap();
        mac.update($message.as_bytes());
        format!("{}.{}", $message, URL_SAFE_NO_PAD.encode(mac.finalize().into_bytes()))
    }};
}

/// With our key, by HMAC of our own making: not by the library that is asked.
fn forged(header: &Value, claims: &Value) -> String {
    signed_by!(Sha256, KEY, encoded(header, claims))
}

#[test]
fn what_is_forged_here_is_taken_when_it_is_right() {
    assert_eq!(verify(KEY, &forged(&header(), &claims()), now()), Ok((person(), family())));
}

/// Only the one algorithm, whatever the header says, also when what it says was done well.
#[test]
fn rfc_8725_3_1_the_algorithm_is_ours_not_the_headers() {
    for alg in ["HS384", "HS512", "RS256", "ES256", "EdDSA", "hs256", "HS256 "] {
        assert_eq!(verify(KEY, &forged(&with(header(), "alg", json!(alg)), &claims()), now()), NOT_OURS);
    }
    let message = encoded(&with(header(), "alg", json!("HS384")), &claims());
    assert_eq!(verify(KEY, &signed_by!(Sha384, KEY, message), now()), NOT_OURS);
    let message = encoded(&with(header(), "alg", json!("HS512")), &claims());
    assert_eq!(verify(KEY, &signed_by!(Sha512, KEY, message), now()), NOT_OURS);
    // A header that is signed and has none.
    assert_eq!(verify(KEY, &forged(&without(header(), "alg"), &claims()), now()), NOT_OURS);
}

/// `none` is no algorithm of ours, with a signature and without.
#[test]
fn rfc_8725_3_2_none_is_no_algorithm() {
    for none in ["none", "None", "NONE", "nOnE"] {
        let header = with(header(), "alg", json!(none));
        assert_eq!(verify(KEY, &forged(&header, &claims()), now()), NOT_OURS);
        let message = encoded(&header, &claims());
        for unsigned in [format!("{message}."), message.clone(), format!("{message}.e30")] {
            assert_eq!(verify(KEY, &unsigned, now()), NOT_OURS, "{unsigned}");
        }
    }
}

/// The signature covers header and claims, and the whole of it counts.
#[test]
fn rfc_8725_3_3_nothing_is_taken_unless_all_of_the_signature_holds() {
    let good = forged(&header(), &claims());
    let (message, signature) = good.rsplit_once('.').unwrap();
    for n in 0..signature.len() {
        let mut bytes = URL_SAFE_NO_PAD.decode(signature).unwrap();
        let last = bytes.len() - 1;
        bytes[n.min(last)] ^= 1;
        let bad = format!("{message}.{}", URL_SAFE_NO_PAD.encode(bytes));
        assert_eq!(verify(KEY, &bad, now()), NOT_OURS);
    }
    for cut in [&signature[..20], "", "AAAA"] {
        assert_eq!(verify(KEY, &format!("{message}.{cut}"), now()), NOT_OURS);
    }
    let other = encoded(&header(), &with(claims(), "sub", json!(Uuid::nil())));
    assert_eq!(verify(KEY, &format!("{other}.{signature}"), now()), NOT_OURS);
    let other = encoded(&with(header(), "x", json!(1)), &claims());
    assert_eq!(verify(KEY, &format!("{other}.{signature}"), now()), NOT_OURS);
    assert_eq!(verify(b"another key, another key, another", &good, now()), NOT_OURS);
    // RFC 7515, 4.1.11: an extension that must be understood is not.
    assert_eq!(verify(KEY, &forged(&with(header(), "crit", json!(["b64"])), &claims()), now()), NOT_OURS);
}

/// A key as long as the hash (RFC 7518, 3.2), not one that is printed in a standard, and not one that people think of.
#[test]
fn rfc_8725_3_5_a_key_that_could_be_guessed_is_refused() {
    for short in [&b""[..], b"secret", b"correct horse battery staple", &KEY[..31]] {
        assert_eq!(accept_key(short), Err(TokenError::ShortKey));
        assert_eq!(verify(short, &forged(&header(), &claims()), now()), Err(TokenError::ShortKey));
        assert!(sign(short, person(), family(), Uuid::nil(), now()).is_err());
    }
    // RFC 7515, A.1.
    let published = "AyM1SysPpbyDfgZld3umj1qzKObwVMkoqQ-EstJQLr_T-1qS0gZH75aKtMN3Yj0iPS4hcgUuTwjAzZr1Z9CAow";
    let bytes = URL_SAFE_NO_PAD.decode(published).unwrap();
    assert_eq!(accept_key(&bytes), Err(TokenError::PublishedKey));
    assert_eq!(accept_key(published.as_bytes()), Err(TokenError::PublishedKey));
    assert_eq!(accept_key(KEY), Ok(()));
}

/// Claims in another encoding are none.
#[test]
fn rfc_8725_3_7_claims_are_utf_8() {
    let mut latin = Vec::new();
    write!(latin, "{}", with(claims(), "name", json!("@"))).unwrap();
    let at = latin.iter().position(|b| *b == b'@').unwrap();
    latin[at] = 0xe9;
    let message =
        format!("{}.{}", URL_SAFE_NO_PAD.encode(header().to_string()), URL_SAFE_NO_PAD.encode(latin));
    assert_eq!(verify(KEY, &signed_by!(Sha256, KEY, message), now()), NOT_OURS);
}

#[test]
fn rfc_8725_3_8_the_issuer_is_this_server() {
    for bad in [
        with(claims(), "iss", json!("joe")),
        with(claims(), "iss", json!(["joe"])),
        with(claims(), "iss", json!("Chock")),
        without(claims(), "iss"),
        with(claims(), "sub", json!("otto@yard.example")),
        without(claims(), "sub"),
        without(claims(), "sid"),
    ] {
        assert_eq!(verify(KEY, &forged(&header(), &bad), now()), NOT_OURS, "{bad}");
    }
}

/// Signed by our own key for somebody who is not here, and for somebody else's sign-in.
async fn rfc_8725_3_8_the_subject_is_somebody_of_ours(b: Bench) {
    let w = &b.workshop;
    let given = Credentials { email: "olga@yard.example", password: PASSWORD };
    let grant = workflow::sign_in_api(w, given, None).await.unwrap();
    let who = async |person, family| workflow::who_has_token(w, person, family).await.unwrap();
    assert_eq!(who(b.owner.id, grant.family).await, WhoIsIn::In(b.owner.clone()));
    assert_eq!(who(PersonId(Uuid::nil()), grant.family).await, WhoIsIn::Nobody);
    assert_eq!(who(b.supervisor.id, grant.family).await, WhoIsIn::Nobody, "not in another's name");
    assert_eq!(who(b.owner.id, Uuid::nil()).await, WhoIsIn::Nobody, "of no sign-in");
}

#[test]
fn rfc_8725_3_9_the_audience_is_this_api() {
    for bad in [
        with(claims(), "aud", json!("somebody-else")),
        with(claims(), "aud", json!(["somebody-else", "a-third"])),
        with(claims(), "aud", json!("chock")),
        without(claims(), "aud"),
    ] {
        assert_eq!(verify(KEY, &forged(&header(), &bad), now()), NOT_OURS, "{bad}");
    }
}

/// What a token says of keys and rights is not believed, and its times are held against our own clock.
#[test]
fn rfc_8725_3_10_claims_are_not_trusted() {
    // Keys that a token brings along or points at.
    let own_key = URL_SAFE_NO_PAD.encode(b"a key that the token brings along");
    for (name, value) in [
        ("jwk", json!({"kty": "oct", "k": own_key})),
        ("jku", json!("https://elsewhere.example/keys")),
        ("x5u", json!("https://elsewhere.example/chain")),
        ("kid", json!("../../dev/null")),
        ("kid", json!("' OR 1=1 --")),
    ] {
        let message = encoded(&with(header(), name, value.clone()), &claims());
        let brought = signed_by!(Sha256, b"a key that the token brings along", message);
        assert_eq!(verify(KEY, &brought, now()), NOT_OURS, "{name}");
    }
    let at = |claims: Value, at| verify(KEY, &forged(&header(), &claims), at);
    assert_eq!(at(claims(), now() + TimeDelta::seconds(610)), Err(TokenError::Expired));
    assert_eq!(at(claims(), now() - TimeDelta::seconds(11)), NOT_OURS, "of the future");
    assert_eq!(at(with(claims(), "exp", json!(i64::MAX)), now()), NOT_OURS);
    assert_eq!(at(with(claims(), "exp", json!("tomorrow")), now()), NOT_OURS);
    assert_eq!(at(without(claims(), "exp"), now()), NOT_OURS);
}

/// Roles are looked up with every request: a token that says otherwise changes nothing.
async fn rfc_8725_3_10_what_one_may_is_not_in_the_token(b: Bench) {
    let w = &b.workshop;
    crate::support::has_password(w, b.operator.id).await;
    let given = Credentials { email: "otto@yard.example", password: PASSWORD };
    let grant = workflow::sign_in_api(w, given, None).await.unwrap();
    let key = workflow::token_key(w).await.unwrap();
    let mut said = claims();
    for (name, value) in [
        ("sub", json!(b.operator.id)),
        ("sid", json!(grant.family)),
        ("iat", json!(b.now().timestamp())),
        ("exp", json!(b.now().timestamp() + 600)),
        ("roles", json!(["owner"])),
        ("scope", json!("everything")),
    ] {
        said[name] = value;
    }
    let token = signed_by!(Sha256, &key, encoded(&header(), &said));
    let (person, family) = verify(&key, &token, b.now()).expect("a good token");
    let who = workflow::who_has_token(w, person, family).await.unwrap();
    assert_eq!(who, WhoIsIn::In(b.operator.clone()), "an operator, whatever it says");
}

#[test]
fn rfc_8725_3_11_the_kind_is_said() {
    for bad in [
        with(header(), "typ", json!("JWT")),
        with(header(), "typ", json!("rt+jwt")),
        with(header(), "typ", json!("")),
        without(header(), "typ"),
    ] {
        assert_eq!(verify(KEY, &forged(&bad, &claims()), now()), NOT_OURS, "{bad}");
    }
}

/// There is one kind of signed token. What else is a secret here is none, and a token is none of those.
#[test]
fn rfc_8725_3_12_other_secrets_are_no_tokens() {
    let ambient = chock::clock::Ambient::real();
    for secret in
        [ambient.secret(), format!("{}.{}.{}", ambient.secret(), ambient.secret(), ambient.secret())]
    {
        assert_eq!(verify(KEY, &secret, now()), NOT_OURS);
    }
    // An identity token of the same key (OpenID Connect), and a message of Security Event Tokens (RFC 8417).
    for typ in ["JWT", "secevent+jwt", "logout+jwt"] {
        let token = forged(&with(header(), "typ", json!(typ)), &with(claims(), "nonce", json!("1")));
        assert_eq!(verify(KEY, &token, now()), NOT_OURS);
    }
}
