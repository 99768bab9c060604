-- Jobs, their lines and parts, follow-up checks and their answers: facts,
-- written once. A machine is not handed over while a bench check of the job's
-- present turn is open, unless a reason and a name are kept.

-- +goose Up
CREATE TABLE jobs (
    id           INTEGER PRIMARY KEY,
    entry        INTEGER NOT NULL REFERENCES entries (id),
    replaces     INTEGER UNIQUE REFERENCES jobs (id),
    job          TEXT NOT NULL CHECK (job <> ''),
    machine      TEXT NOT NULL CHECK (machine <> ''),
    state        TEXT NOT NULL CHECK (state IN ('open', 'done', 'handed over', 'reopened', 'withdrawn')),
    turn         INTEGER NOT NULL CHECK (turn >= 1),
    opened_on    TEXT NOT NULL CHECK (opened_on <> ''),
    opened_by    TEXT NOT NULL,
    complaint    TEXT NOT NULL,
    cause        TEXT NOT NULL,
    correction   TEXT NOT NULL,
    codes        TEXT NOT NULL,
    miles        REAL CHECK (miles >= 0),
    hours        REAL CHECK (hours >= 0),
    done_on      TEXT NOT NULL,
    done_by      TEXT NOT NULL,
    handed_on    TEXT NOT NULL,
    handed_by    TEXT NOT NULL,
    override_why TEXT NOT NULL,
    override_by  TEXT NOT NULL,
    back_on      TEXT NOT NULL,
    back_of      TEXT NOT NULL,
    note         TEXT NOT NULL,
    CHECK ((override_why = '') = (override_by = ''))
) STRICT;
CREATE UNIQUE INDEX jobs_first ON jobs (job) WHERE replaces IS NULL;
CREATE INDEX jobs_job ON jobs (job);
CREATE INDEX jobs_machine ON jobs (machine, job);
CREATE INDEX jobs_state ON jobs (state, job);

CREATE TABLE job_lines (
    id        INTEGER PRIMARY KEY,
    entry     INTEGER NOT NULL REFERENCES entries (id),
    replaces  INTEGER UNIQUE REFERENCES job_lines (id),
    job       TEXT NOT NULL CHECK (job <> ''),
    line      INTEGER NOT NULL CHECK (line >= 1),
    turn      INTEGER NOT NULL CHECK (turn >= 1),
    item      TEXT NOT NULL,
    what      TEXT NOT NULL,
    done_by   TEXT NOT NULL,
    minutes   INTEGER NOT NULL CHECK (minutes >= 0),
    cooling   INTEGER NOT NULL CHECK (cooling IN (0, 1)),
    withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
    CHECK (item <> '' OR what <> '')
) STRICT;
CREATE UNIQUE INDEX job_lines_first ON job_lines (job, line) WHERE replaces IS NULL;
CREATE INDEX job_lines_job ON job_lines (job, line);

CREATE TABLE job_parts (
    id          INTEGER PRIMARY KEY,
    entry       INTEGER NOT NULL REFERENCES entries (id),
    replaces    INTEGER UNIQUE REFERENCES job_parts (id),
    job         TEXT NOT NULL CHECK (job <> ''),
    part        INTEGER NOT NULL CHECK (part >= 1),
    turn        INTEGER NOT NULL CHECK (turn >= 1),
    line        INTEGER NOT NULL CHECK (line >= 0),
    name        TEXT NOT NULL,
    number      TEXT NOT NULL,
    maker       TEXT NOT NULL,
    equivalents TEXT NOT NULL,
    qty         REAL CHECK (qty > 0),
    cost_cents  REAL CHECK (cost_cents >= 0),
    place       TEXT NOT NULL,
    withdrawn   INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
    CHECK (name <> '' OR number <> '')
) STRICT;
CREATE UNIQUE INDEX job_parts_first ON job_parts (job, part) WHERE replaces IS NULL;
CREATE INDEX job_parts_job ON job_parts (job, part);

