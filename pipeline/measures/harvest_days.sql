-- harvest_days: the water of a harvested planting on a day, from planting to its last harvest.
-- Row    (site_id, block_id, crop, planted_on, day)
-- Reads  figure_harvests, figure_harvest_water, planting_spans, root_zone_days, block_days
-- Units  water_m3 [m³] of irrigation, water_cover [-] of 24 h; etc_m3, rain_m3 [m³] over the planted area, rain
--        as the block drew it; *_mm as the balance of the root zone has them. NULL: unknown
-- Where other crops stand on the block, the water is shared by planted area; where that is unknown, so is it.
CREATE OR REPLACE TEMP TABLE harvest_days AS
WITH days AS (
    SELECT site_id, block_id, crop, planted_on,
           unnest(generate_series(planted_on, last_on, INTERVAL 1 DAY))::DATE AS day
    FROM figure_harvests
),
beside AS (
    SELECT d.site_id, d.block_id, d.crop, d.planted_on, d.day, count(*) AS others
    FROM days d JOIN planting_spans p
        ON p.site_id = d.site_id AND p.block_id = d.block_id AND NOT p.fallow
       AND d.day >= p.planted_on AND (p.last_day IS NULL OR d.day <= p.last_day)
       AND (p.crop != d.crop OR p.planted_on != d.planted_on)
    GROUP BY ALL
),
parts AS (
    SELECT d.*, coalesce(o.others, 0) AS others, r.planted_ha, r.etc_mm, r.etc_adjusted_wettest_mm,
           r.etc_adjusted_driest_mm, b.effective_rain_mm, b.planted_ha AS block_planted_ha,
           if(others = 0, 1, r.planted_ha / nullif(b.planted_ha, 0)) AS part
    FROM days d
    LEFT JOIN beside o USING (site_id, block_id, crop, planted_on, day)
    LEFT JOIN root_zone_days r USING (site_id, block_id, crop, planted_on, day)
    LEFT JOIN block_days b USING (site_id, block_id, day)
)
SELECT site_id, block_id, crop, planted_on, day, others, has_meter, planted_ha, water_m3 * part AS water_m3,
       if(part IS NULL, 0, water_cover) AS water_cover,
       10 * planted_ha * etc_mm AS etc_m3, 10 * planted_ha * effective_rain_mm AS rain_m3,
       etc_mm, etc_adjusted_wettest_mm, etc_adjusted_driest_mm
FROM parts JOIN figure_harvest_water USING (site_id, block_id, day);
