-- One dialect for SQLite and PostgreSQL. Rules that need an engine's own syntax (the append-only triggers) are laid by
-- storage/tx.rs after the migrations. Times are UTC, truncated to microseconds. Quantities of parts are thousandths of the
-- part's unit; money is minor units of one currency; engine hours are tenths of an hour.

CREATE TABLE setting (
    name  TEXT PRIMARY KEY,
    value TEXT NOT NULL
);

CREATE TABLE counter (
    name  TEXT PRIMARY KEY,
    value BIGINT NOT NULL
);
INSERT INTO counter (name, value) VALUES ('work_order', 0);

-- People ----------------------------------------------------------------------------------------------------------

CREATE TABLE yard (
    id         UUID PRIMARY KEY,
    name       TEXT NOT NULL UNIQUE,
    zone       TEXT NOT NULL,
    one_person BOOLEAN NOT NULL DEFAULT FALSE,
    -- Metres above sea level; NULL is taken for sea level.
    altitude_m BIGINT,
    created_at TIMESTAMPTZ NOT NULL
);

-- How many machines of a class the yard wants fit for use on an ordinary day.
CREATE TABLE yard_need (
    yard_id UUID NOT NULL REFERENCES yard (id),
    class   TEXT NOT NULL,
    needed  BIGINT NOT NULL CHECK (needed >= 0),
    PRIMARY KEY (yard_id, class)
);

CREATE TABLE person (
    id            UUID PRIMARY KEY,
    name          TEXT NOT NULL,
    email         TEXT NOT NULL UNIQUE,
    password_hash TEXT,
    rate_minor    BIGINT NOT NULL DEFAULT 0 CHECK (rate_minor >= 0),
    -- Whose dated rates hold; NULL for the rate of their own.
    grade         TEXT,
    disabled_at   TIMESTAMPTZ,
    created_at    TIMESTAMPTZ NOT NULL,
    -- BCP 47 tag of the language their pages and mails are in; NULL when they never chose.
    language      TEXT,
    -- The units they read and type in; NULL when they never chose.
    units         TEXT,
    -- Locked first by every change to this person's labour, so that two entries cannot overlap.
    labour_turn   BIGINT NOT NULL DEFAULT 0
);
CREATE TABLE person_role (
    person_id UUID NOT NULL REFERENCES person (id),
    role      TEXT NOT NULL,
    PRIMARY KEY (person_id, role)
);
CREATE TABLE person_yard (
    person_id UUID NOT NULL REFERENCES person (id),
    yard_id   UUID NOT NULL REFERENCES yard (id),
    PRIMARY KEY (person_id, yard_id)
);