CREATE TABLE check_defs (
    id          INTEGER PRIMARY KEY,
    entry       INTEGER NOT NULL REFERENCES entries (id),
    replaces    INTEGER UNIQUE REFERENCES check_defs (id),
    def         TEXT NOT NULL CHECK (def <> ''),
    kind        TEXT NOT NULL CHECK (kind IN ('bench', 'owner')),
    items       TEXT NOT NULL,
    question_en TEXT NOT NULL,
    question_es TEXT NOT NULL,
    if_fitted   INTEGER NOT NULL CHECK (if_fitted IN (0, 1)),
    after_days  INTEGER NOT NULL CHECK (after_days >= 0),
    after_miles REAL CHECK (after_miles > 0),
    after_hours REAL CHECK (after_hours > 0),
    retired     INTEGER NOT NULL CHECK (retired IN (0, 1))
) STRICT;
CREATE UNIQUE INDEX check_defs_first ON check_defs (def) WHERE replaces IS NULL;

CREATE TABLE checks (
    id          INTEGER PRIMARY KEY,
    entry       INTEGER NOT NULL REFERENCES entries (id),
    replaces    INTEGER UNIQUE REFERENCES checks (id),
    check_no    TEXT NOT NULL CHECK (check_no <> ''),
    job         TEXT NOT NULL CHECK (job <> ''),
    turn        INTEGER NOT NULL CHECK (turn >= 1),
    kind        TEXT NOT NULL CHECK (kind IN ('bench', 'owner')),
    def         TEXT NOT NULL,
    question_en TEXT NOT NULL CHECK (question_en <> ''),
    question_es TEXT NOT NULL,
    if_fitted   INTEGER NOT NULL CHECK (if_fitted IN (0, 1)),
    after_days  INTEGER NOT NULL CHECK (after_days >= 0),
    after_miles REAL CHECK (after_miles > 0),
    after_hours REAL CHECK (after_hours > 0),
    from_on     TEXT NOT NULL,
    from_miles  REAL,
    from_hours  REAL
) STRICT;
CREATE UNIQUE INDEX checks_first ON checks (check_no) WHERE replaces IS NULL;
CREATE INDEX checks_no ON checks (check_no);
CREATE INDEX checks_job ON checks (job, turn);

CREATE TABLE check_answers (
    id          INTEGER PRIMARY KEY,
    entry       INTEGER NOT NULL REFERENCES entries (id),
    replaces    INTEGER UNIQUE REFERENCES check_answers (id),
    check_no    TEXT NOT NULL CHECK (check_no <> ''),
    answered_at INTEGER NOT NULL,
    result      TEXT NOT NULL CHECK (result IN ('ok', 'not ok', 'not fitted')),
    words       TEXT NOT NULL,
    said_by     TEXT NOT NULL
) STRICT;
-- The same answer is one answer.
CREATE UNIQUE INDEX check_answers_same ON check_answers (check_no, answered_at, result, words, said_by);

CREATE VIEW jobs_now AS SELECT * FROM jobs o WHERE NOT EXISTS (SELECT 1 FROM jobs n WHERE n.replaces = o.id);
CREATE VIEW job_lines_now AS SELECT * FROM job_lines o WHERE NOT EXISTS (SELECT 1 FROM job_lines n WHERE n.replaces = o.id);
CREATE VIEW job_parts_now AS SELECT * FROM job_parts o WHERE NOT EXISTS (SELECT 1 FROM job_parts n WHERE n.replaces = o.id);
CREATE VIEW check_defs_now AS SELECT * FROM check_defs o WHERE NOT EXISTS (SELECT 1 FROM check_defs n WHERE n.replaces = o.id);
-- A check with the answer that counts; open while one is owed: an owner's
-- check until it is answered, a bench check until it is answered well.
CREATE VIEW checks_now AS
SELECT c.*, ifnull(a.result, '') AS result,
    a.result IS NULL OR (c.kind = 'bench' AND a.result = 'not ok') AS open
