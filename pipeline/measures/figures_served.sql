-- figure_served: area that got its need, and area that can't be judged, mean over the months with need.
-- Row    (site_id, from_day); sites with need in the period only
-- Reads  figure_sites, figure_block_water, site_days, site_need_days, block_days
-- Units  ha. An area that can't be judged is not served, whatever its ratio
-- Takes  $served_supply [-], $judged_coverage [-]
CREATE OR REPLACE TEMP TABLE figure_served AS
WITH months AS (
    SELECT site_id, from_day, greatest(month_on, service_from) AS month_from,
           least((month_on + INTERVAL 1 MONTH)::DATE - 1, service_to) AS month_to
    FROM (SELECT *, unnest(generate_series(date_trunc('month', service_from), service_to::TIMESTAMP,
                                           INTERVAL 1 MONTH))::DATE AS month_on
          FROM figure_sites WHERE service_days > 0)
),
site_months AS (
    SELECT m.site_id, m.from_day, m.month_from, exact_sum(if(n.known, n.need_m3, NULL)) AS need_m3,
           exact_sum(coalesce(water_cover, 0)) AS cover_days,
           exact_sum(if(n.known AND n.need_m3 IS NOT NULL AND water_cover > 0, water_m3, NULL)) AS supply_m3,
           exact_sum(if(n.known AND water_m3 IS NOT NULL, n.need_m3 * water_cover, NULL)) AS supply_need_m3
    FROM months m
    JOIN site_need_days n ON n.site_id = m.site_id AND n.day BETWEEN m.month_from AND m.month_to
    LEFT JOIN site_days d ON d.site_id = n.site_id AND d.day = n.day
    GROUP BY ALL
),
block_months AS (  -- cover and supply of a block's own meter; NULL without one
    SELECT m.site_id, m.from_day, m.month_from, m.month_to, b.block_id, any_value(b.block_ha) AS block_ha,
           exact_sum(if(b.known, b.need_m3, NULL)) AS need_m3,
           exact_sum(w.water_cover) AS cover_days, exact_sum(if(b.need_m3 IS NULL, NULL, w.water_m3)) AS supply_m3,
           exact_sum(b.need_m3 * w.water_cover) AS supply_need_m3
    FROM months m
    JOIN block_days b ON b.site_id = m.site_id AND b.day BETWEEN m.month_from AND m.month_to
    LEFT JOIN figure_block_water w
        ON w.site_id = b.site_id AND w.block_id = b.block_id AND w.day = b.day AND NOT w.is_long
    GROUP BY ALL
),
metered AS (SELECT DISTINCT site_id, block_id FROM figure_block_water),
judged AS (
    SELECT b.site_id, b.from_day, b.month_from, b.block_ha,
           coalesce(if(metered.block_id IS NULL, s.cover_days, b.cover_days), 0)
               / (b.month_to - b.month_from + 1) AS coverage,
           if(metered.block_id IS NULL, s.supply_m3 / nullif(s.supply_need_m3, 0),
              b.supply_m3 / nullif(b.supply_need_m3, 0)) AS supply
    FROM block_months b JOIN site_months s USING (site_id, from_day, month_from)
    LEFT JOIN metered USING (site_id, block_id)
    WHERE b.need_m3 > 0 AND s.need_m3 > 0
)
SELECT site_id, from_day,
       exact_sum(if(supply >= $served_supply AND coverage >= $judged_coverage, block_ha, 0))
           / count(DISTINCT month_from) AS served_ha,
       exact_sum(if(coverage < $judged_coverage, block_ha, 0)) / count(DISTINCT month_from) AS unjudged_ha
FROM judged GROUP BY ALL;
