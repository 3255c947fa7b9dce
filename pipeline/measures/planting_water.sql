-- planting_water: the water of a planting over the days that it stood, up to a day.
-- Row    (site_id, block_id, crop, planted_on): plantings with a balance that stood in the period
-- Reads  root_zone_days
-- Units  sums [mm] over the days for which they are known; a day of stress: more is missing than is readily
--        available. *_least and *_most: as the wettest and the driest course have it; percolation_least_mm
--        below the roots, percolation_most_mm NULL where a day's water is unknown, as there is no most, and
--        the same in m³ of the planting's area. irrigation_known_on: the last day that a meter speaks for
-- Takes  $from_day, $to_day, $sites
CREATE OR REPLACE TEMP TABLE planting_water AS
SELECT site_id, block_id, crop, planted_on, min(day) AS from_day, max(day) AS to_day, count(*) AS days,
       count(etc_mm) AS need_days, count(rain_mm) AS rain_days, count(irrigation_mm) AS irrigation_days,
       max(day) FILTER (irrigation_mm IS NOT NULL) AS irrigation_known_on,
       max(blocks_on_water) AS blocks_on_water, max(planted_ha) AS planted_ha,
       exact_sum(etc_mm) AS etc_mm, exact_sum(rain_mm) AS rain_mm, exact_sum(irrigation_mm) AS irrigation_mm,
       count(*) FILTER (depletion_wettest_mm > raw_mm) AS stress_days_least,
       count(*) FILTER (depletion_driest_mm > raw_mm) AS stress_days_most,
       exact_sum(etc_adjusted_driest_mm) AS etc_adjusted_least_mm,
       exact_sum(etc_adjusted_wettest_mm) AS etc_adjusted_most_mm,
       exact_sum(deep_percolation_driest_mm) AS percolation_least_mm,
       if(count(deep_percolation_wettest_mm) = count(*), exact_sum(deep_percolation_wettest_mm), NULL)
           AS percolation_most_mm,
       exact_sum(deep_percolation_driest_mm * planted_ha) * 10 AS percolation_least_m3,
       if(count(deep_percolation_wettest_mm) = count(*), exact_sum(deep_percolation_wettest_mm * planted_ha) * 10, NULL)
           AS percolation_most_m3
FROM root_zone_days
WHERE day <= $to_day AND ($sites IS NULL OR list_contains($sites, site_id))
GROUP BY ALL HAVING max(day) >= $from_day
ORDER BY ALL;
