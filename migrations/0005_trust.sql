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
