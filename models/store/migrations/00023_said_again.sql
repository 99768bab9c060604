-- What was taken back and is said again by a person counts again: a row that
-- names the withdrawal. It may be taken back once more, so that a fact may have
-- several withdrawals, of which the one that nothing names holds.

-- +goose Up
DROP VIEW readings_now;
DROP VIEW services_now;
CREATE TABLE withdrawals_before AS SELECT * FROM withdrawals;
DROP TABLE withdrawals;
CREATE TABLE withdrawals (
    id       INTEGER PRIMARY KEY,
    entry    INTEGER NOT NULL REFERENCES entries (id),
    replaces INTEGER UNIQUE REFERENCES withdrawals (id),
    sort     TEXT NOT NULL CHECK (sort <> ''),
    fact     INTEGER NOT NULL,
    why      TEXT NOT NULL CHECK (why <> ''),
    by_whom  TEXT NOT NULL
) STRICT;
INSERT INTO withdrawals SELECT * FROM withdrawals_before;
DROP TABLE withdrawals_before;
CREATE INDEX withdrawals_fact ON withdrawals (sort, fact);
CREATE TABLE said_again (
    id         INTEGER PRIMARY KEY,
    entry      INTEGER NOT NULL REFERENCES entries (id),
    replaces   INTEGER UNIQUE REFERENCES said_again (id),
    withdrawal INTEGER NOT NULL UNIQUE REFERENCES withdrawals (id)
) STRICT;
CREATE VIEW withdrawals_now AS SELECT * FROM withdrawals w WHERE NOT EXISTS (SELECT 1 FROM said_again a WHERE a.withdrawal = w.id);
CREATE VIEW readings_now AS SELECT * FROM readings o WHERE NOT EXISTS (SELECT 1 FROM withdrawals_now w WHERE w.sort = 'reading' AND w.fact = o.id);
CREATE VIEW services_now AS SELECT * FROM services o WHERE NOT EXISTS (SELECT 1 FROM withdrawals_now w WHERE w.sort = 'service' AND w.fact = o.id);
-- +goose StatementBegin
CREATE TRIGGER withdrawals_no_update BEFORE UPDATE ON withdrawals BEGIN SELECT RAISE(ABORT, 'facts are written once: withdrawals'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER withdrawals_no_delete BEFORE DELETE ON withdrawals BEGIN SELECT RAISE(ABORT, 'facts are written once: withdrawals'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER said_again_no_update BEFORE UPDATE ON said_again BEGIN SELECT RAISE(ABORT, 'facts are written once: said_again'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER said_again_no_delete BEFORE DELETE ON said_again BEGIN SELECT RAISE(ABORT, 'facts are written once: said_again'); END;
-- +goose StatementEnd
