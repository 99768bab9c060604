-- What downtime is planned on (sites, bays, technicians, closures) and the
-- visits that people were told of: facts, written once.

-- +goose Up
CREATE TABLE sites (
    id              INTEGER PRIMARY KEY,
    entry           INTEGER NOT NULL REFERENCES entries (id),
    replaces        INTEGER UNIQUE REFERENCES sites (id),
    site            TEXT NOT NULL CHECK (site <> ''),
    name            TEXT NOT NULL,
    transport_cents REAL CHECK (transport_cents >= 0),
    retired         INTEGER NOT NULL CHECK (retired IN (0, 1))
) STRICT;
CREATE UNIQUE INDEX sites_first ON sites (site) WHERE replaces IS NULL;

CREATE TABLE bays (
    id       INTEGER PRIMARY KEY,
    entry    INTEGER NOT NULL REFERENCES entries (id),
    replaces INTEGER UNIQUE REFERENCES bays (id),
    bay      TEXT NOT NULL CHECK (bay <> ''),
    name     TEXT NOT NULL,
    kinds    TEXT NOT NULL,
    retired  INTEGER NOT NULL CHECK (retired IN (0, 1))
) STRICT;
CREATE UNIQUE INDEX bays_first ON bays (bay) WHERE replaces IS NULL;

CREATE TABLE technicians (
    id         INTEGER PRIMARY KEY,
    entry      INTEGER NOT NULL REFERENCES entries (id),
    replaces   INTEGER UNIQUE REFERENCES technicians (id),
    technician TEXT NOT NULL CHECK (technician <> ''),
    name       TEXT NOT NULL,
    mon        INTEGER NOT NULL CHECK (mon BETWEEN 0 AND 1440),
    tue        INTEGER NOT NULL CHECK (tue BETWEEN 0 AND 1440),
    wed        INTEGER NOT NULL CHECK (wed BETWEEN 0 AND 1440),
    thu        INTEGER NOT NULL CHECK (thu BETWEEN 0 AND 1440),
    fri        INTEGER NOT NULL CHECK (fri BETWEEN 0 AND 1440),
    sat        INTEGER NOT NULL CHECK (sat BETWEEN 0 AND 1440),
    sun        INTEGER NOT NULL CHECK (sun BETWEEN 0 AND 1440),
    retired    INTEGER NOT NULL CHECK (retired IN (0, 1))
) STRICT;
CREATE UNIQUE INDEX technicians_first ON technicians (technician) WHERE replaces IS NULL;

CREATE TABLE closures (
    id         INTEGER PRIMARY KEY,
    entry      INTEGER NOT NULL REFERENCES entries (id),
    replaces   INTEGER UNIQUE REFERENCES closures (id),
    closure    TEXT NOT NULL CHECK (closure <> ''),
    sort       TEXT NOT NULL CHECK (sort IN ('closed', 'blackout', 'limit', 'away')),
    from_on    TEXT NOT NULL CHECK (from_on <> ''),
    to_on      TEXT NOT NULL,
    site       TEXT NOT NULL,
    kind       TEXT NOT NULL,
    max_out    INTEGER NOT NULL CHECK (max_out >= 0),
    technician TEXT NOT NULL,
    note       TEXT NOT NULL,
    retired    INTEGER NOT NULL CHECK (retired IN (0, 1)),
    CHECK (to_on >= from_on),
    CHECK ((sort = 'away') = (technician <> ''))
) STRICT;
CREATE UNIQUE INDEX closures_first ON closures (closure) WHERE replaces IS NULL;
CREATE INDEX closures_to ON closures (to_on);

