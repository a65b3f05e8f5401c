-- The first tables of a post office: games, their records, seats, keys, and what must stay sealed.
-- A migration that has been released is never edited; a later one changes what it made.

-- A game's card: what lists and checks need without folding the record. Everything here but
-- open_to_all can be made again from the record.
CREATE TABLE games (
    id BYTEA NOT NULL PRIMARY KEY,      -- 16 bytes (UUID version 7, so that ids sort by opening)
    name TEXT NOT NULL,                -- the scenario's name
    opened_at TEXT NOT NULL,           -- RFC 3339, UTC
    open_to_all BOOLEAN NOT NULL,      -- whether spectators may read without a key
    head_number BIGINT NOT NULL,       -- number of the last event; two postings race on this column
    head_hash BYTEA NOT NULL,           -- its hash, 32 bytes: the game's ETag
    game_turns BIGINT NOT NULL,        -- how many the scenario lasts
    player_turn BIGINT NOT NULL,       -- the player turn being played, both sides' counted from 1
    to_move TEXT,                      -- key of the side to post next; NULL once the game has ended
    ending TEXT                        -- how it ended, JSON; NULL while it goes on
);

-- The record: appended, never changed, never deleted.
CREATE TABLE events (
    game BYTEA NOT NULL REFERENCES games (id),
    number BIGINT NOT NULL,            -- from 1, without gaps
    previous BYTEA NOT NULL,            -- hash of the event before, 32 bytes; zeros for the first
    hash BYTEA NOT NULL,                -- SHA-256 over a prefix and body, 32 bytes
    body TEXT NOT NULL,                -- the entry in canonical JSON (RFC 8785): the very bytes hashed
    at TEXT NOT NULL,                  -- when it was appended, RFC 3339, UTC; stands in body too
    PRIMARY KEY (game, number)
);

-- Places at the table. A side may come to have several.
CREATE TABLE seats (
    id TEXT NOT NULL PRIMARY KEY,      -- 16 hexadecimal digits
    game BYTEA NOT NULL REFERENCES games (id),
    place BIGINT NOT NULL,             -- order among the game's seats, from 0
    role TEXT NOT NULL,                -- 'player'
    side TEXT NOT NULL,                -- key of the side it plays
    side_name TEXT NOT NULL,           -- the side's name in the scenario
    player TEXT,                       -- the name the player goes by; NULL until the seat is taken
    taken_at TEXT,                     -- RFC 3339, UTC; NULL until then
    UNIQUE (game, place)
);

-- Invitations to a seat: each works once, until it expires or a newer one voids it.
CREATE TABLE invitations (
    id TEXT NOT NULL PRIMARY KEY,      -- the part of the invitation before the dot
    seat TEXT NOT NULL REFERENCES seats (id),
    secret_hash BYTEA NOT NULL,         -- SHA-256 of the part after it, 32 bytes
    issued_at TEXT NOT NULL,           -- RFC 3339, UTC
    expires_at TEXT NOT NULL,          -- RFC 3339, UTC
    used_at TEXT,                      -- when a seat was taken with it
    voided_at TEXT                     -- when a newer one took its place
);
CREATE INDEX invitations_by_seat ON invitations (seat);

-- Keys of callers. Only hashes: a key that is lost cannot be shown again.
CREATE TABLE keys (
    id TEXT NOT NULL PRIMARY KEY,      -- the part of the key before the dot
    secret_hash BYTEA NOT NULL,         -- SHA-256 of the part after it, 32 bytes
    role TEXT NOT NULL,                -- 'organiser' or 'seat'
    seat TEXT REFERENCES seats (id),   -- for role 'seat'
    invitation TEXT REFERENCES invitations (id), -- the invitation it was given for
    salt BYTEA,                         -- with the invitation's secret and the taker's idempotency key this
                                       -- makes the key's secret again, so that a lost answer can be repeated
    made_at TEXT NOT NULL,             -- RFC 3339, UTC
    revoked_at TEXT                    -- from when on it opens nothing
);
CREATE UNIQUE INDEX keys_by_invitation ON keys (invitation) WHERE invitation IS NOT NULL;

-- The secret behind the dice of the player turn to come. It goes when it is used: from then on the record shows it.
CREATE TABLE dice_secrets (
    game BYTEA NOT NULL REFERENCES games (id),
    player_turn BIGINT NOT NULL,       -- the player turn it is for
    secret BYTEA NOT NULL,              -- 32 random bytes, committed to in the record
    PRIMARY KEY (game, player_turn)
);

-- Standing instructions whose seals stand in the record; opened there when the game ends.
CREATE TABLE sealed_instructions (
    game BYTEA NOT NULL REFERENCES games (id),
    number BIGINT NOT NULL,            -- number of the event that holds the seal
    side TEXT NOT NULL,                -- whose
    nonce BYTEA NOT NULL,               -- 32 random bytes
    body TEXT NOT NULL,                -- the instructions in canonical JSON
    PRIMARY KEY (game, number)
);

-- Answers to accepted postings, given again when the same posting comes again.
CREATE TABLE answers (
    key TEXT NOT NULL REFERENCES keys (id),
    idempotency_key TEXT NOT NULL,     -- as the caller sent it
    request_hash BYTEA NOT NULL,        -- SHA-256 of what was asked, 32 bytes
    status BIGINT NOT NULL,            -- HTTP status of the answer
    body TEXT NOT NULL,                -- the answer
    at TEXT NOT NULL,                  -- RFC 3339, UTC
    PRIMARY KEY (key, idempotency_key)
);
