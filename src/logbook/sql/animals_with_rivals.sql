-- Animals with several open calls.
SELECT count(*) FROM (
  SELECT call.animal FROM call
  WHERE call.withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM call AS later WHERE later.supersedes = call.id)
    AND NOT EXISTS (
      SELECT 1 FROM settlement
      WHERE settlement.set_aside = call.id
        AND settlement.withdrawn = 0
        AND NOT EXISTS (SELECT 1 FROM settlement AS later WHERE later.supersedes = settlement.id)
    )
  GROUP BY call.animal
  HAVING count(*) > 1
)
