-- What comes in from files, and what is removed when it has been kept long enough.

-- The hour meter as it was read outside a check, by hand or in a file. Checks keep theirs themselves.
CREATE TABLE meter_reading (
    machine_id   UUID NOT NULL REFERENCES machine (id),
    read_at      TIMESTAMPTZ NOT NULL,
    engine_hours BIGINT NOT NULL CHECK (engine_hours >= 0),
    -- NULL for whoever runs commands beside the data.
    by_id        UUID REFERENCES person (id),
    taken_at     TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (machine_id, read_at)
);

-- While checks are being removed that were recorded before this: within one transaction only. The guards that keep checks
-- from being deleted look here (storage/tx.rs).
CREATE TABLE removing (
    what   TEXT PRIMARY KEY,
    before TIMESTAMPTZ NOT NULL
);

-- What is removed is first asked for whoever still speaks of it.
CREATE INDEX defect_check ON defect (check_id) WHERE check_id IS NOT NULL;
CREATE INDEX defect_prior ON defect (prior_defect_id) WHERE prior_defect_id IS NOT NULL;
CREATE INDEX sighting_check ON sighting (check_id) WHERE check_id IS NOT NULL;
CREATE INDEX hold_defect ON hold (defect_id) WHERE defect_id IS NOT NULL;
CREATE INDEX part_fitted_defect ON part_fitted (defect_id) WHERE defect_id IS NOT NULL;
CREATE INDEX defect_round_defect ON defect_round (defect_id);
CREATE INDEX defect_round_first ON defect_round (found_first);
