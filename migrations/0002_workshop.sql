-- The workshop: who works when, what an hour costs, which part is where, what is away for repair, and when it is all back.

-- When people work ---------------------------------------------------------------------------------------------------

-- The yard's week. Minutes from midnight by the yard's own clock; a shift that ends at or before its start ends the next day.
CREATE TABLE shift (
    yard_id     UUID NOT NULL REFERENCES yard (id),
    -- 1 is Monday, 7 is Sunday (ISO 8601).
    weekday     BIGINT NOT NULL CHECK (weekday BETWEEN 1 AND 7),
    from_minute BIGINT NOT NULL CHECK (from_minute BETWEEN 0 AND 1439),
    to_minute   BIGINT NOT NULL CHECK (to_minute BETWEEN 0 AND 1439),
    PRIMARY KEY (yard_id, weekday, from_minute)
);
CREATE TABLE holiday (
    yard_id UUID NOT NULL REFERENCES yard (id),
    -- ISO 8601 calendar date, by the yard's clock.
    day     TEXT NOT NULL,
    name    TEXT NOT NULL,
    PRIMARY KEY (yard_id, day)
);
CREATE TABLE absence (
    id         UUID PRIMARY KEY,
    person_id  UUID NOT NULL REFERENCES person (id),
    from_at    TIMESTAMPTZ NOT NULL,
    to_at      TIMESTAMPTZ NOT NULL,
    note       TEXT NOT NULL,
    by_id      UUID NOT NULL REFERENCES person (id),
    created_at TIMESTAMPTZ NOT NULL,
    CHECK (to_at > from_at)
);
CREATE INDEX absence_person ON absence (person_id, to_at);

-- Work on which systems a person is skilled in; and on which systems only the skilled work.
CREATE TABLE person_skill (
    person_id UUID NOT NULL REFERENCES person (id),
    system    TEXT NOT NULL,
    PRIMARY KEY (person_id, system)
);
CREATE TABLE skill_needed (
    system TEXT PRIMARY KEY
);

-- What an hour costs -------------------------------------------------------------------------------------------------

CREATE TABLE labour_rate (
    grade      TEXT NOT NULL,
    -- ISO 8601 calendar date from which it holds.
    from_day   TEXT NOT NULL,
    rate_minor BIGINT NOT NULL CHECK (rate_minor >= 0),
    PRIMARY KEY (grade, from_day)
);
-- Overtime of a yard: from so many minutes a day or a week on, so many percent on top of the rate.
CREATE TABLE overtime (
    yard_id       UUID NOT NULL REFERENCES yard (id),
    per           TEXT NOT NULL CHECK (per IN ('day', 'week')),
    after_minutes BIGINT NOT NULL CHECK (after_minutes >= 0),
    percent       BIGINT NOT NULL CHECK (percent BETWEEN 1 AND 400),
    PRIMARY KEY (yard_id, per, after_minutes)
);

-- Parts: how they are bought, and which was fitted where -------------------------------------------------------------

