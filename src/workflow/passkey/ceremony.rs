//! The only file that knows the library: WebAuthn Level 3's registration and authentication, with a discoverable credential and
//! the user verified, so that the device and its owner's finger or PIN are two factors by themselves.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde_json::Value;
use webauthn_rp::bin::{Decode, Encode};
use webauthn_rp::request::auth::AuthenticationVerificationOptions;
use webauthn_rp::request::register::{
    CredProtect, PublicKeyCredentialUserEntity, RegistrationVerificationOptions, UserHandle,
};
use webauthn_rp::request::{AsciiDomain, DomainOrigin, PublicKeyCredentialDescriptor, RpId};
use webauthn_rp::response::register::{DynamicState, StaticState};
use webauthn_rp::response::{AuthTransports, CredentialId};
use webauthn_rp::{
    AuthenticatedCredential, DiscoverableAuthentication, DiscoverableAuthenticationServerState,
    DiscoverableCredentialRequestOptions, PublicKeyCredentialCreationOptions, Registration,
    RegistrationServerState,
};

use crate::domain::person::Actor;
use crate::storage::PasskeyRow;

/// Length of a person's id.
const ID: usize = 16;

/// What passkeys are bound to: the name of this site, and where its pages come from.
#[derive(Clone, Debug)]
pub struct Site {
    domain: String,
    origin: String,
}

pub struct Added {
    pub credential_id: String,
    pub public_key: String,
    pub state: String,
}

impl Site {
    /// Browsers take passkeys for a name over TLS, or on the computer itself; not for an address of figures.
    pub fn of(public_url: &str) -> Option<Self> {
        let (scheme, rest) = public_url.split_once("://")?;
        let host = rest.split(['/', ':']).next().unwrap_or_default();
        let named = host.chars().any(|c| c.is_ascii_alphabetic()) && !rest.starts_with('[');
        (named && (scheme == "https" || host == "localhost"))
            .then(|| Self { domain: host.to_owned(), origin: public_url.trim_end_matches('/').to_owned() })
    }

    fn id(&self) -> Result<RpId, String> {
        Ok(RpId::Domain(AsciiDomain::try_from(self.domain.clone()).map_err(said)?))
    }

    fn origins(&self) -> Result<[DomainOrigin<'_, '_>; 1], String> {
        Ok([DomainOrigin::try_from(self.origin.as_str()).map_err(said)?])
    }
}

/// What is to be kept until the answer, and what the browser is asked.
pub fn begin_adding(
    site: &Site,
    actor: &Actor,
    email: &str,
    known: &[&str],
) -> Result<(String, Value), String> {
    let rp_id = site.id()?;
    let handle = UserHandle::<ID>::decode(actor.id.0.into_bytes()).map_err(said)?;
    let entity = PublicKeyCredentialUserEntity {
        name: email.try_into().map_err(said)?,
        id: &handle,
        display_name: actor.name.as_str().try_into().ok(),
    };
    let known = known.iter().filter_map(|id| {
        let id = CredentialId::<Vec<u8>>::decode(URL_SAFE_NO_PAD.decode(id).ok()?).ok()?;
        Some(PublicKeyCredentialDescriptor { id, transports: AuthTransports::decode(0).ok()? })
    });
    let mut options = PublicKeyCredentialCreationOptions::passkey(&rp_id, entity, known.collect());
    // Enforced, it would shut out authenticators that do not know this extension; that the user was verified is asked for anyhow.
    options.extensions.cred_protect = CredProtect::None;
    let (server, client) = options.start_ceremony().map_err(said)?;
    Ok((kept(server.encode().map_err(said)?), serde_json::to_value(&client).map_err(said)?))
}

pub fn finish_adding(site: &Site, state: &str, answer: &Value) -> Result<Added, String> {
    let server = RegistrationServerState::<ID>::decode(&read(state)?).map_err(said)?;
    let answer = Registration::from_json_relaxed(answer.to_string().as_bytes()).map_err(said)?;
    let origins = site.origins()?;
    let options = RegistrationVerificationOptions::<DomainOrigin<'_, '_>, DomainOrigin<'_, '_>> {
        allowed_origins: &origins,
        // What a browser adds unasked is not looked at.
        error_on_unsolicited_extensions: false,
        ..Default::default()
    };
    let new = server.verify(&site.id()?, &answer, &options).map_err(said)?;
    Ok(Added {
        credential_id: kept(new.id().as_ref()),
        public_key: kept(new.static_state().encode().map_err(said)?),
        state: kept(new.dynamic_state().encode().map_err(said)?),
    })
}

pub fn begin_entering(site: &Site) -> Result<(String, Value), String> {
    let rp_id = site.id()?;
    let (server, client) =
        DiscoverableCredentialRequestOptions::passkey(&rp_id).start_ceremony().map_err(said)?;
    Ok((kept(server.encode().map_err(said)?), serde_json::to_value(&client).map_err(said)?))
}

/// Which credential the answer names.
pub fn credential_of(answer: &Value) -> Option<String> {
    let answer = DiscoverableAuthentication::<ID>::from_json_relaxed(answer.to_string().as_bytes()).ok()?;
    Some(kept(answer.raw_id().as_ref()))
}

/// Answers the state as it is afterwards.
pub fn finish_entering(
    site: &Site,
    state: &str,
    answer: &Value,
    passkey: &PasskeyRow,
) -> Result<String, String> {
    let server = DiscoverableAuthenticationServerState::decode(&read(state)?).map_err(said)?;
    let answer = DiscoverableAuthentication::<ID>::from_json_relaxed(answer.to_string().as_bytes());
    let answer = answer.map_err(said)?;
    let handle = UserHandle::<ID>::decode(passkey.person_id.0.into_bytes()).map_err(said)?;
    let (id, key, was) = (read(&passkey.credential_id)?, read(&passkey.public_key)?, read(&passkey.state)?);
    let was: [u8; 7] = was.try_into().map_err(|_| "a state of another length".to_owned())?;
    let mut credential = AuthenticatedCredential::new(
        CredentialId::<&[u8]>::decode(&id).map_err(said)?,
        &handle,
        StaticState::decode(key.as_slice()).map_err(said)?,
        DynamicState::decode(was).map_err(said)?,
    )
    .map_err(said)?;
    let origins = site.origins()?;
    let options = AuthenticationVerificationOptions::<DomainOrigin<'_, '_>, DomainOrigin<'_, '_>> {
        allowed_origins: &origins,
        error_on_unsolicited_extensions: false,
        ..Default::default()
    };
    server.verify(&site.id()?, &answer, &mut credential, &options).map_err(said)?;
    Ok(kept(credential.dynamic_state().encode().map_err(said)?))
}

fn kept(bytes: impl AsRef<[u8]>) -> String {
    URL_SAFE_NO_PAD.encode(bytes)
}

fn read(text: &str) -> Result<Vec<u8>, String> {
    URL_SAFE_NO_PAD.decode(text).map_err(said)
}

fn said(error: impl std::fmt::Display) -> String {
    error.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn passkeys_are_for_a_name_over_tls() {
        let named = |url| Site::of(url).map(|s| s.domain);
        assert_eq!(named("https://chock.example.org").as_deref(), Some("chock.example.org"));
        assert_eq!(named("https://chock.example.org:8443").as_deref(), Some("chock.example.org"));
        assert_eq!(named("http://localhost:8080").as_deref(), Some("localhost"));
        for none in [
            "http://chock.example.org",
            "https://192.0.2.7",
            "https://[2001:db8::1]",
            "http://127.0.0.1:8080",
        ] {
            assert_eq!(named(none), None, "{none}");
        }
    }
}
