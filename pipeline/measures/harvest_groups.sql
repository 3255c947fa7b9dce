-- harvest_groups: harvests put together; a ratio is that of the sums over what can be judged.
-- Row    group_id: a crop, a site or a half-year
-- Reads  harvest_plantings, figure_productivity
-- Units  in the names. Of a site, harvest per m³ is the figure of that name: the water of a block that
--        plantings share counts once and whole
-- Takes  $by: the column to group by
CREATE OR REPLACE TEMP TABLE harvest_groups AS
WITH named AS (
    SELECT CASE $by WHEN 'crop' THEN crop WHEN 'site' THEN site_id ELSE half_year END AS group_id, * FROM harvest_plantings
),
summed AS (
    SELECT group_id, count(planted_on) AS plantings, exact_sum(harvest_kg) AS harvest_kg,
           exact_sum(if(planted_on IS NULL, harvest_kg, NULL)) AS unplanted_kg,
           exact_sum(weighed_kg) / nullif(exact_sum(harvest_kg), 0) AS weighed_share,
           exact_sum(buyer_slip_kg) / nullif(exact_sum(harvest_kg), 0) AS buyer_slip_share,
           exact_sum(recall_kg) / nullif(exact_sum(harvest_kg), 0) AS recall_share,
           exact_sum(harvest_value) AS harvest_value,
           exact_sum(priced_kg) / nullif(exact_sum(harvest_kg), 0) AS priced_share,
           exact_sum(if(planted_ha > 0, planted_ha, NULL)) AS planted_ha,
           exact_sum(if(planted_ha > 0, harvest_kg, NULL)) / exact_sum(if(planted_ha > 0, planted_ha, NULL)) AS harvest_kg_per_ha,
           count(productive_kg) AS rated_plantings, exact_sum(productive_kg) AS productive_kg,
           exact_sum(productive_m3) AS productive_m3,
           count(et_kg) AS et_plantings, exact_sum(et_kg) / exact_sum(et_m3) AS et_productivity_kg_m3,
           count(compared) AS compared_plantings, count(*) FILTER (compared = 'below') AS below_plantings,
           count(*) FILTER (compared = 'within') AS within_plantings,
           count(*) FILTER (compared = 'above') AS above_plantings,
           count(*) FILTER (planted_on IS NOT NULL AND uncosted_why IS NULL) AS costed_plantings,
           exact_sum(if(uncosted_why IS NULL, harvest_kg, NULL)) AS costed_kg,
           exact_sum(lost_kg_least) AS lost_kg_least, exact_sum(lost_kg_most) AS lost_kg_most,
           exact_sum(lost_value_least) AS lost_value_least, exact_sum(lost_value_most) AS lost_value_most
    FROM named GROUP BY ALL
)
SELECT s.* EXCLUDE (productive_kg, productive_m3),
       if($by = 'site', f.productive_kg / nullif(f.productive_m3, 0), s.productive_kg / nullif(s.productive_m3, 0))
           AS water_productivity_kg_m3
FROM summed s LEFT JOIN figure_productivity f ON $by = 'site' AND f.site_id = s.group_id
ORDER BY group_id;
