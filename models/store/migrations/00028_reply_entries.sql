-- With which entry a reply brought its facts, so that one act takes them back.

-- +goose Up

CREATE TABLE reply_entries (
    reply INTEGER PRIMARY KEY REFERENCES replies (id),
    entry INTEGER NOT NULL REFERENCES entries (id)
) STRICT;
-- +goose StatementBegin
CREATE TRIGGER reply_entries_no_update BEFORE UPDATE ON reply_entries BEGIN SELECT RAISE(ABORT, 'facts are written once: reply_entries'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER reply_entries_no_delete BEFORE DELETE ON reply_entries BEGIN SELECT RAISE(ABORT, 'facts are written once: reply_entries'); END;
-- +goose StatementEnd
