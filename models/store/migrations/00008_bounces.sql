-- Reports that messages did not arrive, written once. An address with a dead
-- one is used no more until its contact has agreed anew.

-- +goose Up
CREATE TABLE bounces (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    key     TEXT NOT NULL UNIQUE,
    at      INTEGER NOT NULL,
    channel TEXT NOT NULL,
    address TEXT NOT NULL,
    fate    TEXT NOT NULL CHECK (fate IN ('soft', 'refuse', 'dead')),
    code    TEXT NOT NULL,
    words   TEXT NOT NULL
) STRICT;
CREATE INDEX bounces_address ON bounces (channel, address COLLATE NOCASE, at);
-- +goose StatementBegin
CREATE TRIGGER bounces_no_update BEFORE UPDATE ON bounces BEGIN SELECT RAISE(ABORT, 'facts are written once: bounces'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER bounces_no_delete BEFORE DELETE ON bounces BEGIN SELECT RAISE(ABORT, 'facts are written once: bounces'); END;
-- +goose StatementEnd
