-- Members of a club, keys that are renewed, seats for umpires and spectators, news that spectators get later.

-- Those who have a key of their own in this office, whichever seats they take.
CREATE TABLE members (
    id TEXT NOT NULL PRIMARY KEY,      -- 16 hexadecimal digits
    name TEXT NOT NULL,                -- the name they go by
    role TEXT NOT NULL,                -- 'organiser' or 'member'
    joined_at TEXT NOT NULL,           -- RFC 3339, UTC
    left_at TEXT                       -- when they were removed; NULL while they belong to the club
);

-- A member's key has the role 'member'.
ALTER TABLE keys ADD COLUMN member TEXT REFERENCES members (id);
-- The id of the key that this one took the place of; salt then makes it again from that one's secret. (No
-- reference: a table that refers to itself could not be copied row by row.)
ALTER TABLE keys ADD COLUMN renews TEXT;
CREATE UNIQUE INDEX keys_by_renewed ON keys (renews) WHERE renews IS NOT NULL;
CREATE INDEX keys_by_member ON keys (member) WHERE member IS NOT NULL;
CREATE INDEX keys_by_seat ON keys (seat) WHERE seat IS NOT NULL;

-- The member who took the seat with their key, whose key then opens it too. The role of a seat may now also
-- be 'umpire' or 'spectator', whose side and side_name are empty.
ALTER TABLE seats ADD COLUMN member TEXT REFERENCES members (id);
CREATE INDEX seats_by_member ON seats (member) WHERE member IS NOT NULL;

-- Minutes after which spectators see what happened.
ALTER TABLE games ADD COLUMN spectator_delay_minutes BIGINT NOT NULL DEFAULT 0;
