-- Who is signed in at the office's pages: the SHA-256 of the cookie, the person, and when it last asked (milliseconds
-- since 1970, to some minutes). In the store, so that a restart or another receiver of the same office knows them too.
CREATE TABLE session (
    hash   TEXT NOT NULL PRIMARY KEY,
    person BLOB NOT NULL,
    asked  INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
