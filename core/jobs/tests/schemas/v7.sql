-- Jobs of one unit: a unit comes back for years.
CREATE INDEX job_unit ON job (iif(json_valid(summary), summary ->> '$.unit', ''), last DESC, id DESC);
