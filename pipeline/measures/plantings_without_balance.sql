-- plantings_without_balance: plantings that stood in a period and have no balance of the root zone in it.
-- Row    (site_id, block_id, crop, planted_on): crops, no fallow
-- Reads  planting_spans, planting_water, crop_roots, sites
-- Units  why: crop (its Kc or days are unknown), roots (their depth or the depletion fraction is), service
--        (the site was in service on no day of it), weather (of no day is any known)
-- Takes  $from_day, $to_day, $sites
CREATE OR REPLACE TEMP TABLE plantings_without_balance AS
SELECT site_id, block_id, p.crop, p.planted_on, p.last_day,
       CASE WHEN NOT p.known THEN 'crop'
            WHEN r.crop IS NULL THEN 'roots'
            WHEN commissioned_on > least($to_day, coalesce(p.last_day, $to_day))
              OR decommissioned_on <= greatest($from_day, p.planted_on) THEN 'service'
            ELSE 'weather' END AS why
FROM planting_spans p
JOIN sites USING (site_id)
LEFT JOIN crop_roots r ON r.crop = p.crop AND r.crop_row = p.crop_row
ANTI JOIN planting_water w ON w.site_id = p.site_id AND w.block_id = p.block_id AND w.crop = p.crop
                        AND w.planted_on = p.planted_on
WHERE NOT p.fallow AND p.planted_on <= $to_day AND coalesce(p.last_day, $to_day) >= $from_day
  AND ($sites IS NULL OR list_contains($sites, site_id))
ORDER BY site_id, block_id, p.planted_on, crop;
