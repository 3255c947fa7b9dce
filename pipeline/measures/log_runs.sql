-- log_runs: stretches of the log that say the same.
-- Row    (site_id, from_at)
-- Reads  trusted_steps, site_thresholds
-- Units  state: flow; ready, with a full tank; down, for an hour or more no input although the sun would do
--        and the tank is not full, or input without flow. Other rows of the log prove nothing
-- Takes  $tank_full_pct, $long_down_run_h
CREATE OR REPLACE TEMP TABLE log_runs AS
WITH told AS (
    SELECT site_id, from_at, to_at, before_at,
           CASE WHEN flow_m3h > pumping_m3h THEN 'flow'
                WHEN input_kw > running_kw AND flow_m3h IS NOT NULL THEN 'down'
                WHEN tank_level_pct >= $tank_full_pct THEN 'ready'
                WHEN input_kw <= running_kw AND irradiance_wm2 >= start_wm2 AND tank_level_pct IS NOT NULL THEN 'down' END AS state
    FROM trusted_steps JOIN site_thresholds USING (site_id) WHERE NOT clock_off
),
turns AS (  -- the first row of each run, with the end of the run before it
    SELECT site_id, from_at, state, lag(to_at) OVER one_site AS before_to_at
    FROM told
    WINDOW one_site AS (PARTITION BY site_id ORDER BY to_at)
    QUALIFY state IS DISTINCT FROM lag(state) OVER one_site OR coalesce(before_at <> from_at, true)
),
runs AS (
    SELECT site_id, from_at, coalesce(lead(before_to_at) OVER (PARTITION BY site_id ORDER BY from_at), last_at) AS to_at, state
    FROM turns JOIN (SELECT site_id, max(to_at) AS last_at FROM trusted_steps WHERE NOT clock_off GROUP BY site_id) USING (site_id)
)
FROM runs
WHERE state IN ('flow', 'ready') OR (state = 'down' AND date_diff('second', from_at, to_at) >= $long_down_run_h * 3600);
