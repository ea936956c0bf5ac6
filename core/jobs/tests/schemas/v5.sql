-- Which jobs name a photo, read off their entries: the room that a photo takes may go only when all of them may.
CREATE TABLE photo_job (
    sha256 TEXT NOT NULL,
    job    BLOB NOT NULL,
    PRIMARY KEY (sha256, job)
) STRICT, WITHOUT ROWID;
INSERT OR IGNORE INTO photo_job (sha256, job)
    SELECT json ->> '$.what.sha256', job FROM entry
    WHERE iif(json_valid(json), json ->> '$.what.change.added.bytes', NULL) IS NOT NULL;
