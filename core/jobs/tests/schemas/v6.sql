-- The office's list by the day a unit is promised for. open: 1 open, 0 the unit left, -1 let go after its keeping time.
-- due: the day as text, '~' without one, so that it sorts last. figured: what the row was figured with, '' if it is
-- not, or not any more.
ALTER TABLE job ADD COLUMN open INTEGER NOT NULL DEFAULT 1;
ALTER TABLE job ADD COLUMN due TEXT NOT NULL DEFAULT '~';
ALTER TABLE job ADD COLUMN figured TEXT NOT NULL DEFAULT '';
CREATE INDEX job_due ON job (open, due, last DESC, id);
CREATE INDEX job_left ON job (open, last, id);
CREATE INDEX job_figured ON job (open, figured);
ALTER TABLE kept_row ADD COLUMN due TEXT NOT NULL DEFAULT '~';

-- Qualifications with their dates and the end of somebody's time here, as JSON of people::More; and the password of
-- the office's own door (argon2id, empty: none), which never goes to a phone.
ALTER TABLE person ADD COLUMN more TEXT NOT NULL DEFAULT '';
ALTER TABLE person ADD COLUMN password_hash TEXT NOT NULL DEFAULT '';

-- What a phone sent after it was taken back: kept apart until a supervisor takes it in. Never deleted unseen.
CREATE TABLE apart (
    n      INTEGER PRIMARY KEY,
    id     BLOB NOT NULL UNIQUE,
    device BLOB NOT NULL,
    job    BLOB NOT NULL,
    json   TEXT NOT NULL,
    at     INTEGER NOT NULL            -- milliseconds since 1970, when it came
) STRICT;
CREATE INDEX apart_device ON apart (device, n);

-- How far somebody has looked at a job: the number of its newest entry then.
CREATE TABLE seen (
    job    BLOB NOT NULL,
    person BLOB NOT NULL,
    n      INTEGER NOT NULL,
    PRIMARY KEY (job, person)
) STRICT, WITHOUT ROWID;