-- A one-time link with which somebody sets a password. Only the hash of its secret is kept.
CREATE TABLE invitation (
    secret_hash TEXT PRIMARY KEY,
    -- NULL for the very first one, which makes the owner.
    person_id   UUID REFERENCES person (id),
    expires_at  TIMESTAMPTZ NOT NULL,
    used_at     TIMESTAMPTZ
);
-- A tablet that several people use, trusted by somebody's password. It keeps a secret, of which this is the hash.
CREATE TABLE device (
    id           UUID PRIMARY KEY,
    secret_hash  TEXT NOT NULL UNIQUE,
    trusted_by   UUID NOT NULL REFERENCES person (id),
    trusted_at   TIMESTAMPTZ NOT NULL,
    -- By a PIN.
    last_used_at TIMESTAMPTZ
);
CREATE TABLE device_pin (
    device_id    UUID NOT NULL REFERENCES device (id),
    person_id    UUID NOT NULL REFERENCES person (id),
    -- Of the PIN together with the device's secret.
    pin_hash     TEXT NOT NULL,
    -- Wrong ones in a row.
    tries        BIGINT NOT NULL DEFAULT 0 CHECK (tries BETWEEN 0 AND 5),
    locked_until TIMESTAMPTZ,
    set_at       TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (device_id, person_id)
);
CREATE INDEX device_pin_person ON device_pin (person_id);
CREATE TABLE page_session (
    secret_hash  TEXT PRIMARY KEY,
    -- Names it to its own person.
    id           UUID NOT NULL UNIQUE,
    person_id    UUID NOT NULL REFERENCES person (id),
    created_at   TIMESTAMPTZ NOT NULL,
    expires_at   TIMESTAMPTZ NOT NULL,
    -- To a quarter of an hour, so that looking is seldom a change.
    last_used_at TIMESTAMPTZ NOT NULL,
    -- When the password was last given.
    proved_at    TIMESTAMPTZ NOT NULL,
    -- NULL for one that was opened with a password.
    by_pin_on    UUID REFERENCES device (id),
    -- The shared device it was opened on with a password.
    on_device    UUID REFERENCES device (id),
    -- From where: a network and a program, for its own person to read.
    place        TEXT NOT NULL,
    program      TEXT NOT NULL
);
CREATE INDEX page_session_person ON page_session (person_id);
-- Who guesses at passwords is slowed down. Keys are hashes of an account, a network or both.
CREATE TABLE wrong_try (
    key     TEXT PRIMARY KEY,
    tries   BIGINT NOT NULL,
    last_at TIMESTAMPTZ NOT NULL,
    -- Before this, none is looked at.
    next_at TIMESTAMPTZ NOT NULL
);
CREATE TABLE signed_in_from (
    person_id UUID NOT NULL REFERENCES person (id),
    -- Hash of a network.
    place     TEXT NOT NULL,
    last_at   TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (person_id, place)
);
CREATE TABLE refresh_token (
    secret_hash TEXT PRIMARY KEY,
    -- All tokens that descend from one sign-in. A second use of any of them ends the whole family.
    family      UUID NOT NULL,
    person_id   UUID NOT NULL REFERENCES person (id),
    created_at  TIMESTAMPTZ NOT NULL,
    expires_at  TIMESTAMPTZ NOT NULL,
    used_at     TIMESTAMPTZ,
    -- When its family did.
    began_at    TIMESTAMPTZ NOT NULL,
    place       TEXT NOT NULL,
    program     TEXT NOT NULL
);
CREATE INDEX refresh_token_family ON refresh_token (family);
CREATE INDEX refresh_token_person ON refresh_token (person_id);

-- Machines and checklists -------------------------------------------------------------------------------------------

CREATE TABLE checklist (
    id         UUID PRIMARY KEY,
    name       TEXT NOT NULL,
    version    BIGINT NOT NULL,
    title      TEXT NOT NULL,
    -- As uploaded (TOML), and as understood (JSON).
    source     TEXT NOT NULL,
    body       TEXT NOT NULL,
    created_at TIMESTAMPTZ NOT NULL,
    created_by UUID REFERENCES person (id),
    -- A later version took its place, or somebody retired it: then no new check may be made with it.
    retired_at TIMESTAMPTZ,
    retired_by UUID REFERENCES person (id),
    UNIQUE (name, version)
);
CREATE TABLE checklist_class (
    checklist_id UUID NOT NULL REFERENCES checklist (id),
    class        TEXT NOT NULL,
    PRIMARY KEY (class, checklist_id)
);

-- A version in the making, seen and changed by its owner alone.
CREATE TABLE checklist_draft (
    id               UUID PRIMARY KEY,
    owner_id         UUID NOT NULL REFERENCES person (id),
    name             TEXT NOT NULL,
    -- NULL and 0 for a checklist that has no version yet.
    based_on         UUID REFERENCES checklist (id),
    based_on_version BIGINT NOT NULL,
    -- As typed (JSON).
    body             TEXT NOT NULL,
    version          BIGINT NOT NULL DEFAULT 1,
    created_at       TIMESTAMPTZ NOT NULL,
    changed_at       TIMESTAMPTZ NOT NULL,
    UNIQUE (owner_id, name)
);

