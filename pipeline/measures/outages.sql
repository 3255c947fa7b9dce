-- outages: time without water, in one piece; pieces with a gap under an hour of service time are one.
-- Row    (site_id, from_at)
-- Reads  service_segments, stopped_jobs
-- Units  down_h [h] of service time, whole length; to_at, to_day NULL: still open
-- Takes  $outage_least_h
CREATE OR REPLACE TEMP TABLE outages AS
WITH clocked AS (  -- service hours up to each stretch: gaps are counted in them
    SELECT *, sum(hours) OVER (PARTITION BY site_id ORDER BY from_at) - hours AS begins_h FROM service_segments
),
down AS (
    SELECT *, lag(begins_h + hours) OVER (PARTITION BY site_id ORDER BY from_at) AS ended_h FROM clocked WHERE down_h > 0
),
numbered AS (
    SELECT *, sum(if(begins_h - ended_h < $outage_least_h, 0, 1)) OVER (PARTITION BY site_id ORDER BY from_at) AS piece FROM down
),
pieces AS (
    SELECT site_id, min(from_at) AS from_at, max(to_at) AS to_at, min(day) AS from_day, max(day) AS to_day,
           sum(down_h) AS down_h, arg_min(evidence, from_at) AS evidence, min(record_id) AS record_id
    FROM numbered GROUP BY site_id, piece
),
newest AS (SELECT site_id, max(to_at) AS to_at FROM service_segments GROUP BY site_id)
SELECT p.site_id, p.from_at, if(p.to_at = n.to_at, NULL, p.to_at) AS to_at, p.from_day,
       if(p.to_at = n.to_at, NULL, p.to_day) AS to_day, p.down_h, p.evidence, p.record_id
FROM pieces p JOIN newest n USING (site_id)
WHERE p.down_h > 0;
