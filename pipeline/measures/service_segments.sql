-- service_segments: stretches of service time in which the evidence is the same.
-- Row    (site_id, from_at)
-- Reads  site_sun, site_midnights, site_spans, pauses, log_runs, stopped_jobs, supply_segments
-- Units  hours [h]; up_h, down_h [h] of it; the rest is unknown; evidence: log, job, meter, NULL
-- The stronger evidence wins: flow or its failing in the log, then a job, then a full tank in the log,
-- then a meter interval (up to so many hours with water: up; a longer one: up for as long as its water
-- takes at the rated flow).
-- Takes  $longest_up_interval_h
CREATE OR REPLACE TEMP TABLE service_segments AS
WITH windows AS (
    SELECT s.site_id, s.day, s.work_from_at, s.work_to_at, date_diff('second', work_from_at, work_to_at) / 3600 AS work_h
    FROM site_sun s JOIN site_spans p ON p.site_id = s.site_id AND s.day BETWEEN p.from_day AND p.to_day
    WHERE NOT EXISTS (FROM pauses u WHERE u.site_id = s.site_id AND s.day BETWEEN u.from_on AND coalesce(u.to_on, s.day))
),
metered AS (SELECT site_id, from_at, to_at, water_m3s, water_days FROM supply_segments WHERE water_m3s IS NOT NULL),
marks AS (
    SELECT site_id, work_from_at AS mark_at FROM windows
    UNION SELECT site_id, work_to_at FROM windows
    UNION SELECT site_id, from_at FROM log_runs
    UNION SELECT site_id, to_at FROM log_runs
    UNION SELECT site_id, from_at FROM stopped_jobs
    UNION SELECT site_id, to_at FROM stopped_jobs WHERE to_at IS NOT NULL
    UNION SELECT site_id, from_at FROM metered
    UNION SELECT site_id, to_at FROM metered
),
stretches AS (SELECT site_id, mark_at AS from_at, lead(mark_at) OVER (PARTITION BY site_id ORDER BY mark_at) AS to_at FROM marks),
in_service AS (
    SELECT s.site_id, w.day, s.from_at, s.to_at, w.work_h
    FROM stretches s ASOF JOIN windows w ON w.site_id = s.site_id AND w.work_from_at <= s.from_at
    WHERE s.to_at <= w.work_to_at
),
with_log AS (
    SELECT s.*, if(r.to_at >= s.to_at, r.state, NULL) AS log
    FROM in_service s ASOF LEFT JOIN log_runs r ON r.site_id = s.site_id AND r.from_at <= s.from_at
),
with_job AS (
    SELECT s.*, j.from_at IS NOT NULL AND (j.to_at IS NULL OR j.to_at >= s.to_at) AS job_down, j.record_id
    FROM with_log s ASOF LEFT JOIN stopped_jobs j ON j.site_id = s.site_id AND j.from_at <= s.from_at
),
with_meter AS (
    SELECT s.*, if(m.to_at >= s.to_at, m.water_m3s, NULL) AS water_m3s, m.water_days
    FROM with_job s ASOF LEFT JOIN metered m ON m.site_id = s.site_id AND m.from_at <= s.from_at
),
shares AS (
    SELECT s.*, date_diff('second', from_at, to_at) / 3600 AS hours,
           -- least() passes over NULL: an unknown flow would be up
           CASE WHEN NOT coalesce(water_m3s > 0, false) THEN 0
                WHEN water_days * 24 <= $longest_up_interval_h THEN 1
                WHEN NOT coalesce(p.rated_flow_m3h > 0, false) THEN 0
                ELSE least(1, water_m3s * 86400 / p.rated_flow_m3h / nullif(work_h, 0)) END AS meter_up
    FROM with_meter s JOIN site_spans p USING (site_id)
)
SELECT site_id, day, from_at, to_at, hours,
       CASE WHEN log = 'flow' THEN hours WHEN log = 'down' OR job_down THEN 0
            WHEN log = 'ready' THEN hours ELSE coalesce(meter_up, 0) * hours END AS up_h,
       CASE WHEN log = 'flow' THEN 0 WHEN log = 'down' OR job_down THEN hours ELSE 0 END AS down_h,
       CASE WHEN log IN ('flow', 'down') THEN 'log' WHEN job_down THEN 'job'
            WHEN log = 'ready' THEN 'log' WHEN meter_up > 0 THEN 'meter' END AS evidence,
       if(job_down, record_id, NULL) AS record_id
FROM shares;
