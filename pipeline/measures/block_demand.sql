-- block_demand: what the crops of a block would take on a day, and the rain that fell.
-- Row    (site_id, block_id, day): service days within the days of the weather table
-- Reads  sites, blocks, weather, site_weather, planting_spans, need_crops, need_crop_days, need_climate
-- Units  kc [-] and etc_mm [mm]: means over planted_ha; fallow takes 0; NULL: unknown
-- A day without a row in need_climate has its Kc as tabulated.
CREATE OR REPLACE TEMP TABLE block_demand AS
WITH days AS (
    SELECT unnest(generate_series(min(day), max(day), INTERVAL 1 DAY))::DATE AS day FROM weather
),
block_service AS (
    SELECT b.site_id, b.block_id, b.area_ha AS block_ha, day
    FROM blocks b JOIN sites s USING (site_id), days
    WHERE day >= coalesce(commissioned_on, day) AND (decommissioned_on IS NULL OR day < decommissioned_on)
),
standing AS (
    SELECT b.*, p.crop, p.fallow, p.known, p.area_ha,
           least(b.day - p.planted_on + 1, coalesce(season_days, 1)) AS day_number
    FROM block_service b
    JOIN planting_spans p ON p.site_id = b.site_id AND p.block_id = b.block_id
        AND b.day >= p.planted_on AND (p.last_day IS NULL OR b.day <= p.last_day)
    JOIN need_crops USING (crop)
),
left_over AS (  -- what the plantings with an area leave is shared by the crops without one
    SELECT *, sum(exact(area_ha)) OVER of_day / 1e9 AS told_ha,
           count(*) FILTER (WHERE area_ha IS NULL AND NOT fallow) OVER of_day AS untold
    FROM standing
    WINDOW of_day AS (PARTITION BY site_id, block_id, day)
),
areas AS (
    SELECT *, CASE WHEN area_ha IS NOT NULL THEN area_ha
                   WHEN fallow THEN 0
                   ELSE greatest(block_ha - coalesce(told_ha, 0), 0) / untold END AS crop_ha
    FROM left_over
),
fitted AS (  -- up to a tenth over the block is how people measure; more counts in proportion
    SELECT *, if(all_ha > 1.1 * block_ha, crop_ha * block_ha / all_ha, crop_ha) AS fitted_ha
    FROM (SELECT *, sum(exact(crop_ha)) OVER (PARTITION BY site_id, block_id, day) / 1e9 AS all_ha FROM areas)
),
of_block AS (
    SELECT site_id, block_id, day, bool_and(known) AS known, bool_and(fallow) AS fallow,
           exact_sum(if(fallow, 0, fitted_ha)) AS planted_ha,
           exact_sum(if(fallow, 0, fitted_ha * (kc + coalesce(climate_share * kc_departure, 0)))) AS kc_ha
    FROM fitted LEFT JOIN need_crop_days USING (crop, day_number)
    LEFT JOIN need_climate USING (site_id, day)
    GROUP BY ALL
)
SELECT b.site_id, b.block_id, b.day, b.block_ha, coalesce(known, FALSE) AS known,
       coalesce(fallow, FALSE) AS fallow, if(o.day IS NULL, NULL, planted_ha) AS planted_ha,
       if(known AND NOT fallow, kc_ha / nullif(planted_ha, 0), NULL) AS kc,
       CASE WHEN fallow THEN 0
            WHEN known THEN if(planted_ha = 0, 0, kc_ha / planted_ha) * et0_mm END AS etc_mm,
       rain_mm
FROM block_service b
LEFT JOIN of_block o USING (site_id, block_id, day)
LEFT JOIN site_weather w ON w.site_id = b.site_id AND w.day = b.day
ORDER BY b.site_id, b.block_id, b.day;
