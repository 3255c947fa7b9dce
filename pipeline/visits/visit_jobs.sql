-- visit_jobs: the jobs that are open on the evening of a day: reported by then, and nothing says that they were done.
-- Row    (record_id)
-- Reads  maintenance, site_days; tables that go on after the day, or end on it
-- Units  age_days [d]; water_seen_on: of a stop, the last day after the report on which the log or a meter showed water.
--        A preventive job without a standing counts as closed: its sheet is written once the service is done (common
--        practice, no source). A job closed without an end is done as well, unless it says that the water stopped and none
--        was seen since: nobody can tell then, and a site that stands is worse than a question too many
-- Takes  $as_of, $sites: NULL for all
CREATE OR REPLACE TEMP TABLE visit_jobs AS
WITH unended AS (
    SELECT site_id, record_id, kind, component, reported_at, reported_day AS reported_on,
           if(arrived_day <= $as_of::DATE, arrived_day, NULL) AS arrived_on, water_stopped,
           if(restored_day > $as_of::DATE, 'open', coalesce(status, if(kind = 'preventive', 'closed', 'open'))) AS waits_for
    FROM maintenance
    WHERE reported_day <= $as_of::DATE AND (restored_at IS NULL OR restored_day > $as_of::DATE)
      AND ($sites::VARCHAR[] IS NULL OR list_contains($sites::VARCHAR[], site_id))
),
seen AS (
    SELECT u.record_id, max(d.day) AS water_seen_on
    FROM unended u JOIN site_days d ON d.site_id = u.site_id AND d.day > u.reported_on
    WHERE u.water_stopped = 'yes' AND d.up_h > 0 AND d.day <= $as_of::DATE GROUP BY ALL
)
SELECT u.*, $as_of::DATE - u.reported_on AS age_days, s.water_seen_on
FROM unended u LEFT JOIN seen s USING (record_id)
WHERE u.waits_for <> 'closed' OR (coalesce(u.water_stopped, 'no') = 'yes' AND s.water_seen_on IS NULL);