CREATE TABLE supply (
    part_id       UUID PRIMARY KEY REFERENCES part (id),
    supplier      TEXT NOT NULL,
    -- One whole unit of the part.
    price_minor   BIGINT NOT NULL CHECK (price_minor >= 0),
    -- Thousandths of the part's unit; a pack of 0 is any quantity.
    minimum_order BIGINT NOT NULL CHECK (minimum_order >= 0),
    pack          BIGINT NOT NULL CHECK (pack >= 0),
    lead_days     BIGINT NOT NULL CHECK (lead_days >= 0)
);
-- What is on its way, and, once it has come, how long it took. No ledger of purchases.
CREATE TABLE part_on_order (
    id          UUID PRIMARY KEY,
    part_id     UUID NOT NULL REFERENCES part (id),
    yard_id     UUID NOT NULL REFERENCES yard (id),
    quantity    BIGINT NOT NULL CHECK (quantity > 0),
    -- How many of it came so far.
    came        BIGINT NOT NULL DEFAULT 0 CHECK (came >= 0),
    ordered_at  TIMESTAMPTZ NOT NULL,
    expected_at TIMESTAMPTZ,
    by_id       UUID NOT NULL REFERENCES person (id),
    -- When the last of it came.
    came_at     TIMESTAMPTZ,
    -- Called off, not come.
    dropped_at  TIMESTAMPTZ
);
CREATE INDEX part_on_order_open ON part_on_order (part_id, yard_id) WHERE came_at IS NULL AND dropped_at IS NULL;
CREATE INDEX part_on_order_part ON part_on_order (part_id, ordered_at);
-- What a work order lacks of a part: it waits until goods-in makes it good.
CREATE TABLE shortage (
    work_order_id UUID NOT NULL REFERENCES work_order (id),
    part_id       UUID NOT NULL REFERENCES part (id),
    quantity      BIGINT NOT NULL CHECK (quantity > 0),
    since         TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (work_order_id, part_id)
);
CREATE INDEX shortage_part ON shortage (part_id, since);
CREATE TABLE part_fitted (
    id            UUID PRIMARY KEY,
    machine_id    UUID NOT NULL REFERENCES machine (id),
    part_id       UUID NOT NULL REFERENCES part (id),
    work_order_id UUID NOT NULL REFERENCES work_order (id),
    defect_id     UUID REFERENCES defect (id),
    -- Where, when the part belongs to an item of the checklist: its series of readings starts anew.
    item          TEXT NOT NULL DEFAULT '',
    position      TEXT NOT NULL DEFAULT '',
    quantity      BIGINT NOT NULL CHECK (quantity > 0),
    serial        TEXT NOT NULL DEFAULT '',
    batch         TEXT NOT NULL DEFAULT '',
    fitted_at     TIMESTAMPTZ NOT NULL,
    by_id         UUID NOT NULL REFERENCES person (id),
    removed_at    TIMESTAMPTZ
);
CREATE INDEX part_fitted_machine ON part_fitted (machine_id, fitted_at);
CREATE INDEX part_fitted_part ON part_fitted (part_id, fitted_at);
CREATE INDEX part_fitted_order ON part_fitted (work_order_id);
-- The same defect raised on many machines: `id` is the client's, so that a round sent twice is made once.
CREATE TABLE defect_round (
    id          UUID NOT NULL,
    machine_id  UUID NOT NULL REFERENCES machine (id),
    defect_id   UUID NOT NULL REFERENCES defect (id),
    -- Where it was found.
    found_first UUID NOT NULL REFERENCES defect (id),
    at          TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (id, machine_id)
);

-- Work that somebody outside does ------------------------------------------------------------------------------------

CREATE TABLE outside_repair (
    id             UUID PRIMARY KEY,
    work_order_id  UUID NOT NULL REFERENCES work_order (id),
    vendor         TEXT NOT NULL,
    what           TEXT NOT NULL,
    -- Which licence the work asks for, where the law leaves it to licensed people; and its number, once it is back.
    licensed       TEXT,
    licence        TEXT,
    sent_at        TIMESTAMPTZ NOT NULL,
    sent_by        UUID NOT NULL REFERENCES person (id),
    -- The last promise, and the one whose passing the supervisors were told of.
    promised_at    TIMESTAMPTZ,
    told_of        TIMESTAMPTZ,
    returned_at    TIMESTAMPTZ,
    called_off_at  TIMESTAMPTZ,
    invoice_number TEXT,
    invoice_minor  BIGINT CHECK (invoice_minor >= 0),
    invoiced_at    TIMESTAMPTZ,
    version        BIGINT NOT NULL DEFAULT 1,
    CHECK ((invoice_number IS NULL) = (invoice_minor IS NULL))
);
CREATE UNIQUE INDEX outside_repair_away ON outside_repair (work_order_id)
    WHERE returned_at IS NULL AND called_off_at IS NULL;
CREATE INDEX outside_repair_order ON outside_repair (work_order_id);
CREATE INDEX outside_repair_promised ON outside_repair (promised_at)
    WHERE returned_at IS NULL AND called_off_at IS NULL;
