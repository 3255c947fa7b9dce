-- outages: time without water, in one piece; pieces with a gap under an hour of service time are one.
-- Row    (site_id, from_at)
-- Reads  service_segments, stopped_jobs
-- Units  down_h [h] of service time, whole length; to_at, to_day NULL: still open, for nothing is known of
--        the time after it, and no job that was restored ended it
-- Takes  $outage_least_h
CREATE OR REPLACE TEMP TABLE outages AS
WITH clocked AS (  -- service time up to each stretch: gaps are counted in it, in whole seconds
    SELECT *, sum(date_diff('second', from_at, to_at)) OVER (PARTITION BY site_id ORDER BY from_at ROWS UNBOUNDED PRECEDING) AS ends_s,
           date_diff('second', from_at, to_at) AS seconds
    FROM service_segments
),
down AS (
    SELECT *, ends_s - seconds - lag(ends_s) OVER (PARTITION BY site_id ORDER BY from_at) AS gap_s FROM clocked WHERE down_h > 0
),
numbered AS (
    SELECT *, sum((gap_s IS NULL OR gap_s >= $outage_least_h * 3600)::INTEGER)
                  OVER (PARTITION BY site_id ORDER BY from_at ROWS UNBOUNDED PRECEDING) AS piece
    FROM down
),
pieces AS (
    SELECT site_id, min(from_at) AS from_at, max(to_at) AS to_at, min(day) AS from_day, max(day) AS to_day,
           exact_sum(down_h) AS down_h, arg_min(evidence, from_at) AS evidence, arg_max(evidence, from_at) AS last_evidence,
           min(record_id) AS record_id
    FROM numbered GROUP BY site_id, piece
),
known_until AS (SELECT site_id, max(to_at) AS to_at FROM service_segments WHERE up_h + down_h > 0 GROUP BY site_id),
open_jobs AS (SELECT site_id, max(from_at) AS from_at FROM stopped_jobs WHERE to_at IS NULL GROUP BY site_id),
ends AS (
    SELECT p.*, p.to_at = k.to_at AND (p.last_evidence <> 'job' OR coalesce(j.from_at < p.to_at, false)) AS open
    FROM pieces p JOIN known_until k USING (site_id) LEFT JOIN open_jobs j USING (site_id)
)
SELECT site_id, from_at, if(open, NULL, to_at) AS to_at, from_day, if(open, NULL, to_day) AS to_day,
       down_h, evidence, record_id
FROM ends;
