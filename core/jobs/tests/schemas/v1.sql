-- Entries are the truth; job is read off them and can be rebuilt. Ids are the 16 bytes of a UUID.

CREATE TABLE entry (
    n       INTEGER PRIMARY KEY,            -- in the order they came to this store
    id      BLOB NOT NULL UNIQUE,
    job     BLOB NOT NULL,
    device  BLOB NOT NULL,
    seq     INTEGER NOT NULL,
    at      TEXT NOT NULL,
    kind    TEXT NOT NULL,
    json    TEXT NOT NULL,                  -- the whole entry
    UNIQUE (device, seq)
) STRICT;
CREATE INDEX entry_job ON entry (job);

-- What the yard list shows.
CREATE TABLE job (
    id      BLOB NOT NULL PRIMARY KEY,
    last    TEXT NOT NULL DEFAULT '',       -- greatest `at` of its entries
    find    TEXT NOT NULL DEFAULT '',       -- lower-case text that it is found by
    summary TEXT NOT NULL DEFAULT ''        -- JSON of store::Summary, without what waits in the outbox
) STRICT;
CREATE INDEX job_last ON job (last, id);

-- What goes to the office. kind: 0 photo, 1 entry. state: 0 waiting, 1 on the way, 2 arrived, 3 stuck.
CREATE TABLE outbox (
    n        INTEGER PRIMARY KEY,
    kind     INTEGER NOT NULL CHECK (kind IN (0, 1)),
    job      BLOB NOT NULL,
    entry    BLOB NOT NULL,                 -- the entry, or the one that names the photo
    sha256   TEXT NOT NULL DEFAULT '',      -- of the photo, or of the photo that the entry waits for
    bytes    INTEGER NOT NULL DEFAULT 0,
    state    INTEGER NOT NULL DEFAULT 0 CHECK (state BETWEEN 0 AND 3),
    why      TEXT NOT NULL DEFAULT '',      -- why it is stuck, or why it is tried later
    tries    INTEGER NOT NULL DEFAULT 0,
    next_try INTEGER NOT NULL DEFAULT 0     -- milliseconds since 1970
) STRICT;
CREATE INDEX outbox_open ON outbox (kind, n) WHERE state <> 2;
CREATE UNIQUE INDEX outbox_photo ON outbox (sha256) WHERE kind = 0;

-- Counts and bytes, so that nothing counts a million rows to show a number.
CREATE TABLE outbox_sum (
    job   BLOB NOT NULL,
    kind  INTEGER NOT NULL,
    state INTEGER NOT NULL,
    items INTEGER NOT NULL DEFAULT 0,
    bytes INTEGER NOT NULL DEFAULT 0,
    PRIMARY KEY (job, kind, state)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER outbox_in AFTER INSERT ON outbox BEGIN
    INSERT INTO outbox_sum (job, kind, state, items, bytes) VALUES (new.job, new.kind, new.state, 1, new.bytes)
        ON CONFLICT DO UPDATE SET items = items + 1, bytes = bytes + excluded.bytes;
END;
CREATE TRIGGER outbox_moved AFTER UPDATE OF state ON outbox WHEN old.state <> new.state BEGIN
    UPDATE outbox_sum SET items = items - 1, bytes = bytes - old.bytes
        WHERE job = old.job AND kind = old.kind AND state = old.state;
    INSERT INTO outbox_sum (job, kind, state, items, bytes) VALUES (new.job, new.kind, new.state, 1, new.bytes)
        ON CONFLICT DO UPDATE SET items = items + 1, bytes = bytes + excluded.bytes;
END;

CREATE TABLE setting (
    key  TEXT NOT NULL PRIMARY KEY,
    json TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE person (
    id          BLOB NOT NULL PRIMARY KEY,
    name        TEXT NOT NULL,
    roles       TEXT NOT NULL,              -- JSON list
    may_release INTEGER NOT NULL DEFAULT 0,
    pin_hash    TEXT NOT NULL DEFAULT '',   -- argon2id, empty: no PIN
    wrong       INTEGER NOT NULL DEFAULT 0, -- wrong tries since the last right one
    wait_until  INTEGER NOT NULL DEFAULT 0  -- milliseconds since 1970
) STRICT, WITHOUT ROWID;

-- The device that writes here, and those whose entries came in.
CREATE TABLE device (
    id   BLOB NOT NULL PRIMARY KEY,
    ours INTEGER NOT NULL DEFAULT 0,
    name TEXT NOT NULL DEFAULT ''
) STRICT, WITHOUT ROWID;
