-- site_spans: the days of which a site itself says something.
-- Row    (site_id); a site that has said nothing has none
-- Reads  sites, meter_readings, telemetry, maintenance, plantings
-- Units  days, both included. from_day: commissioning, without a date the first day of evidence; to_day: the
--        last day of evidence (a stamp of midnight is the end of the day before). Time outside of it is
--        unknown; the figures of a period count it so. Nothing here rests on another site's rows
-- Takes  $last_day: no later day exists; NULL: no such end
CREATE OR REPLACE TEMP TABLE site_spans AS
WITH stamped AS (
    SELECT site_id, min(read_day) AS first_day, max(read_day) AS last_day, max(read_at) AS last_at FROM meter_readings GROUP BY ALL
    UNION ALL SELECT site_id, min(logged_day), max(logged_day), max(logged_at) FROM telemetry GROUP BY ALL
),
evidence AS (
    SELECT site_id, first_day,
           last_day - if(timezone(s.zone, timezone('UTC', last_at))::TIME = TIME '00:00:00', 1, 0) AS last_day
    FROM stamped JOIN sites s USING (site_id)
    UNION ALL SELECT site_id, min(reported_day), max(greatest(reported_day, restored_day)) FROM maintenance GROUP BY ALL
    UNION ALL SELECT site_id, min(planted_on), NULL FROM plantings GROUP BY ALL
),
days AS (SELECT site_id, min(first_day) AS first_day, max(last_day) AS last_day FROM evidence GROUP BY ALL)
SELECT s.site_id, s.zone, s.latitude, s.longitude,
       s.pump_rated_flow_m3h AS rated_flow_m3h, s.pump_rated_power_kw AS rated_power_kw,
       s.total_dynamic_head_m,
       coalesce(s.commissioned_on, first_day) AS from_day,
       least(last_day, $last_day::DATE, s.decommissioned_on - 1) AS to_day
FROM sites s JOIN days USING (site_id)
WHERE last_day IS NOT NULL AND from_day <= to_day;
