-- Rounds, notices, messages and their attempts: what the service did. Rounds
-- and messages move through their states; notices and attempts are written
-- once.

-- +goose Up
CREATE TABLE rounds (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    slot        TEXT NOT NULL UNIQUE,
    at          INTEGER NOT NULL,
    today       TEXT NOT NULL,
    started_at  INTEGER NOT NULL,
    finished_at INTEGER NOT NULL,
    state       TEXT NOT NULL CHECK (state IN ('running', 'done', 'failed')),
    last_entry  INTEGER NOT NULL,
    profile     INTEGER NOT NULL,
    looked      INTEGER NOT NULL,
    changed     INTEGER NOT NULL,
    notices     INTEGER NOT NULL,
    withheld    INTEGER NOT NULL,
    messages    INTEGER NOT NULL,
    failed      INTEGER NOT NULL,
    note        TEXT NOT NULL
) STRICT;
CREATE INDEX rounds_profile ON rounds (profile, id);
CREATE INDEX rounds_at ON rounds (at);

CREATE TABLE messages (
    id           INTEGER PRIMARY KEY AUTOINCREMENT,
    key          TEXT NOT NULL UNIQUE,
    round        INTEGER NOT NULL,
    owner        TEXT NOT NULL,
    contact      TEXT NOT NULL,
    channel      TEXT NOT NULL,
    address      TEXT NOT NULL,
    purpose      TEXT NOT NULL,
    language     TEXT NOT NULL,
    urgent       INTEGER NOT NULL CHECK (urgent IN (0, 1)),
    body         TEXT NOT NULL,
    in_reply_to  TEXT NOT NULL,
    subject_line TEXT NOT NULL,
    text         TEXT NOT NULL,
    html         TEXT NOT NULL,
    calendar     TEXT NOT NULL,
    segments     INTEGER NOT NULL,
    state        TEXT NOT NULL CHECK (state IN ('queued', 'sending', 'sent', 'failed', 'dropped')),
    why          TEXT NOT NULL,
    queued_at    INTEGER NOT NULL,
    not_before   INTEGER NOT NULL,
    tries        INTEGER NOT NULL,
    in_doubt     INTEGER NOT NULL CHECK (in_doubt IN (0, 1)),
    lease_by     TEXT NOT NULL,
    lease_ends   INTEGER NOT NULL,
    ended_at     INTEGER NOT NULL,
    peer_id      TEXT NOT NULL,
    receipt_at   INTEGER NOT NULL,
    receipt      TEXT NOT NULL
) STRICT;
CREATE INDEX messages_waiting ON messages (channel, state, not_before) WHERE state IN ('queued', 'sending');
CREATE INDEX messages_urgent ON messages (channel, not_before) WHERE urgent = 1 AND state IN ('queued', 'sending');
CREATE INDEX messages_contact ON messages (contact, id);
CREATE INDEX messages_owner ON messages (owner, queued_at);
CREATE INDEX messages_address ON messages (address, channel, state);
CREATE INDEX messages_peer ON messages (peer_id) WHERE peer_id <> '';

CREATE TABLE notices (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    round      INTEGER NOT NULL, -- 0: decided by a person between rounds
    message    INTEGER REFERENCES messages (id),
    owner      TEXT NOT NULL,
    contact    TEXT NOT NULL,
    machine    TEXT NOT NULL,
    subject    TEXT NOT NULL,
    item       TEXT NOT NULL,
    cycle      INTEGER NOT NULL,
    stage      TEXT NOT NULL,
    ordinal    INTEGER NOT NULL,
    early_on   TEXT NOT NULL,
    due_on     TEXT NOT NULL,
    late_on    TEXT NOT NULL,
    was_on     TEXT NOT NULL,
    driver     TEXT NOT NULL,
    reason     TEXT NOT NULL,
    detail     TEXT NOT NULL,
    last_on    TEXT NOT NULL,
    at_miles   REAL,
    at_hours   REAL,
    left_miles REAL,
    left_km    REAL,
    left_hours REAL,
    left_days  REAL,
    why        TEXT NOT NULL,
    decided_at INTEGER NOT NULL,
    -- No notice is written twice, whatever is tried again.
    UNIQUE (machine, subject, item, cycle, stage, contact, ordinal)
) STRICT;
CREATE INDEX notices_message ON notices (message);
CREATE INDEX notices_round ON notices (round);
CREATE INDEX notices_asked ON notices (owner, decided_at) WHERE subject = 'reading';

CREATE TABLE attempts (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    message    INTEGER NOT NULL REFERENCES messages (id),
    number     INTEGER NOT NULL,
    started_at INTEGER NOT NULL,
    ended_at   INTEGER NOT NULL,
    outcome    TEXT NOT NULL,
    code       TEXT NOT NULL,
    why        TEXT NOT NULL,
    peer_id    TEXT NOT NULL
) STRICT;
CREATE INDEX attempts_message ON attempts (message, number);
-- +goose StatementBegin
CREATE TRIGGER notices_no_update BEFORE UPDATE ON notices BEGIN SELECT RAISE(ABORT, 'facts are written once: notices'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER notices_no_delete BEFORE DELETE ON notices BEGIN SELECT RAISE(ABORT, 'facts are written once: notices'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER attempts_no_update BEFORE UPDATE ON attempts BEGIN SELECT RAISE(ABORT, 'facts are written once: attempts'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER attempts_no_delete BEFORE DELETE ON attempts BEGIN SELECT RAISE(ABORT, 'facts are written once: attempts'); END;
-- +goose StatementEnd
