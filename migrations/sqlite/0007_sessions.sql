-- Sessions of the page: what a browser holds in place of keys.

-- Only the hash of the cookie is kept. A session without keys is gone.
CREATE TABLE sessions (
    id TEXT NOT NULL PRIMARY KEY,      -- the part of the cookie before the dot
    secret_hash BLOB NOT NULL,         -- SHA-256 of the part after it, 32 bytes
    device TEXT NOT NULL,              -- what its holder calls the device; may be empty
    started_at BIGINT NOT NULL,        -- milliseconds since 1970
    used_at BIGINT NOT NULL            -- the same, kept to the day
);
CREATE INDEX sessions_by_use ON sessions (used_at);

-- The keys that a session holds: it opens what they open, as long as they do.
CREATE TABLE session_keys (
    session TEXT NOT NULL REFERENCES sessions (id),
    key TEXT NOT NULL REFERENCES keys (id),
    PRIMARY KEY (session, key)
);
CREATE INDEX session_keys_by_key ON session_keys (key);

-- Links by which another device gets a session with the same keys: each works once, and not for long.
CREATE TABLE device_links (
    id TEXT NOT NULL PRIMARY KEY,      -- the part of the link's secret before the dot
    secret_hash BLOB NOT NULL,         -- SHA-256 of the part after it, 32 bytes
    session TEXT NOT NULL REFERENCES sessions (id),
    expires_at BIGINT NOT NULL         -- milliseconds since 1970; a link that is used is deleted
);
CREATE INDEX device_links_by_session ON device_links (session);
