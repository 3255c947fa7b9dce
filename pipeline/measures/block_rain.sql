-- block_rain: what the crops of a block drew from the rain on a day, by either rule.
-- Row    (site_id, block_id, day)
-- Reads  block_store_rain, root_zone_rain, planting_days
-- Units  drawn_mm: from the block's own store; by_roots_mm: from what the roots can hold, mean over the
--        planted area, NULL where a crop's roots are unknown [mm]
CREATE OR REPLACE TEMP TABLE block_rain AS
WITH by_roots AS (
    SELECT site_id, block_id, day,
           if(count(*) FILTER (planted_ha > 0 AND drawn_mm IS NULL) = 0,
              coalesce(exact_sum(planted_ha * drawn_mm) / nullif(exact_sum(planted_ha), 0), 0), NULL) AS by_roots_mm
    FROM planting_days LEFT JOIN root_zone_rain USING (planting_no, day)
    GROUP BY ALL
)
SELECT site_id, block_id, day, drawn_mm, by_roots_mm
FROM block_store_rain LEFT JOIN by_roots USING (site_id, block_id, day);
