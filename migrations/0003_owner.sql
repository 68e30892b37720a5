-- The owner's desk: who is told of what, who has acknowledged, and how others are told.

-- Who hears what -----------------------------------------------------------------------------------------------------

-- What the owner asks of a role, where it is not the usual.
CREATE TABLE hearing_rule (
    yard_id UUID NOT NULL REFERENCES yard (id),
    kind    TEXT NOT NULL,
    role    TEXT NOT NULL,
    wanted  TEXT NOT NULL,
    PRIMARY KEY (yard_id, kind, role)
);
-- What a person chose for themselves.
CREATE TABLE own_hearing (
    person_id UUID NOT NULL REFERENCES person (id),
    yard_id   UUID NOT NULL REFERENCES yard (id),
    kind      TEXT NOT NULL,
    heard     BOOLEAN NOT NULL,
    PRIMARY KEY (person_id, yard_id, kind)
);
-- Only of machines of these classes; of all where there is none.
CREATE TABLE own_class (
    person_id UUID NOT NULL REFERENCES person (id),
    yard_id   UUID NOT NULL REFERENCES yard (id),
    class     TEXT NOT NULL,
    PRIMARY KEY (person_id, yard_id, class)
);
-- Minutes from midnight by the clock of the yard that the alert is from; over midnight when the end is earlier.
CREATE TABLE quiet_hours (
    person_id   UUID PRIMARY KEY REFERENCES person (id),
    from_minute BIGINT NOT NULL CHECK (from_minute BETWEEN 0 AND 1439),
    to_minute   BIGINT NOT NULL CHECK (to_minute BETWEEN 0 AND 1439)
);
-- Minute of the day at which the digest goes out; NULL for none. The last day it went out, as ISO 8601.
ALTER TABLE yard ADD COLUMN digest_minute BIGINT;
ALTER TABLE yard ADD COLUMN digest_day TEXT;

-- Has somebody seen it? ----------------------------------------------------------------------------------------------

-- Who is told next, so many minutes after the one before.
CREATE TABLE escalation (
    yard_id      UUID NOT NULL REFERENCES yard (id),
    step         BIGINT NOT NULL CHECK (step >= 1),
    person_id    UUID NOT NULL REFERENCES person (id),
    wait_minutes BIGINT NOT NULL CHECK (wait_minutes BETWEEN 1 AND 1440),
    PRIMARY KEY (yard_id, step)
);
-- One per lock-out that somebody is asked to acknowledge.
CREATE TABLE acknowledgement (
    event_key       TEXT PRIMARY KEY,
    machine_id      UUID NOT NULL REFERENCES machine (id),
    yard_id         UUID NOT NULL REFERENCES yard (id),
    asked_at        TIMESTAMPTZ NOT NULL,
    -- How many of the chain have been told.
    step            BIGINT NOT NULL DEFAULT 0,
    -- When the next in line is told; NULL when nobody is left.
    next_at         TIMESTAMPTZ,
    acknowledged_at TIMESTAMPTZ,
    acknowledged_by UUID REFERENCES person (id)
);
CREATE INDEX acknowledgement_due ON acknowledgement (next_at) WHERE acknowledged_at IS NULL;
CREATE INDEX acknowledgement_asked ON acknowledgement (asked_at);
CREATE INDEX acknowledgement_machine ON acknowledgement (machine_id, asked_at);
CREATE INDEX acknowledgement_open ON acknowledgement (machine_id) WHERE acknowledged_at IS NULL;

-- Other programs that are told -----------------------------------------------------------------------------------------

CREATE TABLE webhook (
    id            UUID PRIMARY KEY,
    -- NULL for every yard.
    yard_id       UUID REFERENCES yard (id),
    url           TEXT NOT NULL,
    about         TEXT NOT NULL,
    -- What is sent (JSON); everything when it is an empty list.
    kinds         TEXT NOT NULL,
    -- Kept as it is: it signs what is sent.
    secret        TEXT NOT NULL,
    -- The one before, which signs as well for a while.
    old_secret    TEXT,
    old_until     TIMESTAMPTZ,
    failing_since TIMESTAMPTZ,
    disabled_at   TIMESTAMPTZ,
    disabled_why  TEXT NOT NULL DEFAULT '',
    removed_at    TIMESTAMPTZ,
    created_by    UUID NOT NULL REFERENCES person (id),
    created_at    TIMESTAMPTZ NOT NULL
);
CREATE TABLE webhook_message (
    id           UUID PRIMARY KEY,
    webhook_id   UUID NOT NULL REFERENCES webhook (id),
    event_key    TEXT NOT NULL,
    kind         TEXT NOT NULL,
    body         TEXT NOT NULL,
    state        TEXT NOT NULL,
    attempts     BIGINT NOT NULL DEFAULT 0,
    next_at      TIMESTAMPTZ NOT NULL,
    lease_until  TIMESTAMPTZ,
    last_answer  TEXT NOT NULL DEFAULT '',
    created_at   TIMESTAMPTZ NOT NULL,
    delivered_at TIMESTAMPTZ,
    UNIQUE (webhook_id, event_key)
);
CREATE INDEX webhook_message_owed ON webhook_message (next_at) WHERE state IN ('owed', 'sending');
CREATE INDEX webhook_message_of ON webhook_message (webhook_id, created_at);

-- Calendars -----------------------------------------------------------------------------------------------------------

-- Whoever knows the secret reads the dates of this person's yards. Only its hash is kept.
CREATE TABLE calendar_link (
    person_id    UUID PRIMARY KEY REFERENCES person (id),
    secret_hash  TEXT NOT NULL UNIQUE,
    created_at   TIMESTAMPTZ NOT NULL
);
