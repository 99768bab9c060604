-- How often a contact wants to hear of what can wait.

-- +goose Up

ALTER TABLE contacts ADD COLUMN rhythm TEXT NOT NULL DEFAULT '';
