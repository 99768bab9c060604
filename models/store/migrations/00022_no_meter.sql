-- A machine may have no meter at all. Only the check of the column changes and
-- nothing that is stored, so the schema's text is changed in place, as
-- https://www.sqlite.org/lang_altertable.html (7) has it.

-- +goose Up
PRAGMA writable_schema = ON;
UPDATE sqlite_schema SET sql = replace(sql, '''both_km'')', '''both_km'', ''none'')') WHERE type = 'table' AND name = 'machines';
PRAGMA writable_schema = RESET;