CREATE TABLE machine (
    id           UUID PRIMARY KEY,
    yard_id      UUID NOT NULL REFERENCES yard (id),
    unit_number  TEXT NOT NULL,
    -- The unit number as it is looked up: letters and digits only, upper case, no leading zeros in a run of digits.
    unit_key     TEXT NOT NULL UNIQUE,
    class        TEXT NOT NULL,
    description  TEXT NOT NULL,
    serial       TEXT NOT NULL,
    engine_hours BIGINT,
    retired_at   TIMESTAMPTZ,
    created_at   TIMESTAMPTZ NOT NULL,
    -- Locked first by every change to the machine's defects, holds and work orders.
    version      BIGINT NOT NULL DEFAULT 1,
    -- How many holds are open: for counting a yard's machines only. The standing is derived from the holds themselves.
    open_holds   BIGINT NOT NULL DEFAULT 0 CHECK (open_holds >= 0)
);
CREATE INDEX machine_yard ON machine (yard_id, unit_key);
CREATE INDEX machine_class ON machine (yard_id, class);
CREATE INDEX machine_fit ON machine (yard_id, class) WHERE retired_at IS NULL AND open_holds = 0;

-- Checks, defects, holds --------------------------------------------------------------------------------------------

CREATE TABLE pre_use_check (
    id           UUID PRIMARY KEY,
    machine_id   UUID NOT NULL REFERENCES machine (id),
    checklist_id UUID NOT NULL REFERENCES checklist (id),
    operator_id  UUID NOT NULL REFERENCES person (id),
    load         TEXT NOT NULL,
    -- What else it was judged under: cold or warm, the temperature of the air (JSON), the height of the yard then.
    warmth       TEXT,
    air          TEXT,
    altitude_m   BIGINT,
    engine_hours BIGINT,
    note         TEXT NOT NULL,
    -- Every answer as given, in walking order (JSON). Those that carry a number or trouble are in `reading` too.
    answers      TEXT NOT NULL,
    -- Of what was sent, so that the same id with other contents is told apart from the same check sent again.
    fingerprint  TEXT NOT NULL,
    verdict      TEXT NOT NULL,
    -- When the form was made, where that is known and can be believed.
    begun_at     TIMESTAMPTZ,
    recorded_at  TIMESTAMPTZ NOT NULL,
    received_at  TIMESTAMPTZ NOT NULL
);
CREATE INDEX pre_use_check_machine ON pre_use_check (machine_id, recorded_at);

-- The verdict as first answered (JSON), for answering the same when the check is sent again.
CREATE TABLE check_answer (
    check_id UUID PRIMARY KEY REFERENCES pre_use_check (id),
    answered TEXT NOT NULL
);

CREATE TABLE reading (
    check_id       UUID NOT NULL REFERENCES pre_use_check (id),
    seq            BIGINT NOT NULL,
    machine_id     UUID NOT NULL,
    item           TEXT NOT NULL,
    position       TEXT NOT NULL,
    outcome        TEXT NOT NULL,
    level          TEXT,
    value_base     DOUBLE PRECISION,
    value_read     TEXT,
    unit           TEXT,
    corrected_what TEXT,
    corrected_base DOUBLE PRECISION,
    engine_hours   BIGINT,
    recorded_at    TIMESTAMPTZ NOT NULL,
    -- Value, engine hours, time and position once more, in the one text that judgement reads.
    point          TEXT,
    PRIMARY KEY (check_id, seq),
    CHECK ((point IS NULL) = (value_base IS NULL))
);
-- What judgement looks back on: the newest values of an item, and what was put right. They stand in the index itself: a
-- machine's readings lie scattered over the table, a page a check.
CREATE INDEX reading_series ON reading (machine_id, item, recorded_at, point) WHERE point IS NOT NULL;
CREATE INDEX reading_put_right ON reading (machine_id, item, recorded_at) WHERE corrected_what IS NOT NULL;

