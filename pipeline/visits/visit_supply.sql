-- visit_supply: water against need on each site's latest known days.
-- Row    (site_id)
-- Reads  site_days, site_need_days, visit_meters
-- Units  supply [-]: water over the need of the time in which the site was not known to be down: a stop that
--        was mended is no shortage that goes on; known_days [d] of them; NULL: unknown. What a counter says
--        since it got stuck is left out, its days at rest as well
-- Takes  $as_of, $weeks_days, $oldest_days
CREATE OR REPLACE TEMP TABLE visit_supply AS
WITH told AS (
    SELECT d.site_id, d.day, d.water_m3, d.water_cover, n.need_m3 * d.water_cover AS need_m3,
           1 - coalesce(d.down_h / nullif(d.service_h, 0), 0) AS up_share
    FROM site_days d
    JOIN site_need_days n ON n.site_id = d.site_id AND n.day = d.day
    LEFT JOIN visit_meters k ON k.site_id = d.site_id
    WHERE d.day <= $as_of::DATE AND d.day > $as_of::DATE - $oldest_days::INTEGER
      AND n.known AND n.need_m3 IS NOT NULL AND d.water_cover > 0 AND NOT d.paused
      AND (k.stuck_since IS NULL OR d.day < k.stuck_since)
),
latest AS (
    SELECT * FROM told WHERE up_share >= 0.5
    QUALIFY row_number() OVER (PARTITION BY site_id ORDER BY day DESC) <= $weeks_days
)
SELECT site_id, max(day) AS supply_until, exact_sum(water_cover) AS known_days,
       -- two days of running are the least that tells anything
       CASE WHEN exact_sum(water_cover * up_share) >= 2
            THEN exact_sum(water_m3) / nullif(exact_sum(need_m3 * up_share), 0) END AS supply
FROM latest GROUP BY site_id;
