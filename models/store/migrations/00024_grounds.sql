-- What a date counts from may be only a look or a guess: it is told as that.

-- +goose Up

ALTER TABLE forecasts ADD COLUMN last_by TEXT NOT NULL DEFAULT '';
ALTER TABLE notices ADD COLUMN last_by TEXT NOT NULL DEFAULT '';
