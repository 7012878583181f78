-- The open calls of a sample's animals: not superseded, not set aside, not taken back.
JOIN animal ON animal.id = call.animal
WHERE animal.sample = ?1
  AND call.withdrawn = 0
  AND NOT EXISTS (SELECT 1 FROM call AS later WHERE later.supersedes = call.id)
  AND NOT EXISTS (
    SELECT 1 FROM settlement
    WHERE settlement.set_aside = call.id
      AND settlement.withdrawn = 0
      AND NOT EXISTS (SELECT 1 FROM settlement AS later WHERE later.supersedes = settlement.id)
  )
ORDER BY call.animal, call.id
