-- A receipt may be quicker than the answer to the try that it is about: it is
-- kept until that comes. Not facts: a row goes when it is taken up, or after
-- some days.

-- +goose Up
CREATE TABLE early_receipts (
    id       INTEGER PRIMARY KEY,
    at       INTEGER NOT NULL,
    peer_ids TEXT NOT NULL, -- a JSON list: the forms in which the id may have been recorded
    said     TEXT NOT NULL,
    fate     TEXT NOT NULL CHECK (fate IN ('', 'delivered', 'undelivered'))
) STRICT;
