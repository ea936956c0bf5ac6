-- What waits for an answer of the office: it stands before all else in the office's list, however old it is.
CREATE INDEX job_unanswered ON job (last, id)
    WHERE iif(json_valid(summary), summary ->> '$.unanswered', 0) > 0;

-- Rows of a list as they were figured. Nothing rests on them: they are made anew when they are not there.
CREATE TABLE kept_row (
    job       BLOB NOT NULL PRIMARY KEY,
    n         INTEGER NOT NULL,   -- the job's newest entry when it was figured
    made_with TEXT NOT NULL,      -- which values and rules it was figured with
    json      TEXT NOT NULL
) STRICT;
