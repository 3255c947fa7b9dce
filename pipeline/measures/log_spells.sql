-- log_spells: stretches in which a site's log can't be taken at its word.
-- Row    (site_id, from_at, verdict)
-- Reads  log_flags, telemetry_steps
-- Units  verdict: of log_flags, of successive days; silent: no row for a day or more. to_at NULL: since then.
--        shift_h [h]: the median of its days
CREATE OR REPLACE TEMP TABLE log_spells AS
WITH numbered AS (  -- successive days of one verdict have one difference of day and rank
    SELECT *, day - (row_number() OVER (PARTITION BY site_id, verdict ORDER BY day))::INTEGER AS spell FROM log_flags
),
spells AS (
    SELECT site_id, min(from_at) AS from_at, max(to_at) AS to_at, verdict, median(shift_h) AS shift_h
    FROM numbered GROUP BY site_id, verdict, spell
),
silences AS (
    SELECT site_id, before_at AS from_at, from_at AS to_at FROM telemetry_steps WHERE from_at - before_at >= INTERVAL 1 DAY
    UNION ALL SELECT site_id, max(to_at), NULL FROM telemetry_steps GROUP BY site_id
)
FROM spells
UNION ALL SELECT site_id, from_at, to_at, 'silent', NULL FROM silences;
