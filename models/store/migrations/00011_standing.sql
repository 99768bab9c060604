-- Where a machine stands (in use, laid up, sold, gone, scrapped) and how its
-- items stood when the shop took it on: facts, written once.

-- +goose Up
CREATE TABLE standings (
    id        INTEGER PRIMARY KEY,
    entry     INTEGER NOT NULL REFERENCES entries (id),
    replaces  INTEGER UNIQUE REFERENCES standings (id),
    machine   TEXT NOT NULL CHECK (machine <> ''),
    on_day    TEXT NOT NULL CHECK (on_day <> ''),
    state     TEXT NOT NULL CHECK (state IN ('in_use', 'laid_up', 'sold', 'gone', 'scrapped')),
    until_on  TEXT NOT NULL,
    new_owner TEXT NOT NULL,
    said_by   TEXT NOT NULL,
    note      TEXT NOT NULL,
    CHECK ((state = 'laid_up') = (until_on <> '')),
    CHECK (until_on = '' OR until_on > on_day),
    CHECK (new_owner = '' OR state = 'sold')
) STRICT;
CREATE INDEX standings_machine ON standings (machine, on_day, id);

CREATE VIEW standings_now AS SELECT * FROM standings o
    WHERE NOT EXISTS (SELECT 1 FROM standings n WHERE n.machine = o.machine
        AND (n.on_day > o.on_day OR n.on_day = o.on_day AND n.id > o.id));

CREATE TABLE baselines (
    id          INTEGER PRIMARY KEY,
    entry       INTEGER NOT NULL REFERENCES entries (id),
    replaces    INTEGER UNIQUE REFERENCES baselines (id),
    machine     TEXT NOT NULL CHECK (machine <> ''),
    item        TEXT NOT NULL CHECK (item <> ''),
    on_day      TEXT NOT NULL CHECK (on_day <> ''),
    state       TEXT NOT NULL CHECK (state IN ('done', 'fine', 'unknown')),
    done_on     TEXT NOT NULL,
    done_within INTEGER NOT NULL CHECK (done_within >= 0),
    miles       REAL CHECK (miles >= 0),
    hours       REAL CHECK (hours >= 0),
    said_by     TEXT NOT NULL,
    CHECK (state = 'done' OR done_on = '' AND miles IS NULL AND hours IS NULL)
) STRICT;
CREATE UNIQUE INDEX baselines_first ON baselines (machine, item) WHERE replaces IS NULL;
CREATE INDEX baselines_machine ON baselines (machine);

CREATE VIEW baselines_now AS SELECT * FROM baselines o WHERE NOT EXISTS (SELECT 1 FROM baselines n WHERE n.replaces = o.id);

-- +goose StatementBegin
CREATE TRIGGER standings_no_update BEFORE UPDATE ON standings BEGIN SELECT RAISE(ABORT, 'facts are written once: standings'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER standings_no_delete BEFORE DELETE ON standings BEGIN SELECT RAISE(ABORT, 'facts are written once: standings'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER baselines_no_update BEFORE UPDATE ON baselines BEGIN SELECT RAISE(ABORT, 'facts are written once: baselines'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER baselines_no_delete BEFORE DELETE ON baselines BEGIN SELECT RAISE(ABORT, 'facts are written once: baselines'); END;
-- +goose StatementEnd