CREATE TABLE work_order (
    id             UUID PRIMARY KEY,
    number         BIGINT NOT NULL UNIQUE,
    machine_id     UUID NOT NULL REFERENCES machine (id),
    yard_id        UUID NOT NULL REFERENCES yard (id),
    state          TEXT NOT NULL,
    mechanic_id    UUID REFERENCES person (id),
    waiting_for    TEXT,
    waiting_until  TIMESTAMPTZ,
    waiting_note   TEXT,
    cancel_reason  TEXT,
    cost_minor     BIGINT NOT NULL DEFAULT 0,
    opened_at      TIMESTAMPTZ NOT NULL,
    done_at        TIMESTAMPTZ,
    closed_at      TIMESTAMPTZ,
    version        BIGINT NOT NULL DEFAULT 1,
    -- Split off from another order of the machine: it takes no further defects by itself.
    side           BOOLEAN NOT NULL DEFAULT FALSE,
    -- What places it in the queue: the machine's class, whether one of its defects keeps the machine from use, the working
    -- time that is left, the earliest good-until of what it watches (9999 for none), and a supervisor's pin.
    class             TEXT NOT NULL,
    held              BOOLEAN NOT NULL DEFAULT FALSE,
    -- A part it asked for is not there: nobody can begin it, and the queue does not offer it.
    lacks_parts       BOOLEAN NOT NULL DEFAULT FALSE,
    remaining_minutes BIGINT NOT NULL CHECK (remaining_minutes > 0),
    due_at            TIMESTAMPTZ NOT NULL,
    pin_rank          BIGINT,
    pinned_by         UUID REFERENCES person (id),
    pinned_at         TIMESTAMPTZ,
    CHECK ((pin_rank IS NULL) = (pinned_by IS NULL)),
    CHECK ((pin_rank IS NULL) = (pinned_at IS NULL)),
    CHECK ((state IN ('claimed', 'in work', 'waiting', 'work done')) <= (mechanic_id IS NOT NULL)),
    CHECK ((state = 'waiting') = (waiting_for IS NOT NULL))
);
-- A machine has at most one work order that still takes defects.
CREATE UNIQUE INDEX work_order_taking ON work_order (machine_id)
    WHERE state IN ('queued', 'claimed', 'in work', 'waiting') AND NOT side;
CREATE INDEX work_order_open ON work_order (yard_id, state, opened_at)
    WHERE state IN ('queued', 'claimed', 'in work', 'waiting', 'work done');
CREATE INDEX work_order_mechanic ON work_order (mechanic_id, opened_at)
    WHERE state IN ('claimed', 'in work', 'waiting', 'work done');
-- The queue reads the first few of each yard and class only: within one of them the yard's demand weighs the same.
CREATE INDEX work_order_shortest ON work_order (yard_id, class, remaining_minutes, due_at, opened_at, number)
    WHERE state = 'queued' AND held AND NOT lacks_parts AND pin_rank IS NULL;
CREATE INDEX work_order_held_due ON work_order (yard_id, class, due_at, opened_at, number)
    WHERE state = 'queued' AND held AND NOT lacks_parts AND pin_rank IS NULL;
CREATE INDEX work_order_due ON work_order (yard_id, due_at, opened_at, number)
    WHERE state = 'queued' AND NOT held AND NOT lacks_parts AND pin_rank IS NULL;
CREATE INDEX work_order_lacks_parts ON work_order (yard_id, opened_at, number)
    WHERE state = 'queued' AND lacks_parts AND pin_rank IS NULL;
CREATE INDEX work_order_pinned ON work_order (pin_rank) WHERE pin_rank IS NOT NULL;
CREATE INDEX work_order_opened ON work_order (opened_at);
CREATE INDEX work_order_closed ON work_order (closed_at, opened_at, state, machine_id, cost_minor) WHERE closed_at IS NOT NULL;
CREATE INDEX work_order_machine ON work_order (machine_id, opened_at);
-- What a machine has in hand, whatever its past. Behind the index of all its orders, here and with defects: where SQLite knows
-- nothing of a table and two indexes serve alike, it takes the one that was made last.
CREATE INDEX work_order_unended ON work_order (machine_id, opened_at)
    WHERE state IN ('queued', 'claimed', 'in work', 'waiting', 'work done');

