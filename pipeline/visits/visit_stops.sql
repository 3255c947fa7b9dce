-- visit_stops: the newest open job of a site that says the water stopped, and nothing has shown water since.
-- Row    (site_id)
-- Reads  maintenance, site_days
-- Takes  $as_of
CREATE OR REPLACE TEMP TABLE visit_stops AS
WITH flowed AS (  -- the log or a meter showed water on a later day
    SELECT DISTINCT m.record_id
    FROM maintenance m JOIN site_days d ON d.site_id = m.site_id AND d.day > m.reported_day
    WHERE m.restored_at IS NULL AND m.water_stopped = 'yes' AND d.up_h > 0 AND d.day <= $as_of::DATE
)
SELECT site_id, record_id AS job_id, reported_day AS job_day, kind AS job_kind, component AS job_component,
       coalesce(status, 'open') AS job_status
FROM maintenance ANTI JOIN flowed USING (record_id)
WHERE restored_at IS NULL AND water_stopped = 'yes'
QUALIFY row_number() OVER (PARTITION BY site_id ORDER BY reported_at DESC, record_id) = 1;
