-- visit_streams: how long each stream of a site's data has been silent.
-- Row    (site_id, stream): log, meter
-- Reads  meter_readings, telemetry
-- Units  usual_days [d]: the median gap of the last twenty, NULL under three days of data; others_until:
--        the newest day that any site's stream of that kind has
-- Takes  $as_of
CREATE OR REPLACE TEMP TABLE visit_streams AS
WITH days AS (
    SELECT DISTINCT site_id, 'meter' AS stream, read_day AS day FROM meter_readings WHERE read_day <= $as_of::DATE
    UNION ALL SELECT DISTINCT site_id, 'log', logged_day FROM telemetry WHERE logged_day <= $as_of::DATE
),
gaps AS (
    SELECT site_id, stream, day, day - lag(day) OVER one_stream AS gap_days,
           row_number() OVER (PARTITION BY site_id, stream ORDER BY day DESC) AS nth
    FROM days WHERE site_id IS NOT NULL WINDOW one_stream AS (PARTITION BY site_id, stream ORDER BY day)
)
SELECT site_id, stream, max(day) AS newest, $as_of::DATE - max(day) AS age_days,
       if(count(gap_days) >= 2, median(gap_days) FILTER (WHERE nth <= 20), NULL) AS usual_days,
       max(max(day)) OVER (PARTITION BY stream) AS others_until
FROM gaps GROUP BY site_id, stream;
