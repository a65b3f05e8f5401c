-- Where seats want to hear of their games, and what is still to be told them.

-- An address of a seat. Shown to its own seat and to nobody else.
CREATE TABLE notice_addresses (
    id TEXT NOT NULL PRIMARY KEY,      -- 16 hexadecimal digits, new whenever an address is set
    seat TEXT NOT NULL REFERENCES seats (id),
    way TEXT NOT NULL,                 -- 'mail' or 'webhook'
    address TEXT NOT NULL,             -- an e-mail address or a URL; empty once it was taken back
    topics TEXT NOT NULL,              -- what is told there: names with a blank between
    secret BLOB NOT NULL,              -- 32 random bytes: signs webhooks, or makes the links that stop mails;
                                       -- empty once the address was taken back
    set_at BIGINT NOT NULL,            -- milliseconds since 1970
    removed_at BIGINT                  -- the same; NULL while it is in use
);
CREATE UNIQUE INDEX notice_addresses_in_use ON notice_addresses (seat, way) WHERE removed_at IS NULL;
CREATE INDEX notice_addresses_by_seat ON notice_addresses (seat);

-- What is to be told, and what was: queued in the transaction of what it tells of. No foreign key to
-- addresses: an address taken back at the same moment must not fail a posting.
CREATE TABLE notices (
    address TEXT NOT NULL,             -- id of the address it goes to
    number BIGINT NOT NULL,            -- the event it tells of
    kind TEXT NOT NULL,                -- 'your-turn', 'ended', 'reminder-3' …
    since BIGINT NOT NULL,             -- the news in it begin after this event
    words TEXT NOT NULL,               -- said besides; may be empty
    way TEXT NOT NULL,                 -- the address's
    queued_at BIGINT NOT NULL,         -- milliseconds since 1970
    due_at BIGINT,                     -- when it may be tried next; NULL once it was told or given up
    tries BIGINT NOT NULL,             -- how often it was taken to be told
    told_at BIGINT,                    -- when it was told
    dead_at BIGINT,                    -- when it was given up
    trouble TEXT,                      -- why the last try failed; names no address
    PRIMARY KEY (address, number, kind)
);
CREATE INDEX notices_due ON notices (due_at) WHERE due_at IS NOT NULL;
CREATE INDEX notices_dead ON notices (address, number, kind) WHERE dead_at IS NOT NULL;
