-- What is written to find out whether anything can be.

-- One row at most, written anew each time; it means nothing and may be deleted.
CREATE TABLE probes (
    id BIGINT NOT NULL PRIMARY KEY,    -- 1
    filling BYTEA NOT NULL              -- random bytes
);
