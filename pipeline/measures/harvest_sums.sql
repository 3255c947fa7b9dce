-- harvest_sums: the water of a harvested planting, from planting to its last harvest.
-- Row    (site_id, block_id, crop, planted_on)
-- Reads  harvest_days, planting_spans, crop_roots
-- Units  sums over the days for which they are known; *_coverage [-]: their share of all its days;
--        deficit_most [-]: of the need, what the driest course leaves unmet
CREATE OR REPLACE TEMP TABLE harvest_sums AS
SELECT site_id, block_id, crop, planted_on, any_value(yield_response) AS yield_response,
       count(*) AS days, max(others) > 0 AS shares_block, bool_or(has_meter) AS own_meter,
       max(planted_ha) AS standing_ha,
       exact_sum(if(water_cover > 0, water_m3, NULL)) AS water_m3, exact_sum(water_cover) / count(*) AS water_coverage,
       exact_sum(etc_m3) AS etc_m3, count(etc_m3) / count(*) AS etc_coverage,
       exact_sum(rain_m3) AS effective_rain_m3,
       exact_sum(etc_mm) AS etc_mm,
       exact_sum(if(etc_mm IS NULL, NULL, etc_adjusted_wettest_mm)) AS etc_adjusted_most_mm,
       exact_sum(if(etc_mm IS NULL, NULL, etc_adjusted_driest_mm)) AS etc_adjusted_least_mm
FROM harvest_days LEFT JOIN planting_spans USING (site_id, block_id, crop, planted_on)
LEFT JOIN crop_roots USING (crop, crop_row)
GROUP BY ALL
ORDER BY ALL;
