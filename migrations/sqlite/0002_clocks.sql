-- When to look at a game's clock next: a reminder, or the time that is out. Everything else about a
-- clock is in the record; this can be made again from it.
CREATE TABLE clocks (
    game BLOB NOT NULL PRIMARY KEY REFERENCES games (id),
    wakes_at BIGINT NOT NULL           -- seconds since 1970, UTC
);
CREATE INDEX clocks_by_waking ON clocks (wakes_at);
