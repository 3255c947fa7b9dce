-- visit_facts: what is known of each site in service on the evening of a day.
-- Row    (site_id)
-- Reads  sites, the visit_* tables, site_days, outages, maintenance, alarms, pauses
-- Units  supply [-]: water over need; *_kwh_per_m3; down_share [-]: of the whole programme's known
--        service time; ages and counts [d]; NULL: unknown
-- Takes  $as_of, $weeks_days, $sites: NULL for all
CREATE OR REPLACE TEMP TABLE visit_facts AS
WITH here AS (
    SELECT * FROM sites
    WHERE coalesce(commissioned_on, $as_of::DATE) <= $as_of::DATE AND (decommissioned_on IS NULL OR decommissioned_on > $as_of::DATE)
      AND ($sites::VARCHAR[] IS NULL OR list_contains($sites::VARCHAR[], site_id))
),
time AS (
    SELECT site_id, exact_sum(up_h) AS up_h, exact_sum(down_h) AS down_h, max(day) FILTER (WHERE up_h > 0) AS up_on
    FROM site_days WHERE day > $as_of::DATE - $weeks_days::INTEGER AND day <= $as_of::DATE GROUP BY ALL
),
everywhere AS (  -- the whole programme, whoever asks
    SELECT exact_sum(down_h) / nullif(exact_sum(up_h) + exact_sum(down_h), 0) AS down_share
    FROM site_days WHERE day > $as_of::DATE - 90 AND day <= $as_of::DATE
),
lifting AS (  -- under 50 m³ or 20 kWh a counter's own steps are too coarse
    SELECT site_id, if(now_m3 >= 50 AND now_kwh >= 20, now_kwh / now_m3, NULL) AS now_kwh_per_m3,
           if(before_m3 >= 50 AND before_kwh >= 20, before_kwh / before_m3, NULL) AS before_kwh_per_m3
    FROM (SELECT site_id,
                 exact_sum(if(day > $as_of::DATE - $weeks_days::INTEGER, both_energy_kwh, NULL)) AS now_kwh, exact_sum(if(day > $as_of::DATE - $weeks_days::INTEGER, both_water_m3, NULL)) AS now_m3,
                 exact_sum(if(day <= $as_of::DATE - 60, both_energy_kwh, NULL)) AS before_kwh, exact_sum(if(day <= $as_of::DATE - 60, both_water_m3, NULL)) AS before_m3
          FROM site_days WHERE day > $as_of::DATE - 240 AND day <= $as_of::DATE GROUP BY ALL)
),
energy AS (
    SELECT site_id, exact_sum(if(day > $as_of::DATE - 14, energy_kwh, NULL)) / nullif(count(energy_kwh) FILTER (WHERE day > $as_of::DATE - 14), 0)
               / nullif(quantile_cont(energy_kwh, 0.9), 0) AS energy_used
    FROM site_days WHERE day > $as_of::DATE - 365 AND day <= $as_of::DATE AND energy_cover > 0.9
    GROUP BY site_id HAVING count(*) >= 60
),
down_now AS (
    SELECT site_id, min(from_day) AS down_since, exact_sum(down_h) AS down_h, arg_min(evidence, from_at) AS down_by
    FROM outages WHERE to_at IS NULL GROUP BY ALL
),
serviced AS (  -- an open job is no service yet, unless somebody was there
    SELECT m.site_id, max(coalesce(m.restored_day, m.arrived_day, m.reported_day)) AS serviced_on
    FROM maintenance m LEFT JOIN visit_jobs j USING (record_id)
    WHERE m.kind = 'preventive' AND (m.arrived_day IS NOT NULL OR j.record_id IS NULL)
    GROUP BY ALL
),
restored AS (SELECT site_id, max(restored_at) AS restored_at FROM maintenance WHERE kind <> 'preventive' GROUP BY ALL),
raised AS (
    SELECT a.site_id, max(raised_day) FILTER (WHERE kind = 'tamper') AS tamper_on,
           max(raised_day) FILTER (WHERE kind = 'dry_run') AS dry_run_on,
           max(raised_day) FILTER (WHERE kind = 'controller_fault') AS fault_on
    FROM alarms a LEFT JOIN restored r USING (site_id)
    WHERE raised_day > $as_of::DATE - 30 AND cleared_at IS NULL AND (restored_at IS NULL OR restored_at < raised_at)
    GROUP BY ALL
),
paused AS (
    SELECT site_id, min(from_on) AS paused_since FROM pauses
    WHERE from_on <= $as_of::DATE AND (to_on IS NULL OR to_on > $as_of::DATE) GROUP BY ALL
),
newest AS (SELECT site_id, max(newest) AS newest FROM visit_streams GROUP BY ALL),
silent AS (  -- the stream that has been silent for longest beyond what is usual for it: three of its gaps
    SELECT site_id, stream AS silent_stream, newest AS silent_from, age_days AS silent_days, others_until,
           others_until - newest AS behind_days, greatest(3, coalesce(3 * usual_days, 14)) AS patience_days
    FROM visit_streams WHERE age_days > greatest(3, coalesce(3 * usual_days, 14))
    QUALIFY row_number() OVER (PARTITION BY site_id ORDER BY age_days / greatest(3, coalesce(3 * usual_days, 14)) DESC, stream) = 1
)
SELECT h.site_id, h.commissioned_on, h.pump_rated_flow_m3h,
       u.supply, u.known_days, u.supply_until, w.rained_on, e.down_share,
       t.up_h, t.down_h AS recent_down_h, t.up_on,
       l.now_kwh_per_m3, l.before_kwh_per_m3, y.energy_used, o.input_ratio, o.weekly_fall, o.fell_on, o.sun_used,
       b.reached_share, b.doubled, timezone(h.zone, timezone('UTC', b.doubled_at))::DATE AS doubled_since,
       d.down_since, d.down_h, d.down_by, j.job_id, j.job_day, j.job_kind, j.job_component, j.job_status,
       coalesce(s.serviced_on, h.commissioned_on) AS serviced_on, v.* EXCLUDE (site_id),
       x.tamper_on, x.dry_run_on, x.fault_on, k.stuck_since, k.stuck_reason, k.still_since, k.still_days, k.energy_still,
       p.paused_since, z.silent_stream, z.silent_from, z.silent_days, z.behind_days, z.patience_days, z.others_until,
       n.newest, $as_of::DATE - n.newest AS data_age_days
FROM here h CROSS JOIN everywhere e
LEFT JOIN visit_supply u USING (site_id) LEFT JOIN visit_weather w USING (site_id) LEFT JOIN time t USING (site_id)
LEFT JOIN lifting l USING (site_id) LEFT JOIN energy y USING (site_id) LEFT JOIN visit_log o USING (site_id)
LEFT JOIN visit_blocks b USING (site_id) LEFT JOIN down_now d USING (site_id) LEFT JOIN visit_stops j USING (site_id)
LEFT JOIN serviced s USING (site_id) LEFT JOIN visit_surveys v USING (site_id) LEFT JOIN raised x USING (site_id)
LEFT JOIN visit_meters k USING (site_id) LEFT JOIN paused p USING (site_id) LEFT JOIN silent z USING (site_id)
LEFT JOIN newest n USING (site_id)
ORDER BY h.site_id;