-- What the vendor promised and when somebody asked, in the order it happened.
CREATE TABLE outside_word (
    outside_repair_id UUID NOT NULL REFERENCES outside_repair (id),
    seq               BIGINT NOT NULL,
    at                TIMESTAMPTZ NOT NULL,
    by_id             UUID NOT NULL REFERENCES person (id),
    note              TEXT NOT NULL,
    -- NULL where nothing was promised.
    back_by           TIMESTAMPTZ,
    PRIMARY KEY (outside_repair_id, seq)
);

-- What mechanics leave for one another on an order -------------------------------------------------------------------

CREATE TABLE order_note (
    id            UUID PRIMARY KEY,
    work_order_id UUID NOT NULL REFERENCES work_order (id),
    by_id         UUID NOT NULL REFERENCES person (id),
    at            TIMESTAMPTZ NOT NULL,
    note          TEXT NOT NULL
);
CREATE INDEX order_note_order ON order_note (work_order_id, at);

-- What an order was at, and since when: each row holds until the next one of its order. What a grounded machine's time
-- went on is summed from it.
CREATE TABLE order_spell (
    work_order_id UUID NOT NULL REFERENCES work_order (id),
    from_at       TIMESTAMPTZ NOT NULL,
    machine_id    UUID NOT NULL REFERENCES machine (id),
    state         TEXT NOT NULL,
    waiting_for   TEXT,
    PRIMARY KEY (work_order_id, from_at)
);
-- Whoever sums years reads this and not the rows.
CREATE INDEX order_spell_machine ON order_spell (machine_id, work_order_id, from_at, state, waiting_for);
CREATE INDEX order_spell_time ON order_spell (from_at, machine_id, work_order_id, state, waiting_for);

-- The last time somebody read an hour meter outside a check and it had moved: whoever drove did so without one, unless a
-- check of that day says otherwise.
CREATE TABLE meter_moved (
    machine_id UUID PRIMARY KEY REFERENCES machine (id),
    at         TIMESTAMPTZ NOT NULL,
    before     BIGINT NOT NULL,
    hours      BIGINT NOT NULL
);
CREATE INDEX meter_moved_at ON meter_moved (at);

-- Machine-days of a yard and class by its own clock: with a check, and without one although a machine ran. Summed now and
-- then, so that years can be looked at; what is not summed yet is counted from the checks.
CREATE TABLE checked_day (
    yard_id   UUID NOT NULL REFERENCES yard (id),
    class     TEXT NOT NULL,
    day       TEXT NOT NULL,
    checked   BIGINT NOT NULL,
    unchecked BIGINT NOT NULL,
    PRIMARY KEY (yard_id, class, day)
);

-- When it is back ----------------------------------------------------------------------------------------------------

-- Every forecast that was shown, kept and later held against what happened.
CREATE TABLE forecast (
    work_order_id       UUID NOT NULL REFERENCES work_order (id),
    made_at             TIMESTAMPTZ NOT NULL,
    likely_by           TIMESTAMPTZ NOT NULL,
    -- NULL when it lies beyond what is looked at.
    almost_surely_by    TIMESTAMPTZ,
    -- "Same as last time", for comparison; NULL where there was no last time.
    same_as_last_time   TIMESTAMPTZ,
    -- What drives it (JSON).
    driver              TEXT NOT NULL,
    -- When each twentieth of the runs was done, in seconds from then (JSON): what later forecasts learn from.
    spread              TEXT NOT NULL,
    PRIMARY KEY (work_order_id, made_at)
);
CREATE INDEX forecast_made ON forecast (made_at);
-- What is shown now.
CREATE TABLE forecast_now (
    work_order_id    UUID PRIMARY KEY REFERENCES work_order (id),
    made_at          TIMESTAMPTZ NOT NULL,
    likely_by        TIMESTAMPTZ,
    almost_surely_by TIMESTAMPTZ,
    -- What drives it, or why nothing is said (JSON).
    said             TEXT NOT NULL
);
