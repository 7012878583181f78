-- Standing rows in whose words ?1 (a pattern) stands, and photos named from ?2 up to ?3.
SELECT "table", thing, sample, words FROM (
  SELECT 'pond' AS "table", of AS thing, NULL AS sample, name AS words, id AS row
  FROM pond
  WHERE (name LIKE ?1 ESCAPE '\' OR note LIKE ?1 ESCAPE '\') AND withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM pond AS later WHERE later.supersedes = pond.id)
  UNION ALL
  SELECT 'sample', of, of, note, id
  FROM sample
  WHERE note LIKE ?1 ESCAPE '\' AND withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM sample AS later WHERE later.supersedes = sample.id)
  UNION ALL
  SELECT 'animal', of, sample, note, id
  FROM animal
  WHERE note IS NOT NULL AND note LIKE ?1 ESCAPE '\' AND withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM animal AS later WHERE later.supersedes = animal.id)
  UNION ALL
  SELECT 'call', call.of, (SELECT sample FROM animal WHERE animal.id = call.animal), call.note, call.id
  FROM call
  WHERE call.note IS NOT NULL AND call.note LIKE ?1 ESCAPE '\' AND call.withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM call AS later WHERE later.supersedes = call.id)
  UNION ALL
  SELECT 'photo', of, sample, name, id
  FROM photo
  WHERE name COLLATE NOCASE >= ?2 AND name COLLATE NOCASE < ?3 AND withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM photo AS later WHERE later.supersedes = photo.id)
)
ORDER BY row DESC
LIMIT ?4
