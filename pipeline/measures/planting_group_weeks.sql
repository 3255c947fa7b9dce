-- planting_group_weeks: a group's water by week: what came, and how much was missing when the week ended.
-- Row    (site_id, own_block, crop, planted_on, week_from); a week begins on a Monday, the first may be cut
-- Reads  planting_group_days
-- Units  rain_mm, irrigation_mm [mm]: over the days for which they are known, counted beside them; depletion_*,
--        raw_mm, taw_mm [mm]: on the last day. stress_days_least: the whole group surely; *_most: any of it perhaps
CREATE OR REPLACE TEMP TABLE planting_group_weeks AS
SELECT site_id, own_block, crop, planted_on, date_trunc('week', day)::DATE AS monday, any_value(blocks) AS blocks,
       min(day) AS week_from, max(day) AS week_to, count(*) AS days,
       exact_sum(rain_mm) AS rain_mm, count(rain_mm) AS rain_days,
       exact_sum(irrigation_mm) AS irrigation_mm, count(irrigation_mm) AS irrigation_days,
       arg_max(depletion_wettest_mm, day) AS depletion_wettest_mm,
       arg_max(depletion_driest_mm, day) AS depletion_driest_mm,
       arg_max_null(raw_mm, day) AS raw_mm, arg_max(taw_mm, day) AS taw_mm,
       count(*) FILTER (stress_sure_share >= 1) AS stress_days_least,
       count(*) FILTER (stress_possible_share > 0) AS stress_days_most
FROM planting_group_days
GROUP BY site_id, own_block, crop, planted_on, monday
ORDER BY site_id, own_block, crop, planted_on, monday;
