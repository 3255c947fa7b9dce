-- planting_group_days: the water in the root zones of plantings that no meter tells apart, as of one field.
-- Row    (site_id, own_block, crop, planted_on, day): plantings that stood in the period, from their first day
-- Reads  root_zone_days
-- Units  own_block: NULL where the group's water is shared; blocks: those of the group. Depths [mm] are means
--        over the planted area, NULL where one is unknown. stress_sure_share, stress_possible_share [-]: of
--        that area, where the wettest, and the driest course has more missing than is readily available
-- Takes  $from_day, $to_day, $sites
-- A planting that ever shared its water counts as sharing: a block gets one place in the picture. Crops of
-- one day of planting on one water differ but for their soil.
CREATE OR REPLACE TEMP TABLE planting_group_days AS
WITH plantings AS (
    SELECT site_id, block_id, crop, planted_on, if(max(blocks_on_water) > 1, NULL, block_id) AS own_block
    FROM root_zone_days
    WHERE day <= $to_day AND ($sites IS NULL OR list_contains($sites, site_id))
    GROUP BY site_id, block_id, crop, planted_on HAVING max(day) >= $from_day
),
planting_groups AS (
    SELECT site_id, own_block, crop, planted_on, list(block_id ORDER BY block_id) AS blocks
    FROM plantings GROUP BY ALL
),
weighed AS (  -- one without an area still has its own course to draw
    SELECT r.*, own_block, coalesce(nullif(planted_ha, 0), 1e-6) AS weight
    FROM root_zone_days r JOIN plantings USING (site_id, block_id, crop, planted_on)
    WHERE day <= $to_day
)
SELECT w.site_id, w.own_block, w.crop, w.planted_on, w.day, any_value(g.blocks) AS blocks,
       max(blocks_on_water) AS blocks_on_water, exact_sum(planted_ha) AS planted_ha,
       exact_sum(etc_mm * weight) / exact_sum(weight) AS etc_mm,
       exact_sum(rain_mm * weight) / exact_sum(weight) AS rain_mm,
       if(count(irrigation_mm) = count(*), exact_sum(irrigation_mm * weight) / exact_sum(weight), NULL)
           AS irrigation_mm,
       exact_sum(taw_mm * weight) / exact_sum(weight) AS taw_mm,
       exact_sum(raw_mm * weight) / exact_sum(weight) AS raw_mm,
       exact_sum(depletion_wettest_mm * weight) / exact_sum(weight) AS depletion_wettest_mm,
       exact_sum(depletion_driest_mm * weight) / exact_sum(weight) AS depletion_driest_mm,
       exact_sum(if(depletion_wettest_mm > raw_mm, weight, if(raw_mm IS NULL, NULL, 0))) / exact_sum(weight)
           AS stress_sure_share,
       exact_sum(if(depletion_driest_mm > raw_mm, weight, if(raw_mm IS NULL, NULL, 0))) / exact_sum(weight)
           AS stress_possible_share
FROM weighed w
JOIN planting_groups g ON g.site_id = w.site_id AND g.own_block IS NOT DISTINCT FROM w.own_block
                      AND g.crop = w.crop AND g.planted_on = w.planted_on
GROUP BY w.site_id, w.own_block, w.crop, w.planted_on, w.day
ORDER BY w.site_id, w.own_block, w.crop, w.planted_on, w.day;
