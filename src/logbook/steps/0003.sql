-- Rounds of slides that are read blind: by a second reader, and for practice.
CREATE TABLE blind_round (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  reader TEXT NOT NULL,
  seed INTEGER NOT NULL,
  clear_share REAL NOT NULL,
  marked INTEGER NOT NULL,
  clear INTEGER NOT NULL,
  slides TEXT NOT NULL CHECK (json_valid(slides)),
  sent TEXT,
  key TEXT,
  note TEXT
) STRICT;
CREATE INDEX blind_round_supersedes ON blind_round (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX blind_round_of ON blind_round (of);

CREATE TABLE practice_round (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  reader TEXT NOT NULL,
  ended_utc_ms INTEGER NOT NULL,
  ended_offset_min INTEGER NOT NULL CHECK (ended_offset_min BETWEEN -1560 AND 1560),
  seed INTEGER NOT NULL,
  painted INTEGER NOT NULL CHECK (painted IN (0, 1)),
  slides TEXT NOT NULL CHECK (json_valid(slides)),
  certificate TEXT
) STRICT;
CREATE INDEX practice_round_supersedes ON practice_round (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX practice_round_of ON practice_round (of);
