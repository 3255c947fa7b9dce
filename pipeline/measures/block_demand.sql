-- block_demand: what the crops of a block would take on a day, and the rain that fell.
-- Row    (site_id, block_id, day): service days within the days of the weather table
-- Reads  sites, blocks, weather, site_weather, planting_days
-- Units  kc [-] and etc_mm [mm]: means over planted_ha; fallow takes 0; NULL: unknown
CREATE OR REPLACE TEMP TABLE block_demand AS
WITH days AS (
    SELECT unnest(generate_series(min(day), max(day), INTERVAL 1 DAY))::DATE AS day FROM weather
),
block_service AS (
    SELECT b.site_id, b.block_id, b.area_ha AS block_ha, day
    FROM blocks b JOIN sites s USING (site_id), days
    WHERE day >= coalesce(commissioned_on, day) AND (decommissioned_on IS NULL OR day < decommissioned_on)
),
of_block AS (
    SELECT site_id, block_id, day, bool_and(known) AS known, bool_and(fallow) AS fallow,
           exact_sum(planted_ha) AS planted_ha, exact_sum(planted_ha * kc) AS kc_ha
    FROM planting_days GROUP BY ALL
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
