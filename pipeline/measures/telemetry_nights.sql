-- telemetry_nights: gaps in the log that lie between two service times: covered, without flow.
-- Row    (site_id, from_at): a gap
-- Reads  telemetry_steps, site_sun
CREATE OR REPLACE TEMP TABLE telemetry_nights AS
WITH gaps AS (
    SELECT site_id, before_at AS from_at, from_at AS to_at FROM telemetry_steps
    WHERE from_at > before_at AND from_at - before_at < INTERVAL 20 HOUR
)
SELECT g.* FROM gaps g
WHERE NOT EXISTS (
    SELECT 1 FROM site_sun s
    WHERE s.site_id = g.site_id AND s.day BETWEEN g.from_at::DATE - 1 AND g.to_at::DATE + 1
      AND s.work_from_at < g.to_at AND s.work_to_at > g.from_at
);