CREATE TABLE visits (
    id       INTEGER PRIMARY KEY,
    entry    INTEGER NOT NULL REFERENCES entries (id),
    replaces INTEGER UNIQUE REFERENCES visits (id),
    visit    TEXT NOT NULL CHECK (visit <> ''),
    uid      TEXT NOT NULL CHECK (uid <> ''),
    sequence INTEGER NOT NULL CHECK (sequence >= 0),
    machine  TEXT NOT NULL CHECK (machine <> ''),
    state    TEXT NOT NULL CHECK (state IN ('planned', 'agreed', 'dropped')),
    on_day   TEXT NOT NULL CHECK (on_day <> ''),
    until_on TEXT NOT NULL,
    bay      TEXT NOT NULL,
    items    TEXT NOT NULL CHECK (items <> ''),
    minutes  INTEGER NOT NULL CHECK (minutes >= 0),
    was_on   TEXT NOT NULL,
    why      TEXT NOT NULL,
    by_hand  INTEGER NOT NULL CHECK (by_hand IN (0, 1)),
    CHECK (until_on >= on_day)
) STRICT;
CREATE UNIQUE INDEX visits_first ON visits (visit) WHERE replaces IS NULL;
CREATE UNIQUE INDEX visits_uid ON visits (uid) WHERE replaces IS NULL;
CREATE INDEX visits_visit ON visits (visit);
CREATE INDEX visits_machine ON visits (machine);
CREATE INDEX visits_until ON visits (until_on);

CREATE VIEW sites_now AS SELECT * FROM sites o WHERE NOT EXISTS (SELECT 1 FROM sites n WHERE n.replaces = o.id);
CREATE VIEW bays_now AS SELECT * FROM bays o WHERE NOT EXISTS (SELECT 1 FROM bays n WHERE n.replaces = o.id);
CREATE VIEW technicians_now AS SELECT * FROM technicians o WHERE NOT EXISTS (SELECT 1 FROM technicians n WHERE n.replaces = o.id);
CREATE VIEW closures_now AS SELECT * FROM closures o WHERE NOT EXISTS (SELECT 1 FROM closures n WHERE n.replaces = o.id);
CREATE VIEW visits_now AS SELECT * FROM visits o WHERE NOT EXISTS (SELECT 1 FROM visits n WHERE n.replaces = o.id);

-- A visit stays with its machine and its calendar entry, whose sequence never
-- goes back; a dropped one does not come back.
-- +goose StatementBegin
CREATE TRIGGER visits_order BEFORE INSERT ON visits
WHEN NEW.replaces IS NOT NULL AND NOT EXISTS (SELECT 1 FROM visits o WHERE o.id = NEW.replaces AND o.visit = NEW.visit
    AND o.uid = NEW.uid AND o.machine = NEW.machine AND o.state <> 'dropped' AND NEW.sequence >= o.sequence)
BEGIN SELECT RAISE(ABORT, 'a visit that was dropped does not come back'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sites_no_update BEFORE UPDATE ON sites BEGIN SELECT RAISE(ABORT, 'facts are written once: sites'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sites_no_delete BEFORE DELETE ON sites BEGIN SELECT RAISE(ABORT, 'facts are written once: sites'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER bays_no_update BEFORE UPDATE ON bays BEGIN SELECT RAISE(ABORT, 'facts are written once: bays'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER bays_no_delete BEFORE DELETE ON bays BEGIN SELECT RAISE(ABORT, 'facts are written once: bays'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER technicians_no_update BEFORE UPDATE ON technicians BEGIN SELECT RAISE(ABORT, 'facts are written once: technicians'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER technicians_no_delete BEFORE DELETE ON technicians BEGIN SELECT RAISE(ABORT, 'facts are written once: technicians'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER closures_no_update BEFORE UPDATE ON closures BEGIN SELECT RAISE(ABORT, 'facts are written once: closures'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER closures_no_delete BEFORE DELETE ON closures BEGIN SELECT RAISE(ABORT, 'facts are written once: closures'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER visits_no_update BEFORE UPDATE ON visits BEGIN SELECT RAISE(ABORT, 'facts are written once: visits'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER visits_no_delete BEFORE DELETE ON visits BEGIN SELECT RAISE(ABORT, 'facts are written once: visits'); END;
-- +goose StatementEnd