CREATE TABLE defect (
    id               UUID PRIMARY KEY,
    machine_id       UUID NOT NULL REFERENCES machine (id),
    yard_id          UUID NOT NULL REFERENCES yard (id),
    what             TEXT NOT NULL,
    system           TEXT NOT NULL,
    -- NULL when reported outside a check. A position-less item has position ''.
    item             TEXT,
    position         TEXT NOT NULL DEFAULT '',
    -- The context it failed in, which is the context of its retest.
    load             TEXT NOT NULL,
    warmth           TEXT,
    air              TEXT,
    altitude_m       BIGINT,
    severity         TEXT NOT NULL,
    state            TEXT NOT NULL,
    -- Which rule decided, of which checklist version, and why.
    rule             TEXT NOT NULL,
    checklist_id     UUID REFERENCES checklist (id),
    final            BOOLEAN NOT NULL,
    why              TEXT NOT NULL,
    instruction      TEXT NOT NULL,
    supporting       TEXT NOT NULL,
    -- Every item and position that the retest must pass (JSON).
    failed           TEXT NOT NULL,
    -- Of a guided report: the answers, and the category, probability and risk level they give (JSON).
    risk             TEXT,
    good_until_at    TIMESTAMPTZ,
    good_until_hours BIGINT,
    reported_by      UUID NOT NULL REFERENCES person (id),
    check_id         UUID REFERENCES pre_use_check (id),
    work_order_id    UUID REFERENCES work_order (id),
    prior_defect_id  UUID REFERENCES defect (id),
    -- A rule says that it came back too soon after its release: the supervisors were told.
    came_back        BOOLEAN NOT NULL DEFAULT FALSE,
    -- Since when operators say that it is gone. It stays open until a mechanic has looked.
    said_gone_at     TIMESTAMPTZ,
    cause            TEXT NOT NULL DEFAULT '',
    remedy           TEXT NOT NULL DEFAULT '',
    repaired_by      UUID REFERENCES person (id),
    no_fault_found   BOOLEAN NOT NULL DEFAULT FALSE,
    -- Restarts the series of readings of its item and position.
    part_replaced    BOOLEAN NOT NULL DEFAULT FALSE,
    -- When it was found: before it was raised, where a check arrived late.
    found_at         TIMESTAMPTZ NOT NULL,
    raised_at        TIMESTAMPTZ NOT NULL,
    closed_at        TIMESTAMPTZ,
    version          BIGINT NOT NULL DEFAULT 1
);
-- A second failure of the same item while the first is open is a sighting, never a second defect.
CREATE UNIQUE INDEX defect_open_item ON defect (machine_id, item, position) WHERE closed_at IS NULL AND item IS NOT NULL;
CREATE INDEX defect_open_yard ON defect (yard_id, severity) WHERE closed_at IS NULL;
CREATE INDEX defect_watched ON defect (good_until_at) WHERE closed_at IS NULL AND severity = 'monitor';
CREATE INDEX defect_machine ON defect (machine_id, raised_at);
CREATE INDEX defect_open ON defect (machine_id, raised_at) WHERE closed_at IS NULL;
-- What a period brought: by system, and what came back.
CREATE INDEX defect_found ON defect (found_at, machine_id, system, severity, item, position);
CREATE INDEX defect_no_fault ON defect (id) WHERE no_fault_found;
CREATE INDEX defect_work_order ON defect (work_order_id);
-- What is known of an item from earlier repairs.
CREATE INDEX defect_item_closed ON defect (item, closed_at) WHERE closed_at IS NOT NULL AND item IS NOT NULL;
-- What a check looks back on.
CREATE INDEX defect_closed_item ON defect (machine_id, closed_at) WHERE closed_at IS NOT NULL AND item IS NOT NULL;

