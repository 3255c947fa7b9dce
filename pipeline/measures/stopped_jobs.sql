-- stopped_jobs: when a job says that the water had stopped, overlapping jobs in one.
-- Row    (site_id, from_at)
-- Reads  maintenance, log_runs, meter_intervals
-- Units  to_at: when it was restored; of a job without an end, when the log or a meter shows water again;
--        NULL: nothing has shown an end, so it goes on
CREATE OR REPLACE TEMP TABLE stopped_jobs AS
WITH water AS (  -- a full tank shows no water that runs
    SELECT site_id, from_at AS mark_at FROM log_runs WHERE state = 'flow'
    UNION ALL SELECT site_id, from_at FROM meter_intervals
    WHERE quantity = 'water' AND valid AND amount > 0
),
shown AS (
    SELECT m.record_id, min(w.mark_at) AS mark_at
    FROM maintenance m JOIN water w ON w.site_id = m.site_id AND w.mark_at > m.reported_at
    WHERE m.water_stopped = 'yes' AND m.restored_at IS NULL GROUP BY m.record_id
),
jobs AS (
    SELECT m.site_id, m.record_id, m.reported_at AS from_at,
           coalesce(m.restored_at, s.mark_at, TIMESTAMP '9999-12-31') AS to_at
    FROM maintenance m LEFT JOIN shown s USING (record_id)
    WHERE m.water_stopped = 'yes'
),
reach AS (
    SELECT *, max(to_at) OVER (PARTITION BY site_id ORDER BY from_at, record_id ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS reached
    FROM jobs WHERE to_at > from_at
),
numbered AS (
    SELECT *, sum((from_at > reached OR reached IS NULL)::INTEGER) OVER (PARTITION BY site_id ORDER BY from_at, record_id ROWS UNBOUNDED PRECEDING) AS piece FROM reach
)
SELECT site_id, min(from_at) AS from_at, nullif(max(to_at), TIMESTAMP '9999-12-31') AS to_at,
       first(record_id ORDER BY from_at, record_id) AS record_id
FROM numbered GROUP BY site_id, piece;
