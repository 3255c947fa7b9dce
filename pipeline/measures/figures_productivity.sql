-- figure_productivity: harvest and water of the plantings whose last harvest lies in the period.
-- Row    (site_id, from_day); empty below the coverage that can be judged
-- Reads  figure_sites, figure_block_water, harvests, plantings, block_days, site_days
-- Units  productive_kg [kg], productive_m3 [m³]. A block without a meter of its own gets its site's
--        water by its planted area of the day; a block that two plantings share counts once
CREATE OR REPLACE TEMP TABLE figure_productivity AS
WITH of_planting AS (
    SELECT h.site_id, h.block_id, h.crop, p.planted_on, exact_sum(h.harvest_kg) AS kg,
           max(h.harvested_on) AS last_on
    FROM harvests h ASOF JOIN plantings p
        ON h.site_id = p.site_id AND h.block_id = p.block_id AND h.crop = p.crop
       AND h.harvested_on >= p.planted_on
    GROUP BY ALL
),
ended AS (
    SELECT o.*, f.from_day
    FROM of_planting o JOIN figure_sites f
        ON o.site_id = f.site_id AND o.last_on BETWEEN f.from_day AND f.to_day
),
kg AS (SELECT site_id, from_day, exact_sum(kg) AS productive_kg FROM ended GROUP BY ALL),
days AS (
    SELECT DISTINCT site_id, from_day, block_id,
           unnest(generate_series(planted_on, last_on, INTERVAL 1 DAY))::DATE AS day
    FROM ended
),
metered AS (SELECT DISTINCT site_id, block_id FROM figure_block_water),
block_meters AS (
    SELECT site_id, block_id, day, exact_sum(water_m3) AS water_m3, exact_sum(water_cover) AS water_cover
    FROM figure_block_water GROUP BY ALL
),
site_planted AS (SELECT site_id, day, exact_sum(planted_ha) AS planted_ha FROM block_days GROUP BY ALL),
shares AS (
    SELECT days.*, metered.block_id IS NOT NULL AS has_meter, w.water_m3 AS own_m3, w.water_cover AS own_cover,
           (coalesce(d.water_m3, 0) + coalesce(d.long_water_m3, 0))
               * b.planted_ha / nullif(s.planted_ha, 0) AS shared_m3,
           coalesce(d.water_cover, 0) + coalesce(d.long_water_cover, 0) AS shared_cover
    FROM days
    LEFT JOIN metered USING (site_id, block_id)
    LEFT JOIN block_meters w USING (site_id, block_id, day)
    LEFT JOIN block_days b USING (site_id, block_id, day)
    LEFT JOIN site_planted s USING (site_id, day)
    LEFT JOIN site_days d USING (site_id, day)
),
water AS (
    SELECT site_id, from_day, exact_sum(if(has_meter, own_m3, shared_m3)) AS productive_m3,
           exact_sum(coalesce(if(has_meter, own_cover, if(shared_m3 IS NULL, 0, shared_cover)), 0)) / count(*)
               AS coverage
    FROM shares GROUP BY ALL
)
SELECT site_id, from_day, productive_kg, productive_m3
FROM kg JOIN water USING (site_id, from_day)
WHERE coverage >= 0.8;