CREATE TABLE sighting (
    defect_id UUID NOT NULL REFERENCES defect (id),
    seq       BIGINT NOT NULL,
    check_id  UUID REFERENCES pre_use_check (id),
    by_id     UUID NOT NULL REFERENCES person (id),
    at        TIMESTAMPTZ NOT NULL,
    what      TEXT NOT NULL,
    -- What a check said of the defect under watch: same, worse or gone.
    said      TEXT,
    PRIMARY KEY (defect_id, seq)
);

-- `hold` is no reserved word in either engine.
CREATE TABLE hold (
    id          UUID PRIMARY KEY,
    machine_id  UUID NOT NULL REFERENCES machine (id),
    yard_id     UUID NOT NULL REFERENCES yard (id),
    defect_id   UUID REFERENCES defect (id),
    reason      TEXT NOT NULL,
    placed_by   UUID NOT NULL REFERENCES person (id),
    -- Since when the machine was found unfit, from which its downtime counts: before the hold was placed, where a check
    -- arrived late.
    since       TIMESTAMPTZ NOT NULL,
    placed_at   TIMESTAMPTZ NOT NULL,
    hours_at    BIGINT,
    lifted_at   TIMESTAMPTZ,
    lifted_by   UUID REFERENCES person (id),
    lift_reason TEXT,
    release_id  UUID,
    CHECK (since <= placed_at),
    CHECK ((lifted_at IS NULL) = (lifted_by IS NULL)),
    -- A hold that came from a defect is lifted by a release and by nothing else.
    CHECK (defect_id IS NULL OR lifted_at IS NULL OR release_id IS NOT NULL)
);
CREATE UNIQUE INDEX hold_open_defect ON hold (defect_id) WHERE lifted_at IS NULL AND defect_id IS NOT NULL;
-- What a machine's record says of its times out of service.
CREATE INDEX hold_spans ON hold (machine_id, since, lifted_at, placed_at, defect_id);
-- All that is asked of open holds stands in it, the condition as well: SQLite would else read every hold there ever was.
CREATE INDEX hold_open_machine ON hold (machine_id, since, placed_at, lifted_at) WHERE lifted_at IS NULL;
CREATE INDEX hold_open_yard ON hold (yard_id, since) WHERE lifted_at IS NULL;
-- What was over in a period, for its numbers: of the years before it nothing is read.
CREATE INDEX hold_lifted ON hold (lifted_at, machine_id, since, placed_at, defect_id) WHERE lifted_at IS NOT NULL;

-- The workshop ------------------------------------------------------------------------------------------------------

CREATE TABLE labour (
    id               UUID PRIMARY KEY,
    work_order_id    UUID NOT NULL REFERENCES work_order (id),
    mechanic_id      UUID NOT NULL REFERENCES person (id),
    started_at       TIMESTAMPTZ NOT NULL,
    ended_at         TIMESTAMPTZ,
    -- Reckoned with the whole weeks it touches, when it ends and whenever they change.
    cost_minor       BIGINT NOT NULL DEFAULT 0,
    overtime_seconds BIGINT NOT NULL DEFAULT 0,
    -- Why Chock ended it and not the mechanic; NULL again once somebody has put it right.
    closed_because   TEXT,
    CHECK (ended_at IS NULL OR ended_at >= started_at)
);
CREATE INDEX labour_mechanic ON labour (mechanic_id, ended_at);
CREATE UNIQUE INDEX labour_running ON labour (mechanic_id) WHERE ended_at IS NULL;
CREATE INDEX labour_work_order ON labour (work_order_id);
CREATE INDEX labour_forgotten ON labour (mechanic_id) WHERE closed_because IS NOT NULL;

