-- site_midnights: where each local day of a site begins and ends.
-- Row    (site_id, day)
-- Reads  site_spans
-- Units  start_at, end_at: UTC; a zone's midnights are looked up once a zone and day
CREATE OR REPLACE TEMP TABLE site_midnights AS
WITH zones AS (SELECT zone, min(from_day) AS from_day, max(to_day) AS to_day FROM site_spans GROUP BY zone),
marks AS (
    SELECT zone, unnest(generate_series(from_day::TIMESTAMP, to_day + 1, INTERVAL 1 DAY))::DATE AS day FROM zones
),
midnights AS (SELECT zone, day, timezone('UTC', timezone(zone, day::TIMESTAMP)) AS start_at FROM marks),
days AS (SELECT *, lead(start_at) OVER (PARTITION BY zone ORDER BY day) AS end_at FROM midnights)
SELECT s.site_id, d.day, d.start_at, d.end_at
FROM site_spans s JOIN days d ON d.zone = s.zone AND d.day BETWEEN s.from_day AND s.to_day
WHERE d.end_at IS NOT NULL;
