use super::*;
use serde_json::{Value, json};

const KEY: &[u8] = b"0123456789abcdef0123456789abcdef";
/// RFC 7515, A.1.1, in its three parts.
const RFC_TOKEN: (&str, &str, &str) = (
    "eyJ0eXAiOiJKV1QiLA0KICJhbGciOiJIUzI1NiJ9",
    "eyJpc3MiOiJqb2UiLA0KICJleHAiOjEzMDA4MTkzODAsDQogImh0dHA6Ly9leGFtcGxlLmNvbS9pc19yb290Ijp0cnVlfQ",
    "dBjftJeZ4CVP-mB92K27uhbUJU1p1r_wW1gFWFOEjXk",
);

fn now() -> DateTime<Utc> {
    "2026-11-25T08:00:00Z".parse().unwrap()
}

fn person() -> PersonId {
    PersonId(Uuid::from_u128(0x0190_0000_0000_7000_8000_0000_0000_0001))
}

fn family() -> Uuid {
    Uuid::from_u128(9)
}

fn signed(now: DateTime<Utc>) -> String {
    sign(KEY, person(), family(), Uuid::from_u128(7), now).unwrap()
}

/// A token with our key and whatever header and claims.
fn forged(header: Value, claims: Value) -> String {
    let part = |v: Value| URL_SAFE_NO_PAD.encode(v.to_string());
    let message = format!("{}.{}", part(header), part(claims));
    let signature =
        jsonwebtoken::crypto::sign(message.as_bytes(), &EncodingKey::from_secret(KEY), Algorithm::HS256)
            .unwrap();
    format!("{message}.{signature}")
}

fn our_header() -> Value {
    json!({ "typ": "at+jwt", "alg": "HS256" })
}

fn our_claims() -> Value {
    json!({
        "iss": "chock", "aud": "chock-api", "sub": person(), "sid": family(), "jti": Uuid::from_u128(7),
        "iat": now().timestamp(), "exp": now().timestamp() + 600,
    })
}

fn with(mut object: Value, member: &str, value: Value) -> Value {
    object[member] = value;
    object
}

#[test]
fn a_token_is_good_for_ten_minutes() {
    let token = signed(now());
    assert_eq!(verify(KEY, &token, now()), Ok((person(), family())));
    assert_eq!(verify(KEY, &token, now() + TimeDelta::seconds(609)), Ok((person(), family())));
    assert_eq!(verify(KEY, &token, now() + TimeDelta::seconds(610)), Err(TokenError::Expired));
    // Issued by a clock that runs ahead.
    assert_eq!(verify(KEY, &token, now() - TimeDelta::seconds(10)), Ok((person(), family())));
    assert_eq!(verify(KEY, &token, now() - TimeDelta::seconds(11)), Err(TokenError::NotOurs));
}

/// The signing of our own tokens, seen from outside: the claims and header that RFC 9068 and RFC 8725 ask for.
#[test]
fn what_is_in_a_token() {
    let token = signed(now());
    let part = |n: usize| -> Value {
        serde_json::from_slice(&URL_SAFE_NO_PAD.decode(token.split('.').nth(n).unwrap()).unwrap()).unwrap()
    };
    assert_eq!(part(0), our_header());
    assert_eq!(part(1), our_claims());
    assert_eq!(verify(KEY, &forged(our_header(), our_claims()), now()), Ok((person(), family())));
}

/// RFC 7515, A.1: our library agrees with the standard about the signature; as an access token it is refused, whatever
/// the key, and its key is refused as a secret.
#[test]
fn the_example_of_rfc_7515() {
    let key = URL_SAFE_NO_PAD.decode(PUBLISHED).unwrap();
    assert_eq!(key.len(), 64);
    let (header, payload, signature) = RFC_TOKEN;
    let message = format!("{header}.{payload}");
    let decoding = DecodingKey::from_secret(&key);
    let holds = |signature: &str| {
        jsonwebtoken::crypto::verify(signature, message.as_bytes(), &decoding, Algorithm::HS256).unwrap()
    };
    assert!(holds(signature));
    assert!(!holds(&signature.replacen('d', "e", 1)));
    let made =
        jsonwebtoken::crypto::sign(message.as_bytes(), &EncodingKey::from_secret(&key), Algorithm::HS256);
    assert_eq!(made.unwrap(), signature);

    assert_eq!(accept_key(&key), Err(TokenError::PublishedKey));
    assert_eq!(accept_key(PUBLISHED.as_bytes()), Err(TokenError::PublishedKey));
    let token = format!("{message}.{signature}");
    assert_eq!(verify(&key, &token, now()), Err(TokenError::PublishedKey));
    assert_eq!(verify(KEY, &token, now()), Err(TokenError::NotOurs));
    // The same claims under our own key: no audience, another issuer, another kind, and long expired (2011).
    let claims = json!({ "iss": "joe", "exp": 1_300_819_380, "http://example.com/is_root": true });
    assert_eq!(
        verify(KEY, &forged(json!({ "typ": "JWT", "alg": "HS256" }), claims), now()),
        Err(TokenError::NotOurs)
    );
    let old = with(with(our_claims(), "exp", json!(1_300_819_380)), "iat", json!(1_300_818_780));
    assert_eq!(verify(KEY, &forged(our_header(), old), now()), Err(TokenError::Expired));
}

#[test]
fn short_keys_are_refused() {
    assert_eq!(accept_key(&KEY[..31]), Err(TokenError::ShortKey));
    assert_eq!(accept_key(&[]), Err(TokenError::ShortKey));
    assert_eq!(sign(&KEY[..31], person(), family(), Uuid::nil(), now()), Err(TokenError::ShortKey));
    assert_eq!(accept_key(KEY), Ok(()));
}
