-- visit_facts: what is known of each site in service on the morning after a day.
-- Row    (site_id)
-- Reads  sites, site_days, site_need_days, outages, maintenance, surveys, alarms, meter_intervals,
--        meter_readings, telemetry, blocks
-- Units  *_m3_per_day [m³/d] over the last weeks' days of which both are known; supply: water over need;
--        *_kwh_per_m3; ages and counts [d]; NULL: unknown
-- Takes  $as_of, $weeks_days: the days looked back; $horizon_days
CREATE OR REPLACE TEMP TABLE visit_facts AS
WITH here AS (
    SELECT * FROM sites
    WHERE coalesce(commissioned_on, $as_of::DATE) <= $as_of::DATE AND (decommissioned_on IS NULL OR decommissioned_on > $as_of::DATE)
),
recent AS (
    SELECT d.site_id, sum(d.water_m3) AS water_m3, sum(n.need_m3 * d.water_cover) AS need_m3, sum(d.water_cover) AS days
    FROM site_days d JOIN site_need_days n ON n.site_id = d.site_id AND n.day = d.day
    WHERE d.day > $as_of::DATE - $weeks_days::INTEGER AND d.day <= $as_of::DATE AND n.known AND n.need_m3 IS NOT NULL
      AND d.water_cover > 0 AND NOT d.paused
    GROUP BY ALL
),
coming AS (  -- the need of the days to come: as on the last days of which it is known
    SELECT site_id, avg(need_m3) AS need_m3_per_day, sum(need_m3) / nullif(sum(planted_ha), 0) AS need_m3_per_ha_day
    FROM (SELECT * FROM site_need_days WHERE known AND need_m3 IS NOT NULL AND day <= $as_of::DATE
          QUALIFY row_number() OVER (PARTITION BY site_id ORDER BY day DESC) <= $horizon_days)
    WHERE day > $as_of::DATE - 60
    GROUP BY site_id
),
time AS (
    SELECT site_id, sum(up_h) AS up_h, sum(down_h) AS down_h, sum(service_h) AS service_h
    FROM site_days WHERE day > $as_of::DATE - $weeks_days::INTEGER AND day <= $as_of::DATE GROUP BY ALL
),
lifting AS (
    SELECT site_id,
           sum(both_energy_kwh) FILTER (WHERE day > $as_of::DATE - 30) / nullif(sum(both_water_m3) FILTER (WHERE day > $as_of::DATE - 30), 0) AS now_kwh_per_m3,
           sum(both_energy_kwh) FILTER (WHERE day <= $as_of::DATE - 60) / nullif(sum(both_water_m3) FILTER (WHERE day <= $as_of::DATE - 60), 0) AS before_kwh_per_m3
    FROM site_days WHERE day > $as_of::DATE - 240 AND day <= $as_of::DATE GROUP BY ALL
),
to_blocks AS (
    SELECT site_id, sum(blocks_water_m3) AS blocks_m3, sum(water_m3) AS source_m3
    FROM site_days WHERE day > $as_of::DATE - 45 AND day <= $as_of::DATE AND blocks_water_m3 IS NOT NULL AND water_m3 IS NOT NULL GROUP BY ALL
),
down_now AS (SELECT site_id, min(from_day) AS down_since, sum(down_h) AS down_h, any_value(evidence) AS down_by FROM outages WHERE to_at IS NULL GROUP BY ALL),
jobs AS (
    SELECT site_id,
           arg_max(record_id, reported_at) AS job_id, max(reported_day) AS job_day,
           arg_max(coalesce(component, ''), reported_at) AS job_component, arg_max(coalesce(status, 'open'), reported_at) AS job_status
    FROM maintenance WHERE restored_at IS NULL AND water_stopped = 'yes' GROUP BY ALL
),
serviced AS (SELECT site_id, max(coalesce(restored_day, reported_day)) AS serviced_on FROM maintenance WHERE kind = 'preventive' GROUP BY ALL),
surveyed AS (
    SELECT site_id, surveyed_on, strainer_found, pv_condition, pump_condition, filter_condition, laterals_condition,
           measured_flow_m3h, catch_depths_mm, pumping_water_level_m
    FROM surveys QUALIFY row_number() OVER (PARTITION BY site_id ORDER BY surveyed_on DESC, survey_id) = 1
),
levels AS (SELECT site_id, median(pumping_water_level_m) AS usual_level_m FROM surveys GROUP BY ALL),
raised AS (
    SELECT site_id, max(raised_day) FILTER (WHERE kind = 'tamper') AS tamper_on,
           max(raised_day) FILTER (WHERE kind = 'dry_run') AS dry_run_on,
           max(raised_day) FILTER (WHERE kind = 'controller_fault') AS fault_on
    FROM alarms WHERE raised_day > $as_of::DATE - 30 GROUP BY ALL
),
stuck AS (
    SELECT site_id, min(from_at)::DATE AS stuck_since, count(*) AS stuck_intervals, arg_max(reason, to_at) AS stuck_reason
    FROM meter_intervals WHERE verdict = 'stuck' AND to_at > $as_of::TIMESTAMP - INTERVAL 35 DAY GROUP BY ALL
),
newest AS (
    SELECT site_id, max(day) AS newest FROM (
        SELECT site_id, max(read_day) AS day FROM meter_readings GROUP BY ALL
        UNION ALL SELECT site_id, max(logged_day) FROM telemetry GROUP BY ALL) GROUP BY ALL
),
area AS (SELECT site_id, sum(area_ha) AS blocks_ha FROM blocks GROUP BY ALL)
SELECT h.site_id, h.name, h.district, h.commissioned_on, h.pump_rated_flow_m3h, h.pump_type, a.blocks_ha,
       r.water_m3 / nullif(r.days, 0) AS water_m3_per_day, r.need_m3 / nullif(r.days, 0) AS need_m3_per_day,
       r.water_m3 / nullif(r.need_m3, 0) AS supply, r.days AS known_days,
       c.need_m3_per_day AS coming_m3_per_day, c.need_m3_per_ha_day AS coming_m3_per_ha_day,
       t.up_h, t.down_h AS recent_down_h, t.service_h,
       l.now_kwh_per_m3, l.before_kwh_per_m3, b.blocks_m3, b.source_m3,
       d.down_since, d.down_h, d.down_by, j.job_id, j.job_day, j.job_component, j.job_status,
       coalesce(s.serviced_on, h.commissioned_on) AS serviced_on,
       v.surveyed_on, v.strainer_found, v.pv_condition, v.pump_condition, v.filter_condition, v.laterals_condition,
       v.measured_flow_m3h, v.catch_depths_mm, v.pumping_water_level_m, g.usual_level_m,
       x.tamper_on, x.dry_run_on, x.fault_on, k.stuck_since, k.stuck_intervals, k.stuck_reason,
       w.newest, $as_of::DATE - w.newest AS data_age_days
FROM here h
LEFT JOIN recent r USING (site_id) LEFT JOIN coming c USING (site_id) LEFT JOIN time t USING (site_id)
LEFT JOIN lifting l USING (site_id) LEFT JOIN to_blocks b USING (site_id) LEFT JOIN down_now d USING (site_id)
LEFT JOIN jobs j USING (site_id) LEFT JOIN serviced s USING (site_id) LEFT JOIN surveyed v USING (site_id)
LEFT JOIN levels g USING (site_id) LEFT JOIN raised x USING (site_id) LEFT JOIN stuck k USING (site_id)
LEFT JOIN newest w USING (site_id) LEFT JOIN area a USING (site_id)
WHERE $sites IS NULL OR list_contains($sites, h.site_id)
ORDER BY h.site_id;
