-- Facts are written once: a trigger on each table refuses every change and
-- removal. A correction is a new row that names the row it replaces; each row
-- is replaced at most once, so the versions of a thing form one line.

-- +goose Up
CREATE TABLE entries (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    recorded_at INTEGER NOT NULL,
    actor       TEXT NOT NULL,
    means       TEXT NOT NULL,
    note        TEXT NOT NULL
) STRICT;

CREATE TABLE owners (
    id        INTEGER PRIMARY KEY,
    entry     INTEGER NOT NULL REFERENCES entries (id),
    replaces  INTEGER UNIQUE REFERENCES owners (id),
    owner     TEXT NOT NULL CHECK (owner <> ''),
    name      TEXT NOT NULL,
    type      TEXT NOT NULL,
    time_zone TEXT NOT NULL,
    language  TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX owners_first ON owners (owner) WHERE replaces IS NULL;
CREATE INDEX owners_owner ON owners (owner);

CREATE TABLE contacts (
    id              INTEGER PRIMARY KEY,
    entry           INTEGER NOT NULL REFERENCES entries (id),
    replaces        INTEGER UNIQUE REFERENCES contacts (id),
    contact         TEXT NOT NULL CHECK (contact <> ''),
    owner           TEXT NOT NULL CHECK (owner <> ''),
    name            TEXT NOT NULL,
    role            TEXT NOT NULL,
    mail            TEXT NOT NULL,
    mobile          TEXT NOT NULL,
    prefers         TEXT NOT NULL,
    sms_consent_on  TEXT NOT NULL,
    mail_consent_on TEXT NOT NULL,
    consent_how     TEXT NOT NULL,
    sms_stop_on     TEXT NOT NULL,
    mail_stop_on    TEXT NOT NULL,
    quiet_from      TEXT NOT NULL,
    quiet_to        TEXT NOT NULL,
    time_zone       TEXT NOT NULL,
    language        TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX contacts_first ON contacts (contact) WHERE replaces IS NULL;
CREATE INDEX contacts_contact ON contacts (contact);
CREATE INDEX contacts_owner ON contacts (owner);
CREATE INDEX contacts_mobile ON contacts (mobile) WHERE mobile <> '';
CREATE INDEX contacts_mail ON contacts (mail) WHERE mail <> '';

CREATE TABLE machines (
    id             INTEGER PRIMARY KEY,
    entry          INTEGER NOT NULL REFERENCES entries (id),
    replaces       INTEGER UNIQUE REFERENCES machines (id),
    machine        TEXT NOT NULL CHECK (machine <> ''),
    tag            TEXT NOT NULL,
    kind           TEXT NOT NULL CHECK (kind <> ''),
    owner          TEXT NOT NULL CHECK (owner <> ''),
    meters         TEXT NOT NULL CHECK (meters IN ('miles', 'km', 'hours', 'both', 'both_km')),
    in_service     TEXT NOT NULL,
    miles_start    REAL,
    hours_start    REAL,
    miles_max      REAL,
    make           TEXT NOT NULL,
    model          TEXT NOT NULL,
    year           INTEGER NOT NULL,
    serial         TEXT NOT NULL,
    duty           TEXT NOT NULL,
    site           TEXT NOT NULL,
    coolant_litres REAL,
    lowest_c       REAL,
    cooling        TEXT NOT NULL,
    fuel           TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX machines_first ON machines (machine) WHERE replaces IS NULL;
CREATE INDEX machines_machine ON machines (machine);
CREATE INDEX machines_owner ON machines (owner, machine);
CREATE INDEX machines_tag ON machines (tag);
CREATE INDEX machines_kind ON machines (kind);

CREATE TABLE readings (
    id       INTEGER PRIMARY KEY,
    entry    INTEGER NOT NULL REFERENCES entries (id),
    replaces INTEGER UNIQUE REFERENCES readings (id),
    machine  TEXT NOT NULL CHECK (machine <> ''),
    at       TEXT NOT NULL CHECK (at <> ''),
    miles    REAL CHECK (miles >= 0),
    hours    REAL CHECK (hours >= 0),
    source   TEXT NOT NULL,
    CHECK (miles IS NOT NULL OR hours IS NOT NULL)
) STRICT;
-- Identical rows are one reading.
CREATE UNIQUE INDEX readings_same ON readings (machine, at, ifnull(miles, -1), ifnull(hours, -1), source);

CREATE TABLE reading_words (
    id       INTEGER PRIMARY KEY,
    entry    INTEGER NOT NULL REFERENCES entries (id),
    replaces INTEGER UNIQUE REFERENCES reading_words (id),
    reading  INTEGER NOT NULL REFERENCES readings (id),
    standing TEXT NOT NULL CHECK (standing IN ('confirmed', 'withdrawn')),
    why      TEXT NOT NULL
) STRICT;
CREATE INDEX reading_words_reading ON reading_words (reading, id);

CREATE TABLE swaps (
    id        INTEGER PRIMARY KEY,
    entry     INTEGER NOT NULL REFERENCES entries (id),
    replaces  INTEGER UNIQUE REFERENCES swaps (id),
    machine   TEXT NOT NULL CHECK (machine <> ''),
    at        TEXT NOT NULL CHECK (at <> ''),
    meter     TEXT NOT NULL CHECK (meter IN ('miles', 'hours')),
    old_value REAL CHECK (old_value >= 0),
    new_value REAL CHECK (new_value >= 0)
) STRICT;
CREATE UNIQUE INDEX swaps_same ON swaps (machine, at, meter, ifnull(old_value, -1), ifnull(new_value, -1));

CREATE TABLE services (
    id       INTEGER PRIMARY KEY,
    entry    INTEGER NOT NULL REFERENCES entries (id),
    replaces INTEGER UNIQUE REFERENCES services (id),
    machine  TEXT NOT NULL CHECK (machine <> ''),
    item     TEXT NOT NULL CHECK (item <> ''),
    at       TEXT NOT NULL CHECK (at <> ''),
    miles    REAL CHECK (miles >= 0),
    hours    REAL CHECK (hours >= 0)
) STRICT;
CREATE UNIQUE INDEX services_same ON services (machine, item, at, ifnull(miles, -1), ifnull(hours, -1));

CREATE TABLE rules (
    id            INTEGER PRIMARY KEY,
    entry         INTEGER NOT NULL REFERENCES entries (id),
    replaces      INTEGER UNIQUE REFERENCES rules (id),
    kind          TEXT NOT NULL,
    make          TEXT NOT NULL,
    model         TEXT NOT NULL,
    machine       TEXT NOT NULL,
    item          TEXT NOT NULL CHECK (item <> ''),
    miles         REAL CHECK (miles > 0),
    hours         REAL CHECK (hours > 0),
    months        INTEGER NOT NULL CHECK (months >= 0),
    first_miles   REAL CHECK (first_miles > 0),
    first_hours   REAL CHECK (first_hours > 0),
    first_months  INTEGER NOT NULL CHECK (first_months >= 0),
    severe_factor REAL CHECK (severe_factor BETWEEN 0.1 AND 1),
    lead_days     INTEGER NOT NULL CHECK (lead_days >= 0),
    parts_days    INTEGER NOT NULL CHECK (parts_days >= 0),
    by_day        TEXT NOT NULL,
    teardown      TEXT NOT NULL,
    work_min      INTEGER NOT NULL CHECK (work_min >= 0),
    access_min    INTEGER NOT NULL CHECK (access_min >= 0),
    origin        TEXT NOT NULL,
    note          TEXT NOT NULL,
    retired       INTEGER NOT NULL CHECK (retired IN (0, 1))
) STRICT;
CREATE UNIQUE INDEX rules_first ON rules (kind, make, model, machine, item) WHERE replaces IS NULL;

CREATE TABLE teardowns (
    id         INTEGER PRIMARY KEY,
    entry      INTEGER NOT NULL REFERENCES entries (id),
    replaces   INTEGER UNIQUE REFERENCES teardowns (id),
    kind       TEXT NOT NULL,
    teardown   TEXT NOT NULL CHECK (teardown <> ''),
    access_min INTEGER NOT NULL CHECK (access_min >= 0)
) STRICT;
CREATE UNIQUE INDEX teardowns_first ON teardowns (kind, teardown) WHERE replaces IS NULL;

-- The latest version of each thing.
CREATE VIEW owners_now AS SELECT * FROM owners o WHERE NOT EXISTS (SELECT 1 FROM owners n WHERE n.replaces = o.id);
CREATE VIEW contacts_now AS SELECT * FROM contacts o WHERE NOT EXISTS (SELECT 1 FROM contacts n WHERE n.replaces = o.id);
CREATE VIEW machines_now AS SELECT * FROM machines o WHERE NOT EXISTS (SELECT 1 FROM machines n WHERE n.replaces = o.id);
CREATE VIEW rules_now AS SELECT * FROM rules o WHERE NOT EXISTS (SELECT 1 FROM rules n WHERE n.replaces = o.id);
CREATE VIEW teardowns_now AS SELECT * FROM teardowns o WHERE NOT EXISTS (SELECT 1 FROM teardowns n WHERE n.replaces = o.id);

-- +goose StatementBegin
CREATE TRIGGER entries_no_update BEFORE UPDATE ON entries BEGIN SELECT RAISE(ABORT, 'facts are written once: entries'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER entries_no_delete BEFORE DELETE ON entries BEGIN SELECT RAISE(ABORT, 'facts are written once: entries'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER owners_no_update BEFORE UPDATE ON owners BEGIN SELECT RAISE(ABORT, 'facts are written once: owners'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER owners_no_delete BEFORE DELETE ON owners BEGIN SELECT RAISE(ABORT, 'facts are written once: owners'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER contacts_no_update BEFORE UPDATE ON contacts BEGIN SELECT RAISE(ABORT, 'facts are written once: contacts'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER contacts_no_delete BEFORE DELETE ON contacts BEGIN SELECT RAISE(ABORT, 'facts are written once: contacts'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER machines_no_update BEFORE UPDATE ON machines BEGIN SELECT RAISE(ABORT, 'facts are written once: machines'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER machines_no_delete BEFORE DELETE ON machines BEGIN SELECT RAISE(ABORT, 'facts are written once: machines'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER readings_no_update BEFORE UPDATE ON readings BEGIN SELECT RAISE(ABORT, 'facts are written once: readings'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER readings_no_delete BEFORE DELETE ON readings BEGIN SELECT RAISE(ABORT, 'facts are written once: readings'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER reading_words_no_update BEFORE UPDATE ON reading_words BEGIN SELECT RAISE(ABORT, 'facts are written once: reading_words'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER reading_words_no_delete BEFORE DELETE ON reading_words BEGIN SELECT RAISE(ABORT, 'facts are written once: reading_words'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER swaps_no_update BEFORE UPDATE ON swaps BEGIN SELECT RAISE(ABORT, 'facts are written once: swaps'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER swaps_no_delete BEFORE DELETE ON swaps BEGIN SELECT RAISE(ABORT, 'facts are written once: swaps'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER services_no_update BEFORE UPDATE ON services BEGIN SELECT RAISE(ABORT, 'facts are written once: services'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER services_no_delete BEFORE DELETE ON services BEGIN SELECT RAISE(ABORT, 'facts are written once: services'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rules_no_update BEFORE UPDATE ON rules BEGIN SELECT RAISE(ABORT, 'facts are written once: rules'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rules_no_delete BEFORE DELETE ON rules BEGIN SELECT RAISE(ABORT, 'facts are written once: rules'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER teardowns_no_update BEFORE UPDATE ON teardowns BEGIN SELECT RAISE(ABORT, 'facts are written once: teardowns'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER teardowns_no_delete BEFORE DELETE ON teardowns BEGIN SELECT RAISE(ABORT, 'facts are written once: teardowns'); END;
-- +goose StatementEnd
