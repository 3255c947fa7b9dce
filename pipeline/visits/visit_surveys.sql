-- visit_surveys: the last survey of a site, what is usual there, and what was mended since.
-- Row    (site_id)
-- Reads  surveys, maintenance, blocks
-- Units  usual_*: the median of the surveys before the last; serviced_since: a service came after it (a
--        repair mends what had stopped, it washes no array); repaired_since: any job ended; wetted_m [m]: the smallest of the blocks
CREATE OR REPLACE TEMP TABLE visit_surveys AS
WITH ordered AS (
    SELECT *, row_number() OVER (PARTITION BY site_id ORDER BY surveyed_on DESC, survey_id) AS nth FROM surveys
),
before AS (
    SELECT site_id, median(pumping_water_level_m) AS usual_level_m, median(measured_pressure_kpa) AS usual_pressure_kpa
    FROM ordered WHERE nth > 1 GROUP BY site_id
),
serviced AS (
    SELECT site_id, max(restored_day) FILTER (WHERE kind = 'preventive') AS serviced_day, max(restored_day) AS restored_day
    FROM maintenance GROUP BY site_id
),
wetted AS (SELECT site_id, min(wetted_diameter_m) AS wetted_m FROM blocks GROUP BY site_id)
SELECT o.site_id, o.surveyed_on, o.strainer_found, o.pv_condition, o.pump_condition, o.filter_condition,
       o.laterals_condition, o.security_condition, o.catch_depths_mm, o.pumping_water_level_m,
       o.measured_flow_m3h, o.measured_pressure_kpa, o.mean_spray_diameter_m,
       b.usual_level_m, b.usual_pressure_kpa, w.wetted_m,
       coalesce(s.serviced_day > o.surveyed_on, false) AS serviced_since,
       coalesce(s.restored_day >= o.surveyed_on, false) AS repaired_since
FROM ordered o LEFT JOIN before b USING (site_id) LEFT JOIN wetted w USING (site_id) LEFT JOIN serviced s USING (site_id)
WHERE o.nth = 1;
