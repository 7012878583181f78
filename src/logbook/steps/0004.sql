-- What was measured is kept, so that another model needs no photo measured again.
CREATE TABLE measures (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  photo BLOB NOT NULL REFERENCES photo (id),
  reading BLOB NOT NULL CHECK (length(reading) = 16),
  measuring_version INTEGER NOT NULL,
  measures TEXT NOT NULL CHECK (json_valid(measures))
) STRICT;
CREATE INDEX measures_supersedes ON measures (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX measures_of ON measures (of);
CREATE INDEX measures_photo ON measures (photo);
