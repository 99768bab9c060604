-- The thermostat and the coolant temperature sensor are tested at their
-- interval, and their change has an id of its own. What was recorded under the
-- old ids was a change. Their meaning is kept by giving those rows the id that
-- now says so; a change counts for the test too.

-- +goose Up

DROP TRIGGER services_no_update;
UPDATE services SET item = item || '_change' WHERE item IN ('thermostat', 'ect_sensor');
-- +goose StatementBegin
CREATE TRIGGER services_no_update BEFORE UPDATE ON services BEGIN SELECT RAISE(ABORT, 'facts are written once: services'); END;
-- +goose StatementEnd

DROP TRIGGER job_lines_no_update;
UPDATE job_lines SET item = item || '_change' WHERE item IN ('thermostat', 'ect_sensor');
-- +goose StatementBegin
CREATE TRIGGER job_lines_no_update BEFORE UPDATE ON job_lines BEGIN SELECT RAISE(ABORT, 'facts are written once: job_lines'); END;
-- +goose StatementEnd

-- What came apart for the change still does; it has no limit of its own.
INSERT INTO rules (entry, kind, make, model, machine, item, months, first_months, lead_days, parts_days, by_day, teardown, work_min, access_min, origin, note, retired)
SELECT entry, kind, make, model, machine, item || '_change', 0, 0, 0, parts_days, '', teardown, work_min, access_min, origin, note, 0
FROM rules_now WHERE retired = 0 AND teardown <> '' AND item IN ('thermostat', 'ect_sensor');

-- A test opens nothing: the shipped rules say so. A shop's own stand as written.
INSERT INTO rules (entry, replaces, kind, make, model, machine, item, miles, hours, months, first_miles, first_hours, first_months,
    severe_factor, lead_days, parts_days, by_day, teardown, work_min, access_min, origin, note, retired)
SELECT entry, id, kind, make, model, machine, item, miles, hours, months, first_miles, first_hours, first_months,
    severe_factor, 0, 0, by_day, '', iif(item = 'thermostat', 30, 15), 0, origin, note, 0
FROM rules_now WHERE retired = 0 AND origin = 'shipped' AND item IN ('thermostat', 'ect_sensor');