FROM checks c
LEFT JOIN check_answers a ON a.id = (SELECT l.id FROM check_answers l WHERE l.check_no = c.check_no ORDER BY l.answered_at DESC, l.id DESC LIMIT 1)
WHERE NOT EXISTS (SELECT 1 FROM checks n WHERE n.replaces = c.id);

-- +goose StatementBegin
CREATE TRIGGER jobs_bench BEFORE INSERT ON jobs
WHEN NEW.state = 'handed over' AND NEW.override_why = ''
    AND ifnull((SELECT o.state FROM jobs o WHERE o.id = NEW.replaces), '') <> 'handed over'
    AND EXISTS (SELECT 1 FROM checks_now c WHERE c.job = NEW.job AND c.turn = NEW.turn AND c.kind = 'bench' AND c.open)
BEGIN SELECT RAISE(ABORT, 'a bench check is open'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER jobs_order BEFORE INSERT ON jobs
WHEN NEW.replaces IS NOT NULL AND NOT EXISTS (SELECT 1 FROM jobs o WHERE o.id = NEW.replaces AND o.job = NEW.job AND o.machine = NEW.machine
    AND (o.state = NEW.state AND o.turn = NEW.turn
        OR o.turn = NEW.turn AND (
            o.state IN ('open', 'reopened') AND NEW.state IN ('done', 'withdrawn')
            OR o.state = 'done' AND NEW.state = 'handed over')
        OR o.state = 'handed over' AND NEW.state = 'reopened' AND NEW.turn = o.turn + 1))
BEGIN SELECT RAISE(ABORT, 'a job goes from open to done to handed over'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER checks_stay BEFORE INSERT ON checks
WHEN NEW.replaces IS NOT NULL AND NOT EXISTS (SELECT 1 FROM checks o WHERE o.id = NEW.replaces
    AND o.check_no = NEW.check_no AND o.job = NEW.job AND o.turn = NEW.turn AND o.kind = NEW.kind)
BEGIN SELECT RAISE(ABORT, 'a check stays with its job'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER jobs_no_update BEFORE UPDATE ON jobs BEGIN SELECT RAISE(ABORT, 'facts are written once: jobs'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER jobs_no_delete BEFORE DELETE ON jobs BEGIN SELECT RAISE(ABORT, 'facts are written once: jobs'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER job_lines_no_update BEFORE UPDATE ON job_lines BEGIN SELECT RAISE(ABORT, 'facts are written once: job_lines'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER job_lines_no_delete BEFORE DELETE ON job_lines BEGIN SELECT RAISE(ABORT, 'facts are written once: job_lines'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER job_parts_no_update BEFORE UPDATE ON job_parts BEGIN SELECT RAISE(ABORT, 'facts are written once: job_parts'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER job_parts_no_delete BEFORE DELETE ON job_parts BEGIN SELECT RAISE(ABORT, 'facts are written once: job_parts'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER check_defs_no_update BEFORE UPDATE ON check_defs BEGIN SELECT RAISE(ABORT, 'facts are written once: check_defs'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER check_defs_no_delete BEFORE DELETE ON check_defs BEGIN SELECT RAISE(ABORT, 'facts are written once: check_defs'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER checks_no_update BEFORE UPDATE ON checks BEGIN SELECT RAISE(ABORT, 'facts are written once: checks'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER checks_no_delete BEFORE DELETE ON checks BEGIN SELECT RAISE(ABORT, 'facts are written once: checks'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER check_answers_no_update BEFORE UPDATE ON check_answers BEGIN SELECT RAISE(ABORT, 'facts are written once: check_answers'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER check_answers_no_delete BEFORE DELETE ON check_answers BEGIN SELECT RAISE(ABORT, 'facts are written once: check_answers'); END;
-- +goose StatementEnd
