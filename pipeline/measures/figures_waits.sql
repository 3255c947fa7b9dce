-- figure_waits: how long the jobs that stopped the water took.
-- Row    a job restored in the period
-- Reads  figure_sites, maintenance
-- Units  wait_days [d]
CREATE OR REPLACE TEMP TABLE figure_waits AS
SELECT f.site_id, f.from_day, epoch(restored_at - reported_at) / 86400 AS wait_days
FROM figure_sites f JOIN maintenance m
    ON m.site_id = f.site_id AND m.restored_day BETWEEN f.from_day AND f.to_day
WHERE water_stopped = 'yes';
