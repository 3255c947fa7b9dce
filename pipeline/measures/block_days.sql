-- block_days: the need of a block on a day.
-- Row    (site_id, block_id, day)
-- Reads  block_demand, block_rain, blocks
-- Units  depths [mm] over planted_ha; need_m3: net need over the application efficiency × area
--        (1 mm on 1 ha is 10 m³). NULL: unknown. Efficiency by method: FAO Irrigation Water
--        Management Training Manual 4, Annex I, Table 8 (from memory)
CREATE OR REPLACE TEMP TABLE block_days AS
WITH watered AS (
    SELECT site_id, block_id,
           coalesce(application_efficiency,
                    CASE WHEN irrigation_method IN ('furrow', 'basin') THEN 0.60
                         WHEN irrigation_method IN ('sprinkler', 'spray_tube', 'hose') THEN 0.75
                         WHEN irrigation_method = 'drip' THEN 0.90 END) AS efficiency
    FROM blocks
)
SELECT d.site_id, d.block_id, d.day, block_ha, planted_ha, kc, etc_mm,
       if(fallow, 0, if(etc_mm IS NULL, NULL, drawn_mm)) AS effective_rain_mm,
       -- greatest() passes over NULL: an unknown draw would become no need
       CASE WHEN fallow THEN 0 WHEN etc_mm - drawn_mm IS NOT NULL THEN greatest(etc_mm - drawn_mm, 0) END
           AS net_need_mm,
       if(fallow, 0, net_need_mm / nullif(efficiency, 0) * planted_ha * 10) AS need_m3,
       known, fallow
FROM block_demand d
JOIN watered USING (site_id, block_id)
JOIN block_rain USING (site_id, block_id, day);