CREATE TABLE part (
    id         UUID PRIMARY KEY,
    number     TEXT NOT NULL UNIQUE,
    name       TEXT NOT NULL,
    unit       TEXT NOT NULL,
    created_at TIMESTAMPTZ NOT NULL
);
-- What a yard has of a part. A work order takes from its yard.
CREATE TABLE stock (
    part_id     UUID NOT NULL REFERENCES part (id),
    yard_id     UUID NOT NULL REFERENCES yard (id),
    bin         TEXT NOT NULL DEFAULT '',
    on_hand     BIGINT NOT NULL DEFAULT 0 CHECK (on_hand >= 0),
    reserved    BIGINT NOT NULL DEFAULT 0 CHECK (reserved >= 0),
    -- Worth of what is on hand, in minor units; the moving average is this over on_hand.
    worth_minor BIGINT NOT NULL DEFAULT 0 CHECK (worth_minor >= 0),
    -- At which more is ordered, by hand; NULL where nobody set one.
    level       BIGINT CHECK (level >= 0),
    version     BIGINT NOT NULL DEFAULT 1,
    PRIMARY KEY (part_id, yard_id),
    CHECK (reserved <= on_hand)
);
CREATE INDEX stock_yard ON stock (yard_id);
CREATE TABLE part_line (
    id            UUID PRIMARY KEY,
    work_order_id UUID NOT NULL REFERENCES work_order (id),
    part_id       UUID NOT NULL REFERENCES part (id),
    reserved      BIGINT NOT NULL DEFAULT 0 CHECK (reserved >= 0),
    issued        BIGINT NOT NULL DEFAULT 0 CHECK (issued >= 0),
    cost_minor    BIGINT NOT NULL DEFAULT 0 CHECK (cost_minor >= 0),
    UNIQUE (work_order_id, part_id)
);
CREATE INDEX part_line_reserved ON part_line (part_id) WHERE reserved > 0;
CREATE TABLE stock_movement (
    id            UUID PRIMARY KEY,
    part_id       UUID NOT NULL REFERENCES part (id),
    yard_id       UUID NOT NULL REFERENCES yard (id),
    kind          TEXT NOT NULL,
    quantity      BIGINT NOT NULL,
    value_minor   BIGINT NOT NULL,
    work_order_id UUID REFERENCES work_order (id),
    -- Of a transfer: where it came from, or went to.
    other_yard_id UUID REFERENCES yard (id),
    -- Of an adjustment.
    reason        TEXT,
    by_id         UUID NOT NULL REFERENCES person (id),
    at            TIMESTAMPTZ NOT NULL,
    note          TEXT NOT NULL
);
CREATE INDEX stock_movement_part ON stock_movement (part_id, yard_id, at);
CREATE INDEX stock_movement_order ON stock_movement (work_order_id);
-- What was asked for under a client's id, so that a form sent twice reserves once.
CREATE TABLE reservation (
    id            UUID PRIMARY KEY,
    work_order_id UUID NOT NULL REFERENCES work_order (id),
    part_id       UUID NOT NULL REFERENCES part (id),
    quantity      BIGINT NOT NULL CHECK (quantity > 0),
    -- What of it was there; the rest is a shortage.
    reserved      BIGINT NOT NULL CHECK (reserved >= 0),
    by_id         UUID NOT NULL REFERENCES person (id),
    at            TIMESTAMPTZ NOT NULL
);
-- What lay in the bin at a stock-take. `id` is the sheet's.
CREATE TABLE stock_count (
    id       UUID NOT NULL,
    part_id  UUID NOT NULL REFERENCES part (id),
    yard_id  UUID NOT NULL REFERENCES yard (id),
    booked   BIGINT NOT NULL,
    counted  BIGINT NOT NULL CHECK (counted >= 0),
    by_id    UUID NOT NULL REFERENCES person (id),
    at       TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (id, part_id)
);

CREATE TABLE retest (
    id            UUID PRIMARY KEY,
    work_order_id UUID NOT NULL REFERENCES work_order (id),
    defect_id     UUID NOT NULL REFERENCES defect (id),
    by_id         UUID NOT NULL REFERENCES person (id),
    at            TIMESTAMPTZ NOT NULL,
    load          TEXT NOT NULL,
    -- The temperature of the air at the retest, where the failure was judged at one (JSON).
    air           TEXT,
    answers       TEXT NOT NULL,
    passed        BOOLEAN NOT NULL,
    why           TEXT NOT NULL
);
CREATE INDEX retest_defect ON retest (defect_id, at);

