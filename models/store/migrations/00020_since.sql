-- From which day on the shop's record of a machine is whole, and since when a
-- rule stands, are facts of their own, so that an export carries them. So far
-- both were the day of the entry, of a machine that of its first one.

-- +goose Up

ALTER TABLE machines ADD COLUMN books_since TEXT NOT NULL DEFAULT '';
DROP TRIGGER machines_no_update;
UPDATE machines SET books_since = (SELECT date(e.recorded_at, 'unixepoch') FROM machines f JOIN entries e ON e.id = f.entry
    WHERE f.machine = machines.machine AND f.replaces IS NULL);
-- +goose StatementBegin
CREATE TRIGGER machines_no_update BEFORE UPDATE ON machines BEGIN SELECT RAISE(ABORT, 'facts are written once: machines'); END;
-- +goose StatementEnd

ALTER TABLE rules ADD COLUMN since TEXT NOT NULL DEFAULT '';
DROP TRIGGER rules_no_update;
UPDATE rules SET since = (SELECT date(e.recorded_at, 'unixepoch') FROM entries e WHERE e.id = rules.entry);
-- +goose StatementBegin
CREATE TRIGGER rules_no_update BEFORE UPDATE ON rules BEGIN SELECT RAISE(ABORT, 'facts are written once: rules'); END;
-- +goose StatementEnd
