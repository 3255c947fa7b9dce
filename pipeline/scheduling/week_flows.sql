-- week_flows: what the pump delivered by the log, by month and hour of the day, whenever it pumped.
-- Row    (site_id, month, hour)
-- Reads  telemetry, log_spells, sites
-- Units  flow_m3h [m³/h]: the quantile of the intervals with flow; days [d] on which there was one. An interval
--        counts in the hour in which it ends. Dead and frozen days of the log are left out, and those on which
--        its clock is off
-- Takes  $months, $sites, $flow_threshold_share, $delivery_quantile
CREATE OR REPLACE TEMP TABLE week_flows AS
WITH pumped AS (
    SELECT t.site_id, t.logged_at, t.logged_day, t.flow_m3h, s.zone, s.pump_rated_flow_m3h
    FROM telemetry t JOIN sites s USING (site_id)
    WHERE list_contains($months::INTEGER[], month(t.logged_day)::INTEGER) AND list_contains($sites::VARCHAR[], t.site_id)
      AND t.flow_m3h > 0
),
usual AS (
    SELECT site_id, $flow_threshold_share * coalesce(any_value(pump_rated_flow_m3h), quantile_cont(flow_m3h, 0.95)) AS least_m3h
    FROM pumped GROUP BY site_id
),
trusted AS (
    SELECT p.* FROM pumped p JOIN usual USING (site_id)
    WHERE p.flow_m3h > least_m3h
      AND NOT EXISTS (FROM log_spells l WHERE l.site_id = p.site_id AND l.verdict IN ('dead', 'frozen', 'clock_off')
                      AND p.logged_at > l.from_at AND (l.to_at IS NULL OR p.logged_at <= l.to_at))
),
clocked AS (
    SELECT *, timezone(zone, timezone('UTC', logged_at - INTERVAL 1 SECOND)) AS local_at FROM trusted
)
SELECT site_id, month(local_at)::INTEGER AS month, hour(local_at)::INTEGER AS hour,
       quantile_cont(flow_m3h, $delivery_quantile::DOUBLE) AS flow_m3h, count(DISTINCT local_at::DATE) AS days
FROM clocked GROUP BY ALL;
