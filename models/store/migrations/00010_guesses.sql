-- A reading may be a guess: how far its one value may be off on either side.

-- +goose Up
ALTER TABLE readings ADD COLUMN width REAL CHECK (width IS NULL OR width > 0 AND (miles IS NULL OR hours IS NULL));
DROP INDEX readings_same;
CREATE UNIQUE INDEX readings_same ON readings (machine, at, ifnull(miles, -1), ifnull(hours, -1), source, ifnull(width, 0));
