-- site_need_days: the need of a site's planted blocks on a day.
-- Row    (site_id, day)
-- Reads  block_days, site_weather
-- Units  m³, ha; cropping_share [-] of the blocks' area with a crop or fallow on record, NULL on days
--        without weather. known: a block has a crop on record, or all are fallow, and the weather is
--        there. need_m3 NULL where a planted block's efficiency is unknown
CREATE OR REPLACE TEMP TABLE site_need_days AS
WITH sums AS (
    SELECT site_id, day,
           bool_or(known AND NOT fallow) AS has_crop, bool_and(known AND fallow) AS all_fallow,
           count(*) FILTER (WHERE known AND net_need_mm IS NULL) AS unknown_depths,
           count(*) FILTER (WHERE known AND need_m3 IS NULL) AS unknown_needs,
           exact_sum(if(known, need_m3, NULL)) AS need_m3,
           exact_sum(if(known, net_need_mm * planted_ha * 10, NULL)) AS net_need_m3,
           count(*) FILTER (WHERE known AND other_net_need_mm IS NULL) AS unknown_others,
           exact_sum(if(known, other_net_need_mm * planted_ha * 10, NULL)) AS other_net_need_m3,
           exact_sum(if(known, effective_rain_mm * planted_ha * 10, NULL)) AS effective_rain_m3,
           exact_sum(if(known, planted_ha, 0)) AS planted_ha,
           exact_sum(if(known, block_ha, 0)) / nullif(exact_sum(block_ha), 0) AS recorded_share
    FROM block_days GROUP BY ALL
)
SELECT sums.site_id, sums.day, (has_crop OR all_fallow) AND unknown_depths = 0 AS known,
       if(known AND unknown_needs = 0, need_m3, NULL) AS need_m3,
       if(known, net_need_m3, NULL) AS net_need_m3,
       if(known AND unknown_others = 0, other_net_need_m3, NULL) AS other_net_need_m3,
       if(known, effective_rain_m3, NULL) AS effective_rain_m3,
       planted_ha, if(et0_mm IS NULL, NULL, recorded_share) AS cropping_share, distance_km
FROM sums LEFT JOIN site_weather w ON w.site_id = sums.site_id AND w.day = sums.day;
