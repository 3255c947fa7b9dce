-- harvest_plantings: a harvest against the water that its planting got.
-- Row    (site_id, block_id, crop, planted_on): the plantings whose last harvest lies in the period; and what was
--        harvested in it of a crop of which no planting is on record before, with planted_on empty
-- Reads  figure_harvests, figure_sites, harvest_sums, harvest_losses, published_ranges, harvests, plantings, blocks
-- Units  in the names; *_share [-] of harvest_kg; NULL: unknown. half_year: ISO 8601 months from April or October,
--        in which it was planted
CREATE OR REPLACE TEMP TABLE harvest_plantings AS
WITH unplanted AS (
    SELECT h.site_id, h.block_id, h.crop, min(h.harvested_on) AS first_on, max(h.harvested_on) AS last_on,
           count(*) AS harvests, exact_sum(h.harvest_kg) AS kg,
           coalesce(exact_sum(if(h.how_known = 'weighed', h.harvest_kg, NULL)), 0) AS weighed_kg,
           coalesce(exact_sum(if(h.how_known = 'buyer_slip', h.harvest_kg, NULL)), 0) AS buyer_slip_kg,
           coalesce(exact_sum(if(h.how_known = 'recall', h.harvest_kg, NULL)), 0) AS recall_kg,
           exact_sum(h.harvest_kg * h.price_per_kg) AS value,
           coalesce(exact_sum(if(h.price_per_kg IS NULL, NULL, h.harvest_kg)), 0) AS priced_kg
    FROM harvests h JOIN figure_sites f ON h.site_id = f.site_id AND h.harvested_on BETWEEN f.from_day AND f.to_day
    WHERE NOT EXISTS (FROM plantings p WHERE p.site_id = h.site_id AND p.block_id = h.block_id
                      AND p.crop = h.crop AND p.planted_on <= h.harvested_on)
    GROUP BY ALL
),
harvested AS (
    SELECT * EXCLUDE (from_day) FROM figure_harvests
    UNION ALL BY NAME
    SELECT * FROM unplanted
),
known AS (
    SELECT h.*, s.* EXCLUDE (site_id, block_id, crop, planted_on), l.* EXCLUDE (site_id, block_id, crop, planted_on),
           f.* EXCLUDE (crop),
           coalesce(s.standing_ha, p.area_ha, if(s.shares_block IS NOT DISTINCT FROM FALSE, b.area_ha, NULL)) AS planted_ha
    FROM harvested h
    LEFT JOIN harvest_sums s USING (site_id, block_id, crop, planted_on)
    LEFT JOIN harvest_losses l USING (site_id, block_id, crop, planted_on)
    LEFT JOIN published_ranges f USING (crop)
    LEFT JOIN plantings p USING (site_id, block_id, crop, planted_on)
    LEFT JOIN blocks b USING (site_id, block_id)
),
rated AS (
    SELECT *,
           if(water_coverage >= least_coverage, kg, NULL) AS productive_kg,
           if(water_coverage >= least_coverage, water_m3, NULL) AS productive_m3,
           if(etc_coverage >= least_coverage AND etc_m3 > 0, kg, NULL) AS et_kg,
           if(etc_coverage >= least_coverage AND etc_m3 > 0, etc_m3, NULL) AS et_m3,
           et_kg / et_m3 AS et_productivity
    FROM known
)
SELECT site_id, block_id, crop, planted_on,
       CASE WHEN month(planted_on) BETWEEN 4 AND 9 THEN strftime(planted_on, '%Y-04/%Y-09')
            WHEN month(planted_on) >= 10 THEN format('{}-10/{}-03', year(planted_on), year(planted_on) + 1)
            WHEN planted_on IS NOT NULL THEN format('{}-10/{}-03', year(planted_on) - 1, year(planted_on)) END AS half_year,
       first_on AS first_harvest_on, last_on AS last_harvest_on, harvests, kg AS harvest_kg,
       weighed_kg / nullif(kg, 0) AS weighed_share, buyer_slip_kg / nullif(kg, 0) AS buyer_slip_share,
       recall_kg / nullif(kg, 0) AS recall_share,
       value AS harvest_value, priced_kg / nullif(kg, 0) AS priced_share,
       planted_ha, kg / nullif(planted_ha, 0) AS harvest_kg_per_ha,
       days, shares_block, own_meter, water_m3, water_coverage, effective_rain_m3, etc_m3, etc_coverage,
       productive_kg / nullif(productive_m3, 0) AS water_productivity_kg_m3,
       et_productivity AS et_productivity_kg_m3,
       product, published_least_kg_m3, published_most_kg_m3, published_in, published_how_known,
       CASE WHEN et_productivity IS NULL OR published_least_kg_m3 IS NULL THEN NULL
            WHEN et_productivity < published_least_kg_m3 THEN 'below'
            WHEN et_productivity > published_most_kg_m3 THEN 'above' ELSE 'within' END AS compared,
       CASE WHEN planted_on IS NULL THEN 'no_planting'
            WHEN published_least_kg_m3 IS NULL THEN 'no_range'
            WHEN planted_ha = 0 THEN 'no_area'
            WHEN et_productivity IS NULL THEN 'no_need' END AS uncompared_why,
       CASE WHEN planted_on IS NULL THEN 'no_planting'
            WHEN water_coverage = 0 THEN 'no_meter'
            WHEN water_coverage < least_coverage THEN 'few_readings'
            WHEN water_m3 = 0 THEN 'no_water' END AS unrated_why,
       yield_loss_least, yield_loss_most,
       CASE WHEN planted_on IS NULL THEN 'no_planting'
            WHEN etc_coverage < least_coverage OR etc_coverage IS NULL THEN 'no_need'
            WHEN yield_response IS NULL THEN 'no_response'
            WHEN deficit_most > 0.5 THEN 'beyond' END AS uncosted_why,
       -- of what is left, what would be whole: FAO-33 drew its line up to a deficit of a half
       if(uncosted_why IS NULL, kg / nullif(1 - yield_loss_least, 0) - kg, NULL) AS lost_kg_least,
       if(uncosted_why IS NULL, kg / nullif(1 - yield_loss_most, 0) - kg, NULL) AS lost_kg_most,
       lost_kg_least * value / nullif(priced_kg, 0) AS lost_value_least,
       lost_kg_most * value / nullif(priced_kg, 0) AS lost_value_most,
       productive_kg, productive_m3, et_kg, et_m3, weighed_kg, buyer_slip_kg, recall_kg, priced_kg
FROM rated
ORDER BY site_id, block_id, planted_on, crop;
