-- week_soil: the water in the root zones of a block on the evening before.
-- Row    (site_id, block_id): blocks of which every planting's is known, or lies within two bounds
-- Reads  root_zone_days
-- Units  [mm], net, means over the planted area
-- Takes  $from_day, $sites
CREATE OR REPLACE TEMP TABLE week_soil AS
SELECT site_id, block_id,
       sum(planted_ha * depletion_wettest_mm) / nullif(sum(planted_ha), 0) AS wettest_mm,
       sum(planted_ha * depletion_driest_mm) / nullif(sum(planted_ha), 0) AS driest_mm,
       sum(planted_ha * raw_mm) / nullif(sum(planted_ha), 0) AS raw_mm,
       sum(planted_ha * taw_mm) / nullif(sum(planted_ha), 0) AS taw_mm
FROM (FROM root_zone_days WHERE day = $from_day::DATE - 1 AND list_contains($sites::VARCHAR[], site_id)
      ORDER BY site_id, block_id, planted_on, crop)
GROUP BY ALL
HAVING count(*) = count(depletion_wettest_mm) AND count(*) = count(depletion_driest_mm) AND count(*) = count(raw_mm);
