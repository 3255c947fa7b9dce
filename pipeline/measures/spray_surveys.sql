-- spray_surveys: each survey that tells something of the sprays, with what is usual at its site.
-- Row    (survey_id)
-- Reads  surveys, sites, maintenance
-- Units  usual_pressure_kpa: the median of the surveys before, where there are two or more; job_since_on: the
--        last day on which a job was ended since; nth_cans, nth_gauge: 1 is the newest with cans, and with a
--        flow or a throw
-- Takes  $to_day, $sites
CREATE OR REPLACE TEMP TABLE spray_surveys AS
WITH known AS (
    SELECT v.survey_id, v.site_id, v.surveyed_on, v.catch_depths_mm, v.mean_spray_diameter_m, v.measured_flow_m3h,
           v.measured_input_kw, v.measured_pressure_kpa, v.laterals_condition, s.pump_rated_power_kw,
           median(v.measured_pressure_kpa) OVER before AS pressure_kpa, count(v.measured_pressure_kpa) OVER before AS pressures,
           len(list_filter(v.catch_depths_mm, lambda depth: depth IS NOT NULL)) > 0 AS has_cans,
           v.mean_spray_diameter_m IS NOT NULL OR v.measured_flow_m3h IS NOT NULL OR v.laterals_condition IS NOT NULL AS has_gauge
    FROM surveys v JOIN sites s ON s.site_id = v.site_id
    WHERE v.surveyed_on <= $to_day::DATE AND ($sites IS NULL OR list_contains($sites, v.site_id))
    WINDOW before AS (PARTITION BY v.site_id ORDER BY v.surveyed_on, v.survey_id ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING)
),
ended AS (
    SELECT k.survey_id, max(j.restored_day) AS job_since_on
    FROM known k JOIN maintenance j ON j.site_id = k.site_id AND j.restored_day > k.surveyed_on AND j.restored_day <= $to_day::DATE
    GROUP BY k.survey_id
)
SELECT k.* EXCLUDE (pressure_kpa, pressures, has_cans, has_gauge), if(pressures >= 2, pressure_kpa, NULL) AS usual_pressure_kpa,
       e.job_since_on, coalesce(has_cans, false) AS has_cans,
       if(has_cans, row_number() OVER (PARTITION BY site_id, coalesce(has_cans, false) ORDER BY surveyed_on DESC, survey_id DESC), NULL) AS nth_cans,
       if(has_gauge, row_number() OVER (PARTITION BY site_id, has_gauge ORDER BY surveyed_on DESC, survey_id DESC), NULL) AS nth_gauge
FROM known k LEFT JOIN ended e USING (survey_id) WHERE coalesce(has_cans, false) OR has_gauge;
