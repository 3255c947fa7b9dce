-- site_spans: the days of which a site can be asked.
-- Row    (site_id)
-- Reads  sites, meter_readings, telemetry, maintenance, plantings
-- Units  days, both included; from_day without a commissioning date is the first day of evidence
-- Takes  $last_day: the newest day of the whole store
CREATE OR REPLACE TEMP TABLE site_spans AS
WITH evidence AS (
    SELECT site_id, min(read_day) AS first_day FROM meter_readings GROUP BY ALL
    UNION ALL SELECT site_id, min(logged_day) FROM telemetry GROUP BY ALL
    UNION ALL SELECT site_id, min(reported_day) FROM maintenance GROUP BY ALL
    UNION ALL SELECT site_id, min(planted_on) FROM plantings GROUP BY ALL
),
first_days AS (SELECT site_id, min(first_day) AS first_day FROM evidence GROUP BY ALL)
SELECT s.site_id, s.zone, s.latitude, s.longitude,
       s.pump_rated_flow_m3h AS rated_flow_m3h, s.pump_rated_power_kw AS rated_power_kw,
       s.total_dynamic_head_m,
       coalesce(s.commissioned_on, first_day) AS from_day,
       least($last_day::DATE, coalesce(s.decommissioned_on - 1, $last_day::DATE)) AS to_day
FROM sites s LEFT JOIN first_days USING (site_id)
WHERE coalesce(s.commissioned_on, first_day) <= $last_day::DATE;
