-- Searches read the notes from the newest on: a word that stands in very many of them then costs no
-- more than a rare one.
DROP INDEX call_note;
DROP INDEX animal_note;
CREATE INDEX call_noted ON call (id, note) WHERE note IS NOT NULL;
CREATE INDEX animal_noted ON animal (id, note) WHERE note IS NOT NULL;
