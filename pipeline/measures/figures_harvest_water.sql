-- figure_harvest_water: what a block got on a day between planting and last harvest.
-- Row    (site_id, block_id, day): of the plantings in figure_harvests; a day that two share is one row
-- Reads  figure_harvests, figure_block_water, block_days, site_days
-- Units  water_m3 [m³], NULL: unknown; water_cover [-] of 24 h. A block without a meter of its own gets its
--        site's water by its planted area of the day
CREATE OR REPLACE TEMP TABLE figure_harvest_water AS
WITH days AS (
    SELECT DISTINCT site_id, block_id,
           unnest(generate_series(planted_on, last_on, INTERVAL 1 DAY))::DATE AS day
    FROM figure_harvests
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
)
SELECT site_id, block_id, day, has_meter, if(has_meter, own_m3, shared_m3) AS water_m3,
       coalesce(if(has_meter, own_cover, if(shared_m3 IS NULL, 0, shared_cover)), 0) AS water_cover
FROM shares;
