-- What is signed, and what lets a trail that was cut off or rewritten be caught.

-- Signed heads --------------------------------------------------------------------------------------------------------

-- What all chains of the audit trail were at a moment: one digest over where each ended, chained to the head before and
-- signed. Append-only, as the trail is.
CREATE TABLE trail_head (
    number     BIGINT PRIMARY KEY CHECK (number > 0),
    at         TIMESTAMPTZ NOT NULL,
    chains     BIGINT NOT NULL,
    entries    BIGINT NOT NULL,
    digest     TEXT NOT NULL,
    prev_hash  TEXT NOT NULL,
    hash       TEXT NOT NULL,
    signature  TEXT NOT NULL,
    public_key TEXT NOT NULL
);
-- Where the chains ended that had moved since the head before: with those of all heads before, where each ended.
CREATE TABLE trail_head_end (
    number BIGINT NOT NULL REFERENCES trail_head (number),
    stream TEXT NOT NULL,
    seq    BIGINT NOT NULL,
    hash   TEXT NOT NULL,
    PRIMARY KEY (number, stream)
);
CREATE INDEX trail_head_end_stream ON trail_head_end (stream, number);
-- Who gets each head by mail.
CREATE TABLE trail_head_reader (
    person_id UUID PRIMARY KEY REFERENCES person (id)
);

-- A database of the first schema knows of a work order when it was opened and how it stands: so much is told of what it was at.
INSERT INTO order_spell (work_order_id, from_at, machine_id, state, waiting_for)
SELECT w.id, w.opened_at, w.machine_id,
       CASE WHEN COALESCE(w.closed_at, w.done_at, w.opened_at) > w.opened_at THEN 'queued' ELSE w.state END,
       CASE WHEN COALESCE(w.closed_at, w.done_at, w.opened_at) > w.opened_at THEN NULL ELSE w.waiting_for END
FROM work_order w WHERE NOT EXISTS (SELECT 1 FROM order_spell s WHERE s.work_order_id = w.id);
INSERT INTO order_spell (work_order_id, from_at, machine_id, state, waiting_for)
SELECT w.id, COALESCE(w.closed_at, w.done_at), w.machine_id, w.state, w.waiting_for
FROM work_order w WHERE COALESCE(w.closed_at, w.done_at) > w.opened_at
  AND NOT EXISTS (SELECT 1 FROM order_spell s WHERE s.work_order_id = w.id AND s.from_at > w.opened_at);

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

-- What a program sent under a key of its own (Idempotency-Key), and what it was answered. Kept for a day.
CREATE TABLE sent_before (
    person_id   UUID NOT NULL REFERENCES person (id),
    key         TEXT NOT NULL,
    -- SHA-256 of what was asked and sent: another one under the same key is refused.
    fingerprint TEXT NOT NULL,
    begun_at    TIMESTAMPTZ NOT NULL,
    -- NULL while it is under way.
    status      BIGINT,
    location    TEXT,
    -- NULL where a secret was answered, which is shown once.
    body        TEXT,
    PRIMARY KEY (person_id, key)
);

-- Several servers ---------------------------------------------------------------------------------------------------------

-- Which server does what one at a time is enough for, and until when it has the turn. One that dies loses it by that.
CREATE TABLE task_turn (
    task      TEXT PRIMARY KEY,
    server    UUID NOT NULL,
    until     TIMESTAMPTZ NOT NULL
);
