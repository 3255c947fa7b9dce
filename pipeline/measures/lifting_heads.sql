-- lifting_heads: the head against which a site pumped on a day.
-- Row    (site_id, day)
-- Reads  site_midnights, site_spans, surveys
-- Units  head_m [m]: the site's total dynamic head; where a survey of the last days found another pumping
--        water level than the site's first survey did, the difference is added. NULL: no head known
-- Takes  $survey_level_days [d]
CREATE OR REPLACE TEMP TABLE lifting_heads AS
WITH levels AS (
    SELECT site_id, surveyed_on, pumping_water_level_m AS level_m,
           first_value(pumping_water_level_m) OVER (PARTITION BY site_id ORDER BY surveyed_on, survey_id) AS first_m
    FROM surveys WHERE pumping_water_level_m IS NOT NULL
)
SELECT d.site_id, d.day,
       s.total_dynamic_head_m + CASE WHEN d.day - l.surveyed_on <= $survey_level_days THEN l.level_m - l.first_m ELSE 0 END
           AS head_m
FROM site_midnights d
JOIN site_spans s USING (site_id)
ASOF LEFT JOIN levels l ON l.site_id = d.site_id AND l.surveyed_on <= d.day;
