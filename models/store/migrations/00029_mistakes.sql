-- An owner, a contact or a machine that was written down by mistake is taken
-- back by a version that says why: it counts nowhere, and its id and addresses
-- stay known. Whoever says it again writes a version after that.

-- +goose Up

ALTER TABLE owners ADD COLUMN withdrawn TEXT NOT NULL DEFAULT '';
ALTER TABLE owners ADD COLUMN withdrawn_by TEXT NOT NULL DEFAULT '';
DROP VIEW owners_now;
CREATE VIEW owners_last AS SELECT * FROM owners o WHERE NOT EXISTS (SELECT 1 FROM owners n WHERE n.replaces = o.id);
CREATE VIEW owners_now AS SELECT * FROM owners_last WHERE withdrawn = '';

ALTER TABLE contacts ADD COLUMN withdrawn TEXT NOT NULL DEFAULT '';
ALTER TABLE contacts ADD COLUMN withdrawn_by TEXT NOT NULL DEFAULT '';
DROP VIEW contacts_now;
CREATE VIEW contacts_last AS SELECT * FROM contacts o WHERE NOT EXISTS (SELECT 1 FROM contacts n WHERE n.replaces = o.id);
CREATE VIEW contacts_now AS SELECT * FROM contacts_last WHERE withdrawn = '';

ALTER TABLE machines ADD COLUMN withdrawn TEXT NOT NULL DEFAULT '';
ALTER TABLE machines ADD COLUMN withdrawn_by TEXT NOT NULL DEFAULT '';
DROP VIEW machines_now;
CREATE VIEW machines_last AS SELECT * FROM machines o WHERE NOT EXISTS (SELECT 1 FROM machines n WHERE n.replaces = o.id);
CREATE VIEW machines_now AS SELECT * FROM machines_last WHERE withdrawn = '';
