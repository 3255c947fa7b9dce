-- block_days: the need of a block on a day.
-- Row    (site_id, block_id, day)
-- Reads  block_demand, block_rain, block_ground
-- Units  depths [mm] over planted_ha; need_m3: net need over the application efficiency × area
--        (1 mm on 1 ha is 10 m³). NULL: unknown. other_net_need_mm: by the rule of rain that is not in force
-- Takes  $need_by_root_zone: whether the roots' store of rain is in force, or the block's
CREATE OR REPLACE TEMP TABLE block_days AS
WITH drawn AS (
    SELECT site_id, block_id, day,
           if($need_by_root_zone, by_roots_mm, drawn_mm) AS drawn_mm,
           if($need_by_root_zone, drawn_mm, by_roots_mm) AS other_mm
    FROM block_rain
)
SELECT d.site_id, d.block_id, d.day, block_ha, planted_ha, kc, etc_mm,
       if(fallow, 0, if(etc_mm IS NULL, NULL, drawn_mm)) AS effective_rain_mm,
       -- greatest() passes over NULL: an unknown draw would become no need
       CASE WHEN fallow THEN 0 WHEN etc_mm - drawn_mm IS NOT NULL THEN greatest(etc_mm - drawn_mm, 0) END
           AS net_need_mm,
       CASE WHEN fallow THEN 0 WHEN etc_mm - other_mm IS NOT NULL THEN greatest(etc_mm - other_mm, 0) END
           AS other_net_need_mm,
       if(fallow, 0, net_need_mm / nullif(efficiency, 0) * planted_ha * 10) AS need_m3,
       known, fallow
FROM block_demand d
JOIN block_ground USING (site_id, block_id)
JOIN drawn USING (site_id, block_id, day);
