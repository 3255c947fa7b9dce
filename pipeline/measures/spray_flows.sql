-- spray_flows: what a block's own meter tells of its flow while its valve was open.
-- Row    (site_id, block_id)
-- Reads  meters, meter_intervals, telemetry, log_spells, sites
-- Units  flow_m3h [m³/h]: where the log and the meter saw the same water, so that no other block was open: the
--        flow logged at full power, for a pump on the sun gives less without; over an hour of it, the median
--        of such intervals; flow_at_least_m3h [m³/h]: the most that an interval gives over the hours in which
--        the pump ran (of a pair of readings on one day: over the time between); *_on: local days,
--        of alike intervals the last
-- Takes  $to_day, $sites, $spray_flow_days, $flow_threshold_share, $full_power_share, $full_sun_wm2
CREATE OR REPLACE TEMP TABLE spray_flows AS
WITH alone AS (  -- of a block with two meters neither tells the whole
    SELECT site_id, block_id, any_value(meter_id) AS meter_id FROM meters
    WHERE quantity = 'water' AND block_id IS NOT NULL AND ($sites IS NULL OR list_contains($sites, site_id))
      AND coalesce(installed_on <= $to_day::DATE, true) AND coalesce(removed_on > $to_day::DATE, true)
    GROUP BY site_id, block_id HAVING count(*) = 1
),
spans AS (
    SELECT i.site_id, i.block_id, i.from_at, i.to_at, i.amount, s.pump_rated_flow_m3h, s.pump_rated_power_kw,
           timezone(s.zone, timezone('UTC', i.to_at))::DATE AS to_on,
           timezone(s.zone, timezone('UTC', i.from_at))::DATE AS from_on
    FROM meter_intervals i JOIN alone a ON a.meter_id = i.meter_id JOIN sites s ON s.site_id = i.site_id
    WHERE i.valid AND i.amount >= 10 AND i.to_at > i.from_at
      AND i.to_at > $to_day::TIMESTAMP - to_days($spray_flow_days) AND i.from_at < $to_day::TIMESTAMP + INTERVAL 1 DAY
),
trusted AS (
    SELECT * FROM spans s WHERE to_on <= $to_day::DATE AND NOT EXISTS (
        FROM log_spells l WHERE l.site_id = s.site_id AND l.from_at < s.to_at AND coalesce(l.to_at > s.from_at, true))
),
-- 15 min unless most of the site's rows are another step apart
steps AS (
    SELECT site_id, logged_at, flow_m3h, input_kw, irradiance_wm2, date_diff('second', lag(logged_at) OVER (PARTITION BY site_id ORDER BY logged_at), logged_at) AS gap_s
    FROM telemetry WHERE site_id IN (SELECT site_id FROM alone)
      AND logged_at > $to_day::TIMESTAMP - to_days($spray_flow_days + 45) AND logged_at < $to_day::TIMESTAMP + INTERVAL 2 DAY
),
usual AS (  -- of two steps that are as frequent the shorter
    SELECT site_id, if(sum(rows) < 10, 900, arg_max(gap_s, (rows, -gap_s))) / 3600 AS step_h
    FROM (SELECT site_id, gap_s, count(gap_s) AS rows FROM steps GROUP BY ALL) GROUP BY site_id
),
logged AS (
    SELECT t.site_id, t.block_id, t.from_at, any_value(t.to_on) AS to_on, any_value(t.amount) AS amount,
           exact_sum(p.flow_m3h * u.step_h) AS log_m3,
           exact_sum(if(p.flow_m3h > $flow_threshold_share * coalesce(t.pump_rated_flow_m3h, 0), u.step_h, 0)) AS run_h,
           exact_sum(if(p.flow_m3h IS NOT NULL AND (p.input_kw >= $full_power_share * t.pump_rated_power_kw
                        OR t.pump_rated_power_kw IS NULL AND p.irradiance_wm2 >= $full_sun_wm2), u.step_h, 0)) AS full_h,
           median(p.flow_m3h) FILTER (p.input_kw >= $full_power_share * t.pump_rated_power_kw
                        OR t.pump_rated_power_kw IS NULL AND p.irradiance_wm2 >= $full_sun_wm2) AS full_m3h
    FROM trusted t JOIN steps p ON p.site_id = t.site_id AND p.logged_at > t.from_at AND p.logged_at <= t.to_at
    JOIN usual u ON u.site_id = t.site_id GROUP BY ALL
),
by_log AS (
    SELECT site_id, block_id,
           median(full_m3h * amount / log_m3) FILTER (full_h >= 1 AND amount BETWEEN 0.9 * log_m3 AND 1.1 * log_m3) AS flow_m3h,
           max(to_on) FILTER (full_h >= 1 AND amount BETWEEN 0.9 * log_m3 AND 1.1 * log_m3) AS flow_on,
           max(amount / run_h) FILTER (run_h > 0 AND amount <= 1.1 * log_m3) AS run_m3h,
           arg_max(to_on, (amount / run_h, to_on)) FILTER (run_h > 0 AND amount <= 1.1 * log_m3) AS run_on
    FROM logged GROUP BY ALL
),
by_pair AS (
    SELECT site_id, block_id, max(amount * 3600 / epoch(to_at - from_at)) AS pair_m3h,
           arg_max(to_on, (amount / epoch(to_at - from_at), to_on)) AS pair_on
    FROM spans WHERE from_on = to_on AND to_on <= $to_day::DATE GROUP BY ALL
)
SELECT a.site_id, a.block_id, l.flow_m3h, l.flow_on, greatest(l.run_m3h, p.pair_m3h) AS flow_at_least_m3h,
       CASE WHEN p.pair_m3h IS NULL OR l.run_m3h >= p.pair_m3h THEN l.run_on ELSE p.pair_on END AS at_least_on
FROM alone a LEFT JOIN by_log l ON l.site_id = a.site_id AND l.block_id = a.block_id
LEFT JOIN by_pair p ON p.site_id = a.site_id AND p.block_id = a.block_id;
