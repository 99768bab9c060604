-- Nothing goes to owners of a machine that nobody has released; and notices
-- that were stopped while their message waited.

-- +goose Up
CREATE TABLE releases (
    id       INTEGER PRIMARY KEY,
    entry    INTEGER NOT NULL REFERENCES entries (id),
    replaces INTEGER UNIQUE REFERENCES releases (id),
    machine  TEXT NOT NULL, -- '': the shop as a whole
    state    TEXT NOT NULL CHECK (state IN ('released', 'held')),
    said_by  TEXT NOT NULL,
    note     TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX releases_first ON releases (machine) WHERE replaces IS NULL;
CREATE INDEX releases_machine ON releases (machine);

CREATE VIEW releases_now AS SELECT * FROM releases o WHERE NOT EXISTS (SELECT 1 FROM releases n WHERE n.replaces = o.id);

-- What the first inspection of a machine stands for.
ALTER TABLE forecasts ADD COLUMN items TEXT NOT NULL DEFAULT '';

-- A notice whose message waited when its machine was sold, laid up or held
-- back: it was told to nobody.
CREATE TABLE stopped_notices (
    notice INTEGER PRIMARY KEY REFERENCES notices (id),
    entry  INTEGER NOT NULL REFERENCES entries (id),
    why    TEXT NOT NULL
) STRICT;

-- A shop that has written to owners before goes on doing so.
INSERT INTO entries (recorded_at, actor, means, note)
    SELECT CAST(strftime('%s', 'now') AS INTEGER), 'roundsman', 'release', 'messages were sent before there were releases'
    WHERE EXISTS (SELECT 1 FROM messages WHERE state = 'sent' AND contact <> '');
INSERT INTO releases (entry, machine, state, said_by, note)
    SELECT (SELECT max(id) FROM entries), m.machine, 'released', 'roundsman', ''
    FROM (SELECT '' AS machine UNION ALL SELECT machine FROM machines_now) m
    WHERE EXISTS (SELECT 1 FROM messages WHERE state = 'sent' AND contact <> '');

-- +goose StatementBegin
CREATE TRIGGER releases_no_update BEFORE UPDATE ON releases BEGIN SELECT RAISE(ABORT, 'facts are written once: releases'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER releases_no_delete BEFORE DELETE ON releases BEGIN SELECT RAISE(ABORT, 'facts are written once: releases'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER stopped_notices_no_update BEFORE UPDATE ON stopped_notices BEGIN SELECT RAISE(ABORT, 'facts are written once: stopped_notices'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER stopped_notices_no_delete BEFORE DELETE ON stopped_notices BEGIN SELECT RAISE(ABORT, 'facts are written once: stopped_notices'); END;
-- +goose StatementEnd
