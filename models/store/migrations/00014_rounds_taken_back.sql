-- Rounds that were held for a time that had not come (a slip in --at, a clock
-- that was wrong) and were taken back: what they decided counts as never told.

-- +goose Up
CREATE TABLE rounds_taken_back (
    round INTEGER NOT NULL PRIMARY KEY REFERENCES rounds (id),
    entry INTEGER NOT NULL REFERENCES entries (id)
) STRICT;
-- +goose StatementBegin
CREATE TRIGGER rounds_taken_back_no_update BEFORE UPDATE ON rounds_taken_back BEGIN SELECT RAISE(ABORT, 'facts are written once: rounds_taken_back'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rounds_taken_back_no_delete BEFORE DELETE ON rounds_taken_back BEGIN SELECT RAISE(ABORT, 'facts are written once: rounds_taken_back'); END;
-- +goose StatementEnd
