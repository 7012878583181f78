-- Animals of a sample, and those of them whose standing call names a stage.
SELECT count(DISTINCT animal.of), count(DISTINCT CASE WHEN (
    SELECT call.stage FROM call
    WHERE call.animal = animal.of
      AND call.withdrawn = 0
      AND NOT EXISTS (SELECT 1 FROM call AS later WHERE later.supersedes = call.id)
      AND NOT EXISTS (
        SELECT 1 FROM settlement
        WHERE settlement.set_aside = call.id
          AND settlement.withdrawn = 0
          AND NOT EXISTS (SELECT 1 FROM settlement AS later WHERE later.supersedes = settlement.id)
      )
    ORDER BY call.id DESC LIMIT 1
  ) IS NOT NULL THEN animal.of END)
FROM animal
WHERE animal.sample = ?1
  AND animal.withdrawn = 0
  AND NOT EXISTS (SELECT 1 FROM animal AS later WHERE later.supersedes = animal.id)
