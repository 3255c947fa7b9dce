-- crop_rows: which values each planting goes by.
-- Row    (site_id, block_id, crop, planted_on)
-- Reads  plantings, sites, told_rows (crop, month, south, crop_row)
-- Units  crop_row: a row of FAO-56 Table 11 by its region and months; empty: the programme's own values, the
--        crop's default row, fallow, or a crop that nobody knows
CREATE OR REPLACE TEMP TABLE crop_rows AS
SELECT p.site_id, p.block_id, p.crop, p.planted_on, coalesce(t.crop_row, '') AS crop_row
FROM plantings p JOIN sites s USING (site_id)
LEFT JOIN told_rows t ON t.crop = p.crop AND t.month = month(p.planted_on) AND t.south = (s.latitude < 0);
