-- People who log in to the pages, what they did there, calls made, and the
-- lines of the fleet page. Traces, calls and withdrawals are written once;
-- fleet_lines is derived.

-- +goose Up
CREATE TABLE users (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    name       TEXT NOT NULL CHECK (name <> '') COLLATE NOCASE,
    role       TEXT NOT NULL CHECK (role IN ('desk', 'technician', 'manager')),
    owner      TEXT NOT NULL,
    language   TEXT NOT NULL,
    hash       TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    removed_at INTEGER NOT NULL,
    CHECK ((role = 'manager') = (owner <> ''))
) STRICT;
CREATE UNIQUE INDEX users_name ON users (name) WHERE removed_at = 0;

CREATE TABLE sessions (
    token      TEXT PRIMARY KEY,
    user_id    INTEGER NOT NULL REFERENCES users (id),
    created_at INTEGER NOT NULL,
    seen_at    INTEGER NOT NULL,
    ends_at    INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX sessions_user ON sessions (user_id);

CREATE TABLE passes (
    token   TEXT PRIMARY KEY,
    user_id INTEGER NOT NULL REFERENCES users (id),
    ends_at INTEGER NOT NULL,
    used_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE traces (
    id     INTEGER PRIMARY KEY AUTOINCREMENT,
    at     INTEGER NOT NULL,
    who    TEXT NOT NULL,
    origin TEXT NOT NULL,
    what   TEXT NOT NULL,
    about  TEXT NOT NULL,
    detail TEXT NOT NULL
) STRICT;

CREATE TABLE calls (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    at       INTEGER NOT NULL,
    owner    TEXT NOT NULL CHECK (owner <> ''),
    by_whom  TEXT NOT NULL,
    reached  INTEGER NOT NULL CHECK (reached IN (0, 1)),
    note     TEXT NOT NULL,
    again_on TEXT NOT NULL
) STRICT;
CREATE INDEX calls_owner ON calls (owner, at);

-- The secret that signs owners' links, and the contacts whose links given out
-- up to a moment count no more.
CREATE TABLE web_keys (
    name TEXT PRIMARY KEY,
    body BLOB NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE link_withdrawals (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    contact TEXT NOT NULL CHECK (contact <> ''),
    at      INTEGER NOT NULL,
    by_whom TEXT NOT NULL
) STRICT;
CREATE INDEX link_withdrawals_contact ON link_withdrawals (contact, at);

-- Withheld notices are few beside those sent, and the round sheet reads them.
CREATE INDEX notices_withheld ON notices (machine, item, cycle) WHERE message IS NULL;
CREATE INDEX messages_ended ON messages (state, ended_at) WHERE state = 'failed';
CREATE INDEX jobs_in_hand ON jobs (state) WHERE state IN ('open', 'done', 'reopened');
CREATE INDEX messages_queued ON messages (queued_at);

-- One line a machine: its most urgent item, and the words it is found by.
-- rank is the stage's urgency, 5 where no round has looked yet; due_on is
-- 9999-12-31 where there is no date.
CREATE TABLE fleet_lines (
    machine TEXT PRIMARY KEY,
    owner   TEXT NOT NULL,
    rank    INTEGER NOT NULL,
    due_on  TEXT NOT NULL,
    words   TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX fleet_lines_urgency ON fleet_lines (rank, due_on, machine);
CREATE INDEX fleet_lines_owner ON fleet_lines (owner, rank, due_on, machine);
INSERT INTO fleet_lines (machine, owner, rank, due_on, words)
SELECT m.machine, m.owner, 5, '9999-12-31',
    lower(m.tag || ' ' || m.machine || ' ' || ifnull(o.name, '') || ' ' || m.owner || ' ' || m.kind || ' ' || m.make || ' ' || m.model || ' ' || m.serial || ' ' || m.site)
FROM machines_now m LEFT JOIN owners_now o ON o.owner = m.owner;
UPDATE fleet_lines SET rank = f.rank, due_on = f.due_on
FROM (
    SELECT machine, CAST(substr(least, 1, 1) AS INTEGER) AS rank, substr(least, 2) AS due_on
    FROM (
        SELECT machine, min((CASE stage WHEN 'late' THEN '0' WHEN 'due' THEN '1' WHEN 'coming' THEN '2' WHEN 'unsure' THEN '3' ELSE '4' END)
            || (CASE due_on WHEN '' THEN '9999-12-31' ELSE due_on END)) AS least
        FROM forecasts GROUP BY machine
    )
) f WHERE f.machine = fleet_lines.machine;

-- +goose StatementBegin
CREATE TRIGGER traces_no_update BEFORE UPDATE ON traces BEGIN SELECT RAISE(ABORT, 'facts are written once: traces'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER traces_no_delete BEFORE DELETE ON traces BEGIN SELECT RAISE(ABORT, 'facts are written once: traces'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER calls_no_update BEFORE UPDATE ON calls BEGIN SELECT RAISE(ABORT, 'facts are written once: calls'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER calls_no_delete BEFORE DELETE ON calls BEGIN SELECT RAISE(ABORT, 'facts are written once: calls'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER link_withdrawals_no_update BEFORE UPDATE ON link_withdrawals BEGIN SELECT RAISE(ABORT, 'facts are written once: link_withdrawals'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER link_withdrawals_no_delete BEFORE DELETE ON link_withdrawals BEGIN SELECT RAISE(ABORT, 'facts are written once: link_withdrawals'); END;
-- +goose StatementEnd
