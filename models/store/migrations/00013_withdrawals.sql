-- What was taken back: a fact that names another which never was. The other
-- stays, counts nowhere, and is shown as taken back with the reason and name.

-- +goose Up
CREATE TABLE withdrawals (
    id       INTEGER PRIMARY KEY,
    entry    INTEGER NOT NULL REFERENCES entries (id),
    replaces INTEGER UNIQUE REFERENCES withdrawals (id),
    sort     TEXT NOT NULL CHECK (sort IN ('reading', 'service', 'swap')),
    fact     INTEGER NOT NULL,
    why      TEXT NOT NULL CHECK (why <> ''),
    by_whom  TEXT NOT NULL,
    UNIQUE (sort, fact)
) STRICT;
CREATE VIEW readings_now AS SELECT * FROM readings r WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'reading' AND w.fact = r.id);
CREATE VIEW services_now AS SELECT * FROM services s WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'service' AND w.fact = s.id);

-- +goose StatementBegin
CREATE TRIGGER withdrawals_no_update BEFORE UPDATE ON withdrawals BEGIN SELECT RAISE(ABORT, 'facts are written once: withdrawals'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER withdrawals_no_delete BEFORE DELETE ON withdrawals BEGIN SELECT RAISE(ABORT, 'facts are written once: withdrawals'); END;
-- +goose StatementEnd
