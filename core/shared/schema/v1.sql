-- What the receivers of one office share. Whoever writes into entry or kept holds the advisory lock of this database,
-- so that numbers have no gap and are seen in their order.

-- One row: the device in whose name all receivers write. It names this database too.
CREATE TABLE office (
    one    boolean PRIMARY KEY DEFAULT true CHECK (one),
    device uuid NOT NULL
);
INSERT INTO office (device) VALUES (gen_random_uuid());

CREATE TABLE entry (
    n      bigint PRIMARY KEY CHECK (n > 0),
    id     uuid NOT NULL UNIQUE,
    job    uuid NOT NULL,
    device uuid NOT NULL,
    seq    bigint NOT NULL,
    json   text NOT NULL,               -- the whole entry
    UNIQUE (device, seq)
);

-- Rows of the other shared tables as they are now: settings, people, sessions, what is kept apart, who looked how far.
CREATE TABLE kept (
    place text NOT NULL,                -- the table
    key   text NOT NULL,
    json  text,                         -- all columns; null: the row is gone
    n     bigint NOT NULL UNIQUE,       -- counts changes; a changed row gets the next number
    PRIMARY KEY (place, key)
);

-- Photos that are in the object store. The row comes after the object.
CREATE TABLE photo (
    sha256 text PRIMARY KEY,
    bytes  bigint NOT NULL,
    came   timestamptz NOT NULL DEFAULT now()
);

-- Photos that are still arriving, in their parts.
CREATE TABLE upload (
    sha256  text PRIMARY KEY,
    bytes   bigint NOT NULL,
    arrived bigint NOT NULL DEFAULT 0,
    last    timestamptz NOT NULL DEFAULT now()
);
CREATE TABLE upload_part (
    sha256 text NOT NULL REFERENCES upload ON DELETE CASCADE,
    at     bigint NOT NULL,
    data   bytea NOT NULL,
    PRIMARY KEY (sha256, at)
);
ALTER TABLE upload_part ALTER COLUMN data SET STORAGE EXTERNAL;
