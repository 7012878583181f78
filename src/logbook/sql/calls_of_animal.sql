-- The open calls of an animal: not superseded, not set aside, not taken back.
WHERE call.animal = ?1
  AND call.withdrawn = 0
  AND NOT EXISTS (SELECT 1 FROM call AS later WHERE later.supersedes = call.id)
  AND NOT EXISTS (
    SELECT 1 FROM settlement
    WHERE settlement.set_aside = call.id
      AND settlement.withdrawn = 0
      AND NOT EXISTS (SELECT 1 FROM settlement AS later WHERE later.supersedes = settlement.id)
  )
ORDER BY call.id
