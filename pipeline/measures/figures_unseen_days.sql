-- figure_unseen_days: days of service of which the site itself says nothing: before its first day, after its last.
-- Row    (site_id, from_day, day)
-- Reads  figure_sites, site_days, sites, pauses
CREATE OR REPLACE TEMP TABLE figure_unseen_days AS
WITH seen AS (SELECT site_id, min(day) AS first_day, max(day) AS last_day FROM site_days GROUP BY site_id),
gaps AS (
    SELECT site_id, from_day, service_from AS gap_from, least(service_to, coalesce(first_day - 1, service_to)) AS gap_to
    FROM figure_sites LEFT JOIN seen USING (site_id)
    UNION ALL SELECT site_id, from_day, greatest(service_from, last_day + 1), service_to
    FROM figure_sites JOIN seen USING (site_id)
),
days AS (
    SELECT site_id, from_day, unnest(generate_series(gap_from, gap_to::TIMESTAMP, INTERVAL 1 DAY))::DATE AS day
    FROM gaps WHERE gap_from <= gap_to
)
SELECT d.*, s.latitude, s.longitude FROM days d JOIN sites s USING (site_id)
WHERE NOT EXISTS (FROM pauses p WHERE p.site_id = d.site_id AND d.day BETWEEN p.from_on AND coalesce(p.to_on, d.day))
ORDER BY d.site_id, d.day;
