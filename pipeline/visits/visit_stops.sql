-- visit_stops: the newest open job of a site that says the water stopped, and nothing has shown water since.
-- Row    (site_id)
-- Reads  visit_jobs
CREATE OR REPLACE TEMP TABLE visit_stops AS
SELECT site_id, record_id AS job_id, reported_on AS job_day, kind AS job_kind, component AS job_component,
       waits_for AS job_status
FROM visit_jobs
WHERE water_stopped = 'yes' AND water_seen_on IS NULL
QUALIFY row_number() OVER (PARTITION BY site_id ORDER BY reported_at DESC, record_id) = 1;