CREATE TABLE release (
    id                   UUID PRIMARY KEY,
    machine_id           UUID NOT NULL REFERENCES machine (id),
    work_order_id        UUID NOT NULL REFERENCES work_order (id),
    by_id                UUID NOT NULL REFERENCES person (id),
    at                   TIMESTAMPTZ NOT NULL,
    note                 TEXT NOT NULL,
    released_by_repairer BOOLEAN NOT NULL
);
CREATE INDEX release_machine ON release (machine_id, at);

CREATE TABLE photo (
    id         UUID PRIMARY KEY,
    machine_id UUID NOT NULL REFERENCES machine (id),
    check_id   UUID REFERENCES pre_use_check (id),
    defect_id  UUID REFERENCES defect (id),
    -- Taken at the work itself.
    work_order_id UUID REFERENCES work_order (id),
    item       TEXT,
    position   TEXT NOT NULL DEFAULT '',
    sha256     TEXT NOT NULL,
    bytes      BIGINT NOT NULL,
    by_id      UUID NOT NULL REFERENCES person (id),
    at         TIMESTAMPTZ NOT NULL
);
CREATE INDEX photo_check ON photo (check_id);
CREATE INDEX photo_machine ON photo (machine_id, at);
CREATE INDEX photo_defect ON photo (defect_id);
CREATE INDEX photo_order ON photo (work_order_id) WHERE work_order_id IS NOT NULL;

-- Telling people, and the trail ---------------------------------------------------------------------------------------

CREATE TABLE outbox (
    id           UUID PRIMARY KEY,
    -- One row per event and recipient, whatever is tried again.
    event_key    TEXT NOT NULL,
    kind         TEXT NOT NULL,
    person_id    UUID NOT NULL REFERENCES person (id),
    -- NULL for what is about no machine; the yard is NULL for what is about the whole site.
    machine_id   UUID REFERENCES machine (id),
    yard_id      UUID REFERENCES yard (id),
    -- The event that this person is asked to acknowledge.
    asks_for     TEXT,
    alert        TEXT NOT NULL,
    state        TEXT NOT NULL,
    attempts     BIGINT NOT NULL DEFAULT 0,
    next_at      TIMESTAMPTZ NOT NULL,
    lease_until  TIMESTAMPTZ,
    last_answer  TEXT NOT NULL DEFAULT '',
    created_at   TIMESTAMPTZ NOT NULL,
    delivered_at TIMESTAMPTZ,
    UNIQUE (event_key, person_id)
);
CREATE INDEX outbox_owed ON outbox (next_at) WHERE state IN ('owed', 'sending');
CREATE INDEX outbox_failed ON outbox (created_at) WHERE state = 'failed';
CREATE INDEX outbox_created ON outbox (created_at);
CREATE INDEX outbox_machine ON outbox (machine_id, created_at);

-- One hash chain per stream (a machine, a person, a part, the site): chains never wait for one another.
CREATE TABLE audit (
    stream    TEXT NOT NULL,
    seq       BIGINT NOT NULL,
    at        TIMESTAMPTZ NOT NULL,
    by_id     UUID,
    by_name   TEXT NOT NULL,
    act       TEXT NOT NULL,
    subject   TEXT NOT NULL,
    before    TEXT NOT NULL,
    after     TEXT NOT NULL,
    why       TEXT NOT NULL,
    prev_hash TEXT NOT NULL,
    hash      TEXT NOT NULL,
    PRIMARY KEY (stream, seq)
);
CREATE INDEX audit_at ON audit (at);
-- Where each chain ends, so that a tail cut off is missed.
CREATE TABLE audit_head (
    stream TEXT PRIMARY KEY,
    seq    BIGINT NOT NULL,
    hash   TEXT NOT NULL
);
