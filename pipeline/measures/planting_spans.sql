-- planting_spans: from which day to which each planting stands.
-- Row    (site_id, block_id, crop, planted_on)
-- Reads  plantings, crop_rows, need_crops
-- Units  last_day: the day before cleared_on, else the last day of the last stage; fallow without an
--        end: to the day before the block's next planting. NULL: nobody knows, so it goes on
CREATE OR REPLACE TEMP TABLE planting_spans AS
SELECT site_id, block_id, crop, planted_on,
       CASE WHEN cleared_on IS NOT NULL THEN cleared_on - 1
            WHEN fallow THEN (lead(planted_on) OVER of_block) - 1
            ELSE planted_on + season_days - 1 END AS last_day,
       fallow, season_days IS NOT NULL OR fallow AS known, area_ha, crop_row
FROM plantings JOIN crop_rows USING (site_id, block_id, crop, planted_on) JOIN need_crops USING (crop, crop_row)
WINDOW of_block AS (PARTITION BY site_id, block_id ORDER BY planted_on, crop);
