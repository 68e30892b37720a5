//! Access tokens of the API: short-lived, signed with one algorithm, and good for nothing else (RFC 8725). What the
//! person may do is not in the token; it is looked up with every request.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use chrono::{DateTime, TimeDelta, Utc};
use jsonwebtoken::{Algorithm, DecodingKey, EncodingKey, Header, Validation};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::domain::ids::PersonId;

/// How long a token is good for.
pub const LIFETIME: TimeDelta = TimeDelta::minutes(10);

const ISSUER: &str = "chock";
const AUDIENCE: &str = "chock-api";
/// The media type of RFC 9068; explicit typing as RFC 8725, 3.11 asks for.
const KIND: &str = "at+jwt";
const ALGORITHM: Algorithm = Algorithm::HS256;
/// Between the clocks of two processes that share a key.
const LEEWAY: TimeDelta = TimeDelta::seconds(10);
/// RFC 7518, 3.2: a key of at least the size of the hash.
const SHORTEST_KEY: usize = 32;
/// The example key of RFC 7515, A.1: known to everybody.
const PUBLISHED: &str =
    "AyM1SysPpbyDfgZld3umj1qzKObwVMkoqQ-EstJQLr_T-1qS0gZH75aKtMN3Yj0iPS4hcgUuTwjAzZr1Z9CAow";

#[derive(Debug, PartialEq, Eq, thiserror::Error)]
pub enum TokenError {
    #[error("the key that signs access tokens is shorter than {SHORTEST_KEY} bytes")]
    ShortKey,
    #[error("the key that signs access tokens is published in RFC 7515; make a secret one")]
    PublishedKey,
    #[error("the access token could not be signed")]
    NotSigned,
    #[error("the access token is not one of ours")]
    NotOurs,
    #[error("the access token has expired")]
    Expired,
}

/// Signs a token for the person and the sign-in it comes of, good from now for [`LIFETIME`].
pub fn sign(
    key: &[u8],
    person: PersonId,
    family: Uuid,
    id: Uuid,
    now: DateTime<Utc>,
) -> Result<String, TokenError> {
    accept_key(key)?;
    let claims = Claims {
        iss: ISSUER.to_owned(),
        aud: AUDIENCE.to_owned(),
        sub: person,
        sid: family,
        exp: (now + LIFETIME).timestamp(),
        iat: now.timestamp(),
        jti: id,
    };
    let header = Header { typ: Some(KIND.to_owned()), ..Header::new(ALGORITHM) };
    jsonwebtoken::encode(&header, &claims, &EncodingKey::from_secret(key)).map_err(|_| TokenError::NotSigned)
}

/// Whose token it is and of which sign-in, if we signed it for this API and it is still good.
pub fn verify(key: &[u8], token: &str, now: DateTime<Utc>) -> Result<(PersonId, Uuid), TokenError> {
    accept_key(key)?;
    let mut validation = Validation::new(ALGORITHM);
    // The library would ask the system's clock; time is handed in here.
    validation.validate_exp = false;
    validation.set_required_spec_claims(&["exp", "iss", "aud", "sub"]);
    validation.set_issuer(&[ISSUER]);
    validation.set_audience(&[AUDIENCE]);
    if !is_utf_8(token) {
        return Err(TokenError::NotOurs);
    }
    let token = jsonwebtoken::decode::<Claims>(token, &DecodingKey::from_secret(key), &validation)
        .map_err(|_| TokenError::NotOurs)?;
    // An extension that must be understood (`crit`) is one that we do not understand.
    let is_kind = token.header.typ.is_some_and(|t| t.eq_ignore_ascii_case(KIND));
    if !is_kind || token.header.crit.is_some() {
        return Err(TokenError::NotOurs);
    }
    let at = |seconds| DateTime::from_timestamp(seconds, 0).ok_or(TokenError::NotOurs);
    if at(token.claims.iat)? > now + LEEWAY {
        return Err(TokenError::NotOurs);
    }
    if at(token.claims.exp)? + LEEWAY <= now {
        return Err(TokenError::Expired);
    }
    Ok((token.claims.sub, token.claims.sid))
}

/// Refuses a key that could be guessed.
pub fn accept_key(key: &[u8]) -> Result<(), TokenError> {
    if key.len() < SHORTEST_KEY {
        return Err(TokenError::ShortKey);
    }
    // Taken as bytes or as the text of the example.
    if key == PUBLISHED.as_bytes()
        || URL_SAFE_NO_PAD.decode(PUBLISHED).is_ok_and(|published| key == published)
    {
        return Err(TokenError::PublishedKey);
    }
    Ok(())
}

/// RFC 8725, 3.7: also what is in claims that nobody reads.
fn is_utf_8(token: &str) -> bool {
    let parts = token.split('.').take(2).map(|part| URL_SAFE_NO_PAD.decode(part));
    parts.into_iter().all(|part| part.is_ok_and(|bytes| std::str::from_utf8(&bytes).is_ok()))
}

#[derive(Serialize, Deserialize)]
struct Claims {
    iss: String,
    aud: String,
    sub: PersonId,
    /// The sign-in it came of: the token is good no longer than that.
    sid: Uuid,
    exp: i64,
    iat: i64,
    jti: Uuid,
}

#[cfg(test)]
#[path = "token_tests.rs"]
mod tests;
