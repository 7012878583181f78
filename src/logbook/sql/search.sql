-- Standing rows in whose words ?1 (a pattern) stands, and photos named from ?2 up to ?3. Of the many notes
-- on animals and calls only the newest are looked further into.
SELECT "table", thing,
  coalesce(sample, (SELECT sample FROM animal WHERE animal.id = found.animal)), words
FROM (
  SELECT 'pond' AS "table", of AS thing, NULL AS sample, NULL AS animal, name AS words, id AS row
  FROM pond
  WHERE (name LIKE ?1 ESCAPE '\' OR note LIKE ?1 ESCAPE '\') AND withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM pond AS later WHERE later.supersedes = pond.id)
  UNION ALL
  SELECT 'sample', of, of, NULL, note, id
  FROM sample
  WHERE note LIKE ?1 ESCAPE '\' AND withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM sample AS later WHERE later.supersedes = sample.id)
  UNION ALL
  SELECT * FROM (
    SELECT 'animal', of, sample, NULL, note, id
    FROM animal
    WHERE note IS NOT NULL AND note LIKE ?1 ESCAPE '\' AND withdrawn = 0
      AND NOT EXISTS (SELECT 1 FROM animal AS later WHERE later.supersedes = animal.id)
    ORDER BY id DESC LIMIT ?4)
  UNION ALL
  SELECT * FROM (
    SELECT 'call', of, NULL, animal, note, id
    FROM call
    WHERE note IS NOT NULL AND note LIKE ?1 ESCAPE '\' AND withdrawn = 0
      AND NOT EXISTS (SELECT 1 FROM call AS later WHERE later.supersedes = call.id)
    ORDER BY id DESC LIMIT ?4)
  UNION ALL
  SELECT 'photo', of, sample, NULL, name, id
  FROM photo
  WHERE name COLLATE NOCASE >= ?2 AND name COLLATE NOCASE < ?3 AND withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM photo AS later WHERE later.supersedes = photo.id)
) AS found
ORDER BY row DESC
LIMIT ?4
