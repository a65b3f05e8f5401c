-- On whose word things stand: since when and as whom a seat's holder has it, and which key set an address.

-- Number of the event since which the seat's holder has it: what was sealed for its side before is not open to them. 0 for
-- those who had their seat before this was kept.
ALTER TABLE seats ADD COLUMN reads_after BIGINT NOT NULL DEFAULT 0;

-- Whether the seat's holder called as an organiser when they took it: an organiser who plays does not rule unasked.
ALTER TABLE seats ADD COLUMN by_organiser BOOLEAN NOT NULL DEFAULT FALSE;

-- Id of the key that set the address; the key that renews it inherits it. NULL for those set before this was kept.
ALTER TABLE notice_addresses ADD COLUMN set_by TEXT;
CREATE INDEX notice_addresses_by_key ON notice_addresses (set_by) WHERE set_by IS NOT NULL;

-- There is a row while the secrets of all games must be renewed before anybody plays on: the database is a copy on which
-- no server has run yet, and whoever saw the games go on beyond it knows secrets that are still to be used.
CREATE TABLE copies (
    made_at TEXT NOT NULL PRIMARY KEY, -- RFC 3339, UTC
    why TEXT NOT NULL                  -- told in the records of the games
);
