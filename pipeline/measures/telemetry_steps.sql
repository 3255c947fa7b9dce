-- telemetry_steps: the time that each row of the controller's log speaks for.
-- Row    (site_id, to_at): the mean of the interval that ends there
-- Reads  telemetry
-- Units  flow_m3h [m³/h]; input_kw [kW]; irradiance_wm2 [W/m²]; tank_level_pct [%]; day: local, of the
--        end. The step is 15 min unless most of the site's rows are another step apart; a row never
--        speaks for the time of the one before
CREATE OR REPLACE TEMP TABLE telemetry_steps AS
WITH gaps AS (
    SELECT site_id, logged_at, logged_day, flow_m3h, input_kw, irradiance_wm2, tank_level_pct,
           lag(logged_at) OVER one_site AS before_at
    FROM telemetry
    WINDOW one_site AS (PARTITION BY site_id ORDER BY logged_at)
),
usual AS (
    SELECT site_id, if(sum(rows) OVER (PARTITION BY site_id) < 10, 900, gap_s) AS step_s
    FROM (SELECT site_id, date_diff('second', before_at, logged_at) AS gap_s, count(before_at) AS rows FROM gaps GROUP BY ALL)
    QUALIFY row_number() OVER (PARTITION BY site_id ORDER BY rows DESC, gap_s) = 1
)
SELECT site_id, greatest(logged_at - to_seconds(step_s), coalesce(before_at, logged_at - to_seconds(step_s))) AS from_at,
       logged_at AS to_at, before_at, logged_day AS day, flow_m3h, input_kw, irradiance_wm2, tank_level_pct
FROM gaps JOIN usual USING (site_id);
