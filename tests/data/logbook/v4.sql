-- A logbook as the first program with step 4 wrote it. Never changed: later programs must open it.

-- The logbook, steps 1 and 2.
--
-- Rows are written once and never changed. A thing is known by the id of its first row (of = id);
-- a later row of the same thing names the one it supersedes. Two more tables belong to this file
-- alone and are never merged: logbook (one row) and upkeep.

CREATE TABLE logbook (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  farm TEXT NOT NULL,
  made_at_utc_ms INTEGER NOT NULL,
  made_at_offset_min INTEGER NOT NULL,
  needs_program TEXT NOT NULL,
  keeps_rollback_journal INTEGER NOT NULL CHECK (keeps_rollback_journal IN (0, 1)),
  sequence INTEGER NOT NULL
) STRICT;

CREATE TABLE upkeep (
  at_utc_ms INTEGER NOT NULL,
  at_offset_min INTEGER NOT NULL,
  by TEXT NOT NULL,
  kind TEXT NOT NULL,
  detail TEXT NOT NULL
) STRICT;

CREATE TABLE origin (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  farm TEXT NOT NULL
) STRICT;

CREATE TABLE reader (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  name TEXT NOT NULL,
  note TEXT
) STRICT;
CREATE INDEX reader_supersedes ON reader (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX reader_of ON reader (of);

CREATE TABLE microscope (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  name TEXT NOT NULL,
  camera TEXT,
  objective TEXT,
  um_per_px REAL NOT NULL,
  error_um_per_px REAL,
  division_um REAL,
  photo_hash TEXT,
  calibrated_utc_ms INTEGER,
  calibrated_offset_min INTEGER CHECK (calibrated_offset_min BETWEEN -1560 AND 1560),
  note TEXT,
  CHECK ((calibrated_utc_ms IS NULL) = (calibrated_offset_min IS NULL))
) STRICT;
CREATE INDEX microscope_supersedes ON microscope (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX microscope_of ON microscope (of);

CREATE TABLE pond (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  name TEXT NOT NULL,
  system TEXT,
  area_m2 REAL,
  species TEXT,
  time_zone TEXT,
  soft_limit REAL,
  moulting_limit REAL,
  due_limit REAL,
  confidence REAL,
  cycle_days REAL,
  q10 REAL,
  cycle_cv REAL,
  note TEXT
) STRICT;
CREATE INDEX pond_supersedes ON pond (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX pond_of ON pond (of);

CREATE TABLE sample (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  pond BLOB NOT NULL REFERENCES pond (id),
  netted_utc_ms INTEGER NOT NULL,
  netted_offset_min INTEGER NOT NULL CHECK (netted_offset_min BETWEEN -1560 AND 1560),
  catch TEXT NOT NULL CHECK (catch IN ('net', 'feed_tray')),
  gear TEXT,
  stations INTEGER,
  throws INTEGER,
  animals_wanted INTEGER,
  mean_weight_g REAL,
  water_c REAL,
  shed_shells TEXT CHECK (shed_shells IN ('none', 'few', 'many')),
  feed_left TEXT CHECK (feed_left IN ('none', 'few', 'many')),
  rain INTEGER NOT NULL CHECK (rain IN (0, 1)),
  lime INTEGER NOT NULL CHECK (lime IN (0, 1)),
  water_change INTEGER NOT NULL CHECK (water_change IN (0, 1)),
  harvest_start_utc_ms INTEGER,
  harvest_start_offset_min INTEGER CHECK (harvest_start_offset_min BETWEEN -1560 AND 1560),
  drain_hours REAL,
  note TEXT,
  CHECK ((harvest_start_utc_ms IS NULL) = (harvest_start_offset_min IS NULL))
) STRICT;
CREATE INDEX sample_supersedes ON sample (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX sample_of ON sample (of);
CREATE INDEX sample_pond ON sample (pond);

CREATE TABLE animal (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  sample BLOB NOT NULL REFERENCES sample (id),
  name TEXT NOT NULL,
  position INTEGER NOT NULL,
  station TEXT,
  throw INTEGER,
  shell TEXT,
  note TEXT
) STRICT;
CREATE INDEX animal_supersedes ON animal (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX animal_of ON animal (of);
CREATE INDEX animal_sample ON animal (sample);

CREATE TABLE photo (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  sample BLOB NOT NULL REFERENCES sample (id),
  animal BLOB REFERENCES animal (id),
  position INTEGER NOT NULL,
  hash TEXT NOT NULL,
  name TEXT NOT NULL,
  bytes INTEGER NOT NULL,
  width_px INTEGER,
  height_px INTEGER,
  keeping TEXT NOT NULL CHECK (keeping IN ('copied', 'linked')),
  link TEXT,
  um_per_px REAL,
  scale_source TEXT NOT NULL,
  microscope BLOB REFERENCES microscope (id),
  branch TEXT,
  side TEXT,
  site TEXT,
  mount TEXT,
  minutes_since_clipping REAL,
  note TEXT
) STRICT;
CREATE INDEX photo_supersedes ON photo (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX photo_of ON photo (of);
CREATE INDEX photo_sample ON photo (sample);
CREATE INDEX photo_animal ON photo (animal);
CREATE INDEX photo_hash ON photo (hash);

CREATE TABLE reading (
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
  reading TEXT NOT NULL CHECK (json_valid(reading)),
  program TEXT NOT NULL,
  measuring_version INTEGER NOT NULL,
  model TEXT,
  author TEXT,
  based_on BLOB CHECK (length(based_on) = 16)
) STRICT;
CREATE INDEX reading_supersedes ON reading (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX reading_of ON reading (of);
CREATE INDEX reading_photo ON reading (photo);

CREATE TABLE call (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  animal BLOB NOT NULL REFERENCES animal (id),
  stage TEXT CHECK (stage IN ('A', 'B', 'C', 'D0', 'D1', 'D2', 'D3', 'D4', 'E')),
  unread_because TEXT,
  reader TEXT NOT NULL,
  called_utc_ms INTEGER NOT NULL,
  called_offset_min INTEGER NOT NULL CHECK (called_offset_min BETWEEN -1560 AND 1560),
  reading BLOB CHECK (length(reading) = 16),
  proposal TEXT CHECK (proposal IN ('A', 'B', 'C', 'D0', 'D1', 'D2', 'D3', 'D4', 'E')),
  agreement TEXT NOT NULL CHECK (agreement IN ('agreed', 'changed', 'by_eye')),
  before_proposal INTEGER NOT NULL CHECK (before_proposal IN (0, 1)),
  second_wanted INTEGER NOT NULL CHECK (second_wanted IN (0, 1)),
  note TEXT,
  CHECK (stage IS NULL OR unread_because IS NULL)
) STRICT;
CREATE INDEX call_supersedes ON call (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX call_of ON call (of);
CREATE INDEX call_animal ON call (animal);

CREATE TABLE second_call (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  animal BLOB NOT NULL REFERENCES animal (id),
  stage TEXT CHECK (stage IN ('A', 'B', 'C', 'D0', 'D1', 'D2', 'D3', 'D4', 'E')),
  unread_because TEXT,
  reader TEXT NOT NULL,
  called_utc_ms INTEGER NOT NULL,
  called_offset_min INTEGER NOT NULL CHECK (called_offset_min BETWEEN -1560 AND 1560),
  chosen TEXT,
  note TEXT
) STRICT;
CREATE INDEX second_call_supersedes ON second_call (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX second_call_of ON second_call (of);
CREATE INDEX second_call_animal ON second_call (animal);

CREATE TABLE settlement (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  animal BLOB NOT NULL REFERENCES animal (id),
  call BLOB NOT NULL CHECK (length(call) = 16),
  set_aside BLOB CHECK (length(set_aside) = 16),
  second_call BLOB CHECK (length(second_call) = 16),
  because TEXT NOT NULL
) STRICT;
CREATE INDEX settlement_supersedes ON settlement (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX settlement_of ON settlement (of);
CREATE INDEX settlement_animal ON settlement (animal);
CREATE INDEX settlement_set_aside ON settlement (set_aside);

CREATE TABLE label (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  animal BLOB NOT NULL REFERENCES animal (id),
  photo BLOB REFERENCES photo (id),
  stage TEXT NOT NULL CHECK (stage IN ('A', 'B', 'C', 'D0', 'D1', 'D2', 'D3', 'D4', 'E')),
  evidence TEXT NOT NULL,
  days_since_moult REAL,
  reader TEXT NOT NULL,
  note TEXT
) STRICT;
CREATE INDEX label_supersedes ON label (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX label_of ON label (of);
CREATE INDEX label_animal ON label (animal);
CREATE INDEX label_photo ON label (photo);

CREATE TABLE model (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  name TEXT NOT NULL,
  hash TEXT NOT NULL,
  file TEXT NOT NULL,
  card TEXT
) STRICT;
CREATE INDEX model_supersedes ON model (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX model_of ON model (of);

CREATE TABLE model_use (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  model BLOB REFERENCES model (id),
  because TEXT
) STRICT;
CREATE INDEX model_use_supersedes ON model_use (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX model_use_of ON model_use (of);
CREATE INDEX model_use_model ON model_use (model);

CREATE TABLE verdict (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  sample BLOB NOT NULL REFERENCES sample (id),
  answer TEXT NOT NULL,
  said TEXT NOT NULL,
  harvest_start_utc_ms INTEGER,
  harvest_start_offset_min INTEGER CHECK (harvest_start_offset_min BETWEEN -1560 AND 1560),
  harvest_end_utc_ms INTEGER,
  harvest_end_offset_min INTEGER CHECK (harvest_end_offset_min BETWEEN -1560 AND 1560),
  expires_utc_ms INTEGER,
  expires_offset_min INTEGER CHECK (expires_offset_min BETWEEN -1560 AND 1560),
  details TEXT CHECK (json_valid(details)),
  program TEXT NOT NULL,
  CHECK ((harvest_start_utc_ms IS NULL) = (harvest_start_offset_min IS NULL)),
  CHECK ((harvest_end_utc_ms IS NULL) = (harvest_end_offset_min IS NULL)),
  CHECK ((expires_utc_ms IS NULL) = (expires_offset_min IS NULL))
) STRICT;
CREATE INDEX verdict_supersedes ON verdict (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX verdict_of ON verdict (of);
CREATE INDEX verdict_sample ON verdict (sample);

CREATE TABLE outcome (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  pond BLOB NOT NULL REFERENCES pond (id),
  sample BLOB REFERENCES sample (id),
  harvested_utc_ms INTEGER NOT NULL,
  harvested_offset_min INTEGER NOT NULL CHECK (harvested_offset_min BETWEEN -1560 AND 1560),
  ended_utc_ms INTEGER,
  ended_offset_min INTEGER CHECK (ended_offset_min BETWEEN -1560 AND 1560),
  animals_checked INTEGER,
  soft_found INTEGER,
  harvest_kg REAL,
  refused_kg REAL,
  note TEXT,
  CHECK ((ended_utc_ms IS NULL) = (ended_offset_min IS NULL))
) STRICT;
CREATE INDEX outcome_supersedes ON outcome (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX outcome_of ON outcome (of);
CREATE INDEX outcome_pond ON outcome (pond);
CREATE INDEX outcome_sample ON outcome (sample);

CREATE TABLE setting (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  key TEXT NOT NULL,
  value TEXT NOT NULL CHECK (json_valid(value))
) STRICT;
CREATE INDEX setting_supersedes ON setting (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX setting_of ON setting (of);
CREATE INDEX setting_key ON setting (key);

CREATE TABLE journal (
  id BLOB NOT NULL PRIMARY KEY CHECK (length(id) = 16),
  of BLOB NOT NULL CHECK (length(of) = 16),
  supersedes BLOB CHECK (length(supersedes) = 16),
  withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
  origin BLOB NOT NULL CHECK (length(origin) = 16),
  sequence INTEGER NOT NULL,
  written_at_utc_ms INTEGER NOT NULL,
  written_at_offset_min INTEGER NOT NULL CHECK (written_at_offset_min BETWEEN -1560 AND 1560),
  written_by TEXT NOT NULL,
  kind TEXT NOT NULL,
  about BLOB CHECK (length(about) = 16),
  undoes BLOB CHECK (length(undoes) = 16),
  written TEXT NOT NULL CHECK (json_valid(written))
) STRICT;
CREATE INDEX journal_supersedes ON journal (supersedes) WHERE supersedes IS NOT NULL;

-- Searches look only where there are words.
CREATE INDEX call_noted ON call (id, note) WHERE note IS NOT NULL;
CREATE INDEX animal_noted ON animal (id, note) WHERE note IS NOT NULL;
CREATE INDEX photo_name ON photo (name COLLATE NOCASE);

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

-- The header, and data that every later step must keep.
PRAGMA application_id = 1415670124;
PRAGMA user_version = 4;
INSERT INTO logbook VALUES (X'01990a5c7e1070008000000000000001', 'Frozen farm', 1795561200000, 420, '0.1.0', 0, 9);
INSERT INTO origin VALUES (X'01990a5c7e1070008000000000000001', 'Frozen farm');
INSERT INTO pond (id, of, supersedes, withdrawn, origin, sequence, written_at_utc_ms, written_at_offset_min, written_by, name, area_m2) VALUES
  (X'01990a5c7e1070008000000000000002', X'01990a5c7e1070008000000000000002', NULL, 0, X'01990a5c7e1070008000000000000001', 1, 1795561200000, 420, 'Frozen reader', 'Pond before it was renamed', 4000.5),
  (X'01990a5c7e1070008000000000000003', X'01990a5c7e1070008000000000000002', X'01990a5c7e1070008000000000000002', 0, X'01990a5c7e1070008000000000000001', 2, 1795561200000, 420, 'Frozen reader', 'Frozen pond', 4000.5);
INSERT INTO sample (id, of, supersedes, withdrawn, origin, sequence, written_at_utc_ms, written_at_offset_min, written_by, pond, netted_utc_ms, netted_offset_min, catch, rain, lime, water_change) VALUES
  (X'01990a5c7e1070008000000000000004', X'01990a5c7e1070008000000000000004', NULL, 0, X'01990a5c7e1070008000000000000001', 3, 1795561200000, 420, 'Frozen reader', X'01990a5c7e1070008000000000000002', 1795561200000, 420, 'net', 0, 0, 0);
INSERT INTO animal (id, of, supersedes, withdrawn, origin, sequence, written_at_utc_ms, written_at_offset_min, written_by, sample, name, position) VALUES
  (X'01990a5c7e1070008000000000000005', X'01990a5c7e1070008000000000000005', NULL, 0, X'01990a5c7e1070008000000000000001', 4, 1795561200000, 420, 'Frozen reader', X'01990a5c7e1070008000000000000004', '01', 1),
  (X'01990a5c7e1070008000000000000006', X'01990a5c7e1070008000000000000006', NULL, 0, X'01990a5c7e1070008000000000000001', 5, 1795561200000, 420, 'Frozen reader', X'01990a5c7e1070008000000000000004', '02', 2);
INSERT INTO call (id, of, supersedes, withdrawn, origin, sequence, written_at_utc_ms, written_at_offset_min, written_by, animal, stage, reader, called_utc_ms, called_offset_min, agreement, before_proposal, second_wanted) VALUES
  (X'01990a5c7e1070008000000000000007', X'01990a5c7e1070008000000000000007', NULL, 0, X'01990a5c7e1070008000000000000001', 6, 1795561200000, 420, 'Frozen reader', X'01990a5c7e1070008000000000000005', 'C', 'Frozen reader', 1795561200000, 420, 'by_eye', 0, 0),
  (X'01990a5c7e1070008000000000000008', X'01990a5c7e1070008000000000000007', X'01990a5c7e1070008000000000000007', 0, X'01990a5c7e1070008000000000000001', 7, 1795561200000, 420, 'Frozen reader', X'01990a5c7e1070008000000000000005', 'D1', 'Frozen reader', 1795561200000, 420, 'by_eye', 0, 0);
