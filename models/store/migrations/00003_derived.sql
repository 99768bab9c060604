-- Derived rows: they may be thrown away at any time, and a round over the
-- same facts at the same time gives them back.

-- +goose Up
CREATE TABLE profiles (
    number     INTEGER PRIMARY KEY,
    last_entry INTEGER NOT NULL,
    body       BLOB NOT NULL
) STRICT;

CREATE TABLE machine_states (
    machine   TEXT PRIMARY KEY,
    next_look TEXT NOT NULL,    -- '' : look at once
    touched   INTEGER NOT NULL, -- the last entry with a fact that concerns the machine
    profile   INTEGER NOT NULL,
    waits     INTEGER NOT NULL CHECK (waits IN (0, 1)) -- something is withheld: look again whenever its owner is looked at
) STRICT, WITHOUT ROWID;
CREATE INDEX machine_states_waits ON machine_states (machine) WHERE waits = 1;
CREATE INDEX machine_states_next ON machine_states (next_look);
CREATE INDEX machine_states_profile ON machine_states (profile);

CREATE TABLE forecasts (
    machine    TEXT NOT NULL,
    item       TEXT NOT NULL,
    cycle      INTEGER NOT NULL,
    early_on   TEXT NOT NULL,
    due_on     TEXT NOT NULL,
    late_on    TEXT NOT NULL,
    driver     TEXT NOT NULL,
    reason     TEXT NOT NULL,
    detail     TEXT NOT NULL,
    last_on    TEXT NOT NULL,
    last_miles REAL,
    last_hours REAL,
    at_miles   REAL,
    at_hours   REAL,
    known_on   TEXT NOT NULL,
    grace_days INTEGER NOT NULL,
    lead_days  INTEGER NOT NULL,
    profile    INTEGER NOT NULL,
    stage      TEXT NOT NULL,
    PRIMARY KEY (machine, item)
) STRICT, WITHOUT ROWID;
CREATE INDEX forecasts_stage ON forecasts (stage, due_on);

CREATE TABLE doubts (
    machine TEXT NOT NULL,
    reading INTEGER NOT NULL,
    meter   TEXT NOT NULL,
    reason  TEXT NOT NULL,
    likely  REAL,
    PRIMARY KEY (machine, reading, meter)
) STRICT, WITHOUT ROWID;
