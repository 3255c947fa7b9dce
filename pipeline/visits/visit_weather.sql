-- visit_weather: the weather that the days to come are taken to have, as on the last days known.
-- Row    (site_id)
-- Reads  site_weather, site_need_days
-- Units  et0_mm [mm/d]; rain_share [-] of the crops' use that rain met; rained_on: the last day with $rain_mm
-- Takes  $as_of, $horizon_days, $oldest_days, $rain_mm
CREATE OR REPLACE TEMP TABLE visit_weather AS
WITH latest AS (
    SELECT site_id, day, et0_mm FROM site_weather
    WHERE et0_mm IS NOT NULL AND day <= $as_of::DATE AND day > $as_of::DATE - $oldest_days::INTEGER
    QUALIFY row_number() OVER (PARTITION BY site_id ORDER BY day DESC) <= $horizon_days
),
drawn AS (
    SELECT l.site_id, exact_sum(n.effective_rain_m3) / nullif(exact_sum(n.effective_rain_m3 + n.net_need_m3), 0) AS rain_share
    FROM latest l JOIN site_need_days n ON n.site_id = l.site_id AND n.day = l.day GROUP BY ALL
),
rained AS (SELECT site_id, max(day) AS rained_on FROM site_weather WHERE day <= $as_of::DATE AND rain_mm >= $rain_mm GROUP BY ALL)
SELECT l.site_id, exact_sum(l.et0_mm) / count(*) AS et0_mm, any_value(coalesce(d.rain_share, 0)) AS rain_share,
       any_value(r.rained_on) AS rained_on
FROM latest l LEFT JOIN drawn d USING (site_id) LEFT JOIN rained r USING (site_id)
GROUP BY l.site_id;
