-- stopped_jobs: when a job says that the water had stopped, overlapping jobs in one.
-- Row    (site_id, from_at)
-- Reads  maintenance, log_runs, meter_intervals, site_midnights
-- Units  to_at: when it was restored; of a job without an end, when the log or a meter shows water again,
--        else the end of the site's time; open: nothing has shown an end
CREATE OR REPLACE TEMP TABLE stopped_jobs AS
WITH water AS (
    SELECT site_id, from_at AS mark_at FROM log_runs WHERE up
    UNION ALL SELECT site_id, from_at FROM meter_intervals
    WHERE quantity = 'water' AND valid AND amount > 0
),
ends AS (SELECT site_id, max(end_at) AS end_at FROM site_midnights GROUP BY site_id),
shown AS (
    SELECT m.record_id, min(w.mark_at) AS mark_at
    FROM maintenance m JOIN water w ON w.site_id = m.site_id AND w.mark_at > m.reported_at
    WHERE m.water_stopped = 'yes' AND m.restored_at IS NULL GROUP BY m.record_id
),
jobs AS (
    SELECT m.site_id, m.record_id, m.reported_at AS from_at,
           coalesce(m.restored_at, s.mark_at, e.end_at) AS to_at,
           m.restored_at IS NULL AND s.mark_at IS NULL AS open
    FROM maintenance m JOIN ends e USING (site_id) LEFT JOIN shown s USING (record_id)
    WHERE m.water_stopped = 'yes'
),
reach AS (
    SELECT *, max(to_at) OVER (PARTITION BY site_id ORDER BY from_at, record_id ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS reached
    FROM jobs WHERE to_at > from_at
),
numbered AS (
    SELECT *, sum(if(from_at <= reached, 0, 1)) OVER (PARTITION BY site_id ORDER BY from_at, record_id) AS piece FROM reach
)
SELECT site_id, min(from_at) AS from_at, max(to_at) AS to_at, bool_or(open) AS open,
       arg_min(record_id, from_at) AS record_id
FROM numbered GROUP BY site_id, piece;
