-- Addresses are compared whatever the case of their letters, and a round asks
-- for the last reply of each owner: indexes by which both are found.

-- +goose Up
DROP INDEX contacts_mail;
CREATE INDEX contacts_mail ON contacts (mail COLLATE NOCASE) WHERE mail <> '';
DROP INDEX messages_address;
CREATE INDEX messages_address ON messages (address COLLATE NOCASE, channel, state);
DROP INDEX replies_sender;
CREATE INDEX replies_sender ON replies (sender COLLATE NOCASE, id);
CREATE INDEX replies_owner ON replies (owner, received_at) WHERE automatic = 0;
