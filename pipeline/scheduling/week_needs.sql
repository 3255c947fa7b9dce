-- week_needs: the need of each block on each day asked: measured, else as it is taken to come.
-- Row    (site_id, block_id, day)
-- Reads  blocks, block_days, visit_coming_blocks
-- Units  etc_mm, net_need_mm [mm] over planted_ha; need_m3 gross; measured: from weather that was measured;
--        known: a known crop, or fallow, is on record. NULL: unknown
-- Takes  $from_day, $days, $sites
CREATE OR REPLACE TEMP TABLE week_needs AS
WITH asked AS (
    SELECT site_id, block_id, $from_day::DATE + k::INTEGER AS day
    FROM blocks, generate_series(0, $days::INTEGER - 1) g(k)
    WHERE list_contains($sites::VARCHAR[], site_id)
),
measured AS (
    SELECT * FROM block_days
    WHERE day BETWEEN $from_day::DATE AND $from_day::DATE + $days::INTEGER - 1
      AND list_contains($sites::VARCHAR[], site_id) AND net_need_mm IS NOT NULL
)
SELECT site_id, block_id, day, m.net_need_mm IS NOT NULL AS measured,
       if(measured, m.planted_ha, c.planted_ha) AS planted_ha, if(measured, m.kc, c.kc) AS kc,
       if(measured, m.etc_mm, c.etc_mm) AS etc_mm, if(measured, m.net_need_mm, c.net_need_mm) AS net_need_mm,
       if(measured, m.need_m3, c.need_m3) AS need_m3,
       coalesce(if(measured, m.known, c.known), FALSE) AS known,
       coalesce(if(measured, m.fallow, c.fallow), FALSE) AS fallow
FROM asked LEFT JOIN measured m USING (site_id, block_id, day)
LEFT JOIN visit_coming_blocks c USING (site_id, block_id, day);
