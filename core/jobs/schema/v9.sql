-- Looking for words reads what jobs are found by off this index alone, the newest first, not off all that jobs hold.
DROP INDEX job_last;
CREATE INDEX job_last ON job (last, id, find);
