-- visit_log: what the controller's log says of the array and of the use of the sun.
-- Row    (site_id)
-- Reads  telemetry, sites
-- Units  input_ratio [-]: input per irradiance while pumping under high sun in the latest of two weeks, over the
--        best quarter of the weeks before; weekly_fall [-]: the deepest week over the week before it; fell_on: first day of
--        that week; sun_used [-]: share of the sunny time with flow; NULL: too little log
-- Takes  $as_of, $flow_threshold_share, $input_threshold_share
CREATE OR REPLACE TEMP TABLE visit_log AS
WITH sunny AS (
    SELECT t.site_id, ($as_of::DATE - t.logged_day) // 7 AS week, t.flow_m3h > $flow_threshold_share * s.pump_rated_flow_m3h AS flows,
           CASE WHEN t.input_kw > $input_threshold_share * s.pump_rated_power_kw AND t.irradiance_wm2 >= 600 THEN t.input_kw / t.irradiance_wm2 END AS kw_per_wm2
    FROM telemetry t JOIN sites s USING (site_id)
    WHERE t.irradiance_wm2 >= 300 AND t.logged_day <= $as_of::DATE AND t.logged_day > $as_of::DATE - 26 * 7
),
weeks AS (
    -- the better part of a week: an interval in which the pump stopped for a full tank is no sign
    SELECT site_id, week, quantile_cont(kw_per_wm2, 0.8) AS kw_per_wm2 FROM sunny GROUP BY ALL HAVING count(kw_per_wm2) >= 12
),
falls AS (
    SELECT site_id, week, kw_per_wm2, kw_per_wm2 / lag(kw_per_wm2) OVER (PARTITION BY site_id ORDER BY week DESC) AS fall FROM weeks
),
levels AS (
    SELECT site_id, arg_min(kw_per_wm2, week) FILTER (WHERE week < 2) / quantile_cont(kw_per_wm2, 0.75) FILTER (WHERE week >= 2) AS input_ratio,
           min(fall) AS weekly_fall, $as_of::DATE - (6 + 7 * arg_min(week, fall))::INTEGER AS fell_on, count(*) FILTER (WHERE week >= 2) AS before_weeks
    FROM falls GROUP BY site_id
),
used AS (
    SELECT site_id, count(*) FILTER (WHERE flows) / count(flows) AS sun_used FROM sunny WHERE week < 2 GROUP BY site_id HAVING count(flows) >= 40
)
SELECT site_id, if(before_weeks >= 3, input_ratio, NULL) AS input_ratio, weekly_fall, fell_on, sun_used
FROM levels FULL JOIN used USING (site_id);
