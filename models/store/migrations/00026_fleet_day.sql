-- A line of the fleet says of which day and of which facts its urgency is, and
-- is found by the telephone numbers of the owner's people.

-- +goose Up

ALTER TABLE fleet_lines ADD COLUMN day TEXT NOT NULL DEFAULT '';
ALTER TABLE fleet_lines ADD COLUMN entry INTEGER NOT NULL DEFAULT 0;
CREATE INDEX fleet_lines_day ON fleet_lines (day);
UPDATE fleet_lines SET words = words || ' ' || p.numbers
FROM (SELECT owner, group_concat(substr(mobile, 2), ' ') AS numbers FROM contacts_now WHERE mobile <> '' GROUP BY owner) p
WHERE p.owner = fleet_lines.owner;
