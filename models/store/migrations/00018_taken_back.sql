-- Whatever people record of a machine can be taken back: a withdrawal names
-- the sort and row of a fact, and the views of what counts leave it out.

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
    by_whom  TEXT NOT NULL,
    UNIQUE (sort, fact)
) STRICT;
INSERT INTO withdrawals SELECT * FROM withdrawals_before;
DROP TABLE withdrawals_before;
-- +goose StatementBegin
CREATE TRIGGER withdrawals_no_update BEFORE UPDATE ON withdrawals BEGIN SELECT RAISE(ABORT, 'facts are written once: withdrawals'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER withdrawals_no_delete BEFORE DELETE ON withdrawals BEGIN SELECT RAISE(ABORT, 'facts are written once: withdrawals'); END;
-- +goose StatementEnd

CREATE VIEW readings_now AS SELECT * FROM readings o WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'reading' AND w.fact = o.id);
CREATE VIEW services_now AS SELECT * FROM services o WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'service' AND w.fact = o.id);
CREATE VIEW check_answers_now AS SELECT * FROM check_answers o WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'answer' AND w.fact = o.id);

-- Where the last word was taken back, the one before it counts again.
DROP VIEW standings_now;
CREATE VIEW standings_now AS SELECT * FROM standings o
    WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'standing' AND w.fact = o.id)
        AND NOT EXISTS (SELECT 1 FROM standings n WHERE n.machine = o.machine
            AND (n.on_day > o.on_day OR n.on_day = o.on_day AND n.id > o.id)
            AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'standing' AND w.fact = n.id));
DROP VIEW baselines_now;
CREATE VIEW baselines_now AS SELECT * FROM baselines o
    WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'baseline' AND w.fact = o.id)
        AND NOT EXISTS (SELECT 1 FROM baselines n WHERE n.machine = o.machine AND n.item = o.item AND n.id > o.id
            AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'baseline' AND w.fact = n.id));
DROP VIEW releases_now;
CREATE VIEW releases_now AS SELECT * FROM releases o
    WHERE NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'release' AND w.fact = o.id)
        AND NOT EXISTS (SELECT 1 FROM releases n WHERE n.machine = o.machine AND n.id > o.id
            AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'release' AND w.fact = n.id));

-- Lines and parts stay on the job, marked as taken out.
DROP VIEW job_lines_now;
CREATE VIEW job_lines_now AS SELECT id, entry, replaces, job, line, turn, item, what, done_by, minutes, cooling,
    withdrawn OR EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'line' AND w.fact = o.id) AS withdrawn
    FROM job_lines o WHERE NOT EXISTS (SELECT 1 FROM job_lines n WHERE n.replaces = o.id);
DROP VIEW job_parts_now;
CREATE VIEW job_parts_now AS SELECT id, entry, replaces, job, part, turn, line, name, number, maker, equivalents, qty, cost_cents, place,
    withdrawn OR EXISTS (SELECT 1 FROM withdrawals w WHERE w.sort = 'part' AND w.fact = o.id) AS withdrawn
    FROM job_parts o WHERE NOT EXISTS (SELECT 1 FROM job_parts n WHERE n.replaces = o.id);

DROP TRIGGER jobs_bench;
DROP VIEW checks_now;
CREATE VIEW checks_now AS
SELECT c.*, ifnull(a.result, '') AS result,
    a.result IS NULL OR (c.kind = 'bench' AND a.result = 'not ok') AS open
FROM checks c
LEFT JOIN check_answers a ON a.id = (SELECT l.id FROM check_answers_now l WHERE l.check_no = c.check_no ORDER BY l.answered_at DESC, l.id DESC LIMIT 1)
WHERE NOT EXISTS (SELECT 1 FROM checks n WHERE n.replaces = c.id);
-- +goose StatementBegin
CREATE TRIGGER jobs_bench BEFORE INSERT ON jobs
WHEN NEW.state = 'handed over' AND NEW.override_why = ''
    AND ifnull((SELECT o.state FROM jobs o WHERE o.id = NEW.replaces), '') <> 'handed over'
    AND EXISTS (SELECT 1 FROM checks_now c WHERE c.job = NEW.job AND c.turn = NEW.turn AND c.kind = 'bench' AND c.open)
BEGIN SELECT RAISE(ABORT, 'a bench check is open'); END;
-- +goose StatementEnd
