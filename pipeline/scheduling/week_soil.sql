-- week_soil: the water in the root zones of a block on the evening before.
-- Row    (site_id, block_id): blocks of which every planting's is known, or lies within two bounds
-- Reads  root_zone_days, planting_spans
-- Units  [mm], net, means over the planted area
-- Takes  $from_day, $sites
CREATE OR REPLACE TEMP TABLE week_soil AS
WITH standing AS (  -- one whose roots nobody knows has no row in root_zone_days
    SELECT site_id, block_id, count(*) AS plantings FROM planting_spans
    WHERE NOT fallow AND planted_on < $from_day::DATE AND coalesce(last_day >= $from_day::DATE - 1, TRUE)
      AND list_contains($sites::VARCHAR[], site_id)
    GROUP BY ALL
)
SELECT site_id, block_id,
       exact_sum(planted_ha * depletion_wettest_mm) / nullif(exact_sum(planted_ha), 0) AS wettest_mm,
       exact_sum(planted_ha * depletion_driest_mm) / nullif(exact_sum(planted_ha), 0) AS driest_mm,
       exact_sum(planted_ha * raw_mm) / nullif(exact_sum(planted_ha), 0) AS raw_mm,
       exact_sum(planted_ha * taw_mm) / nullif(exact_sum(planted_ha), 0) AS taw_mm
FROM root_zone_days JOIN standing USING (site_id, block_id)
WHERE day = $from_day::DATE - 1
GROUP BY site_id, block_id, plantings
HAVING count(*) = plantings AND count(*) = count(depletion_wettest_mm) AND count(*) = count(depletion_driest_mm) AND count(*) = count(raw_mm);
