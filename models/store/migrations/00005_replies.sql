-- Replies as they came, what was done on them, and a person's word that one
-- has been dealt with. All are written once.

-- +goose Up
CREATE TABLE replies (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    key         TEXT NOT NULL UNIQUE, -- the same reply handed over twice is one
    received_at INTEGER NOT NULL,
    channel     TEXT NOT NULL,
    sender      TEXT NOT NULL,
    recipient   TEXT NOT NULL,
    subject     TEXT NOT NULL,
    text        TEXT NOT NULL,
    automatic   INTEGER NOT NULL CHECK (automatic IN (0, 1)),
    answers_to  TEXT NOT NULL,
    owner       TEXT NOT NULL,
    contact     TEXT NOT NULL,
    question    TEXT NOT NULL,
    person      TEXT NOT NULL
) STRICT;
CREATE INDEX replies_sender ON replies (sender, id);
CREATE INDEX replies_contact ON replies (contact, id) WHERE contact <> '';
CREATE INDEX replies_person ON replies (id) WHERE person <> '';

CREATE TABLE reply_acts (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    reply   INTEGER NOT NULL REFERENCES replies (id),
    act     TEXT NOT NULL,
    machine TEXT NOT NULL,
    detail  TEXT NOT NULL,
    message INTEGER REFERENCES messages (id),
    at      INTEGER NOT NULL
) STRICT;
CREATE INDEX reply_acts_reply ON reply_acts (reply);

CREATE TABLE reply_marks (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    reply   INTEGER NOT NULL REFERENCES replies (id),
    at      INTEGER NOT NULL,
    by_whom TEXT NOT NULL,
    note    TEXT NOT NULL
) STRICT;
CREATE INDEX reply_marks_reply ON reply_marks (reply);
-- +goose StatementBegin
CREATE TRIGGER replies_no_update BEFORE UPDATE ON replies BEGIN SELECT RAISE(ABORT, 'facts are written once: replies'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER replies_no_delete BEFORE DELETE ON replies BEGIN SELECT RAISE(ABORT, 'facts are written once: replies'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER reply_acts_no_update BEFORE UPDATE ON reply_acts BEGIN SELECT RAISE(ABORT, 'facts are written once: reply_acts'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER reply_acts_no_delete BEFORE DELETE ON reply_acts BEGIN SELECT RAISE(ABORT, 'facts are written once: reply_acts'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER reply_marks_no_update BEFORE UPDATE ON reply_marks BEGIN SELECT RAISE(ABORT, 'facts are written once: reply_marks'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER reply_marks_no_delete BEFORE DELETE ON reply_marks BEGIN SELECT RAISE(ABORT, 'facts are written once: reply_marks'); END;
-- +goose StatementEnd
