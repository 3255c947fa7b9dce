-- planting_days: what the crops of a block would take on a day, a planting by itself.
-- Row    (site_id, block_id, crop, planted_on, day): service days within the days of the weather table
-- Reads  sites, blocks, weather, site_weather, planting_spans, need_crops, need_crop_days, need_climate,
--        need_kc_ini
-- Units  planting_no: its number in this run; planted_ha: what of the block it stands on, fallow on none; kc [-]; etc_mm [mm]; day_number: the
--        day of planting is 1. NULL: unknown. A day without a row in need_climate, and a planting without
--        one in need_kc_ini, has its Kc as tabulated
CREATE OR REPLACE TEMP TABLE planting_days AS
WITH known AS (SELECT min(day) AS first_day, max(day) AS last_day FROM weather HAVING count(*) > 0),
numbered AS (  -- text is slow to sort by
    SELECT *, row_number() OVER (ORDER BY site_id, block_id, crop, planted_on) AS planting_no,
           dense_rank() OVER (ORDER BY site_id, block_id) AS block_no
    FROM planting_spans
),
standing AS (
    SELECT planting_no, block_no, b.site_id, b.block_id, b.area_ha AS block_ha, p.crop, p.planted_on, p.fallow, p.known, p.area_ha, p.crop_row,
           unnest(generate_series(greatest(p.planted_on, k.first_day, commissioned_on),
                                  least(p.last_day, k.last_day, decommissioned_on - 1)::TIMESTAMP,
                                  INTERVAL 1 DAY))::DATE AS day,
           day - p.planted_on + 1 AS day_number, coalesce(season_days, 1) AS season_days
    FROM blocks b JOIN sites s USING (site_id)
    JOIN numbered p ON p.site_id = b.site_id AND p.block_id = b.block_id
    JOIN need_crops USING (crop, crop_row), known k
),
left_over AS (  -- what the plantings with an area leave is shared by the crops without one
    SELECT *, sum(exact(area_ha)) OVER of_day / 1e9 AS told_ha,
           count(*) FILTER (WHERE area_ha IS NULL AND NOT fallow) OVER of_day AS untold
    FROM standing
    WINDOW of_day AS (PARTITION BY block_no, day)
),
areas AS (
    SELECT *, CASE WHEN area_ha IS NOT NULL THEN area_ha
                   WHEN fallow THEN 0
                   ELSE greatest(block_ha - coalesce(told_ha, 0), 0) / untold END AS crop_ha
    FROM left_over
),
fitted AS (  -- up to a tenth over the block is how people measure; more counts in proportion
    SELECT *, if(all_ha > 1.1 * block_ha, crop_ha * block_ha / all_ha, crop_ha) AS fitted_ha
    FROM (SELECT *, sum(exact(crop_ha)) OVER (PARTITION BY block_no, day) / 1e9 AS all_ha FROM areas)
)
SELECT f.planting_no, f.site_id, f.block_id, f.crop, f.planted_on, f.crop_row, f.day, f.day_number, f.known, f.fallow,
       if(f.fallow, 0, fitted_ha) AS planted_ha,
       if(f.fallow, 0, d.kc + coalesce(d.climate_share * c.kc_departure, 0)
                       + coalesce(d.ini_share * i.kc_departure, 0)) AS kc, kc * et0_mm AS etc_mm
FROM fitted f
LEFT JOIN need_crop_days d ON d.crop = f.crop AND d.crop_row = f.crop_row AND d.day_number = least(f.day_number, f.season_days)
LEFT JOIN need_climate c ON c.site_id = f.site_id AND c.day = f.day
LEFT JOIN need_kc_ini i ON i.site_id = f.site_id AND i.block_id = f.block_id AND i.crop = f.crop
    AND i.planted_on = f.planted_on
LEFT JOIN site_weather w ON w.site_id = f.site_id AND w.day = f.day;
