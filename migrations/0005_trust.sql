-- The second step of signing in -----------------------------------------------------------------------------------------

CREATE TABLE second_step (
    person_id    UUID PRIMARY KEY REFERENCES person (id),
    -- Base32 of what the person's phone keeps as well. Codes are reckoned from it, so it cannot be a hash.
    secret       TEXT NOT NULL,
    begun_at     TIMESTAMPTZ NOT NULL,
    -- NULL until the first code was right; nothing is asked for before.
    confirmed_at TIMESTAMPTZ,
    -- Of the newest code that was used (RFC 6238, 5.2): none counts twice.
    last_step    BIGINT NOT NULL DEFAULT 0
);
CREATE TABLE recovery_code (
    code_hash TEXT PRIMARY KEY,
    person_id UUID NOT NULL REFERENCES person (id),
    used_at   TIMESTAMPTZ
);
CREATE INDEX recovery_code_person ON recovery_code (person_id);
-- The password was right, and the code is asked for.
CREATE TABLE begun_sign_in (
    secret_hash TEXT PRIMARY KEY,
    person_id   UUID NOT NULL REFERENCES person (id),
    expires_at  TIMESTAMPTZ NOT NULL,
    -- Codes that were looked at.
    tries       BIGINT NOT NULL DEFAULT 0
);
CREATE INDEX begun_sign_in_person ON begun_sign_in (person_id);

-- Passkeys (WebAuthn): public keys of what a person signs in with in place of the password and its second step.
CREATE TABLE passkey (
    -- As its authenticator names it, in base64url.
    credential_id TEXT PRIMARY KEY,
    id            UUID NOT NULL UNIQUE,
    person_id     UUID NOT NULL REFERENCES person (id),
    name          TEXT NOT NULL,
    -- The public key, and the counter with what else may change: as the library writes them, in base64url.
    public_key    TEXT NOT NULL,
    state         TEXT NOT NULL,
    added_at      TIMESTAMPTZ NOT NULL,
    last_used_at  TIMESTAMPTZ
);
CREATE INDEX passkey_person ON passkey (person_id);
-- A challenge that waits for its answer: of whoever adds a passkey, or of nobody yet.
CREATE TABLE passkey_begun (
    id         UUID PRIMARY KEY,
    person_id  UUID REFERENCES person (id),
    state      TEXT NOT NULL,
    expires_at TIMESTAMPTZ NOT NULL
);
