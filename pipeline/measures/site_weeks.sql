-- site_weeks: water pumped and the crops' gross need of a site by week, from Monday, cut where the period or the service ends.
-- Row    (site_id, week_from); weeks with a day of service
-- Reads  figure_sites and figure_parts of one period, site_days, site_need_days
-- Units  m³; m³/ha over the area planted in the period, as water_m3_per_ha has it; a coverage is a share of the week's
--        service days. NULL: unknown. What a meter interval too long for a month counted is in no week: long_water_days
--        says how many days that leaves without water
-- Takes  $judged_coverage [-]: with less, a sum is of low trust
CREATE OR REPLACE TEMP TABLE site_weeks AS
WITH weeks AS (
    SELECT site_id, from_day, greatest(monday_on, service_from) AS week_from, least(monday_on + 6, service_to) AS week_to
    FROM (SELECT *, unnest(generate_series(date_trunc('week', service_from), service_to::TIMESTAMP,
                                           INTERVAL 7 DAY))::DATE AS monday_on
          FROM figure_sites WHERE service_days > 0)
),
days AS (
    SELECT *, unnest(generate_series(week_from, week_to::TIMESTAMP, INTERVAL 1 DAY))::DATE AS day FROM weeks
),
known AS (
    SELECT w.*, d.water_cover, d.long_water_cover, if(d.water_cover > 0, d.water_m3, NULL) AS water_m3,
           if(n.known, n.need_m3, NULL) AS need_m3,
           d.water_cover > 0 AND d.water_m3 IS NOT NULL AND n.known AND n.need_m3 IS NOT NULL AS both_known
    FROM days w
    LEFT JOIN site_days d ON d.site_id = w.site_id AND d.day = w.day
    LEFT JOIN site_need_days n ON n.site_id = w.site_id AND n.day = w.day
),
sums AS (
    SELECT site_id, from_day, week_from, week_to, count(*) AS service_days,
           exact_sum(water_m3) AS water_m3, coalesce(exact_sum(water_cover), 0) AS water_days,
           coalesce(exact_sum(long_water_cover), 0) AS long_water_days,
           exact_sum(need_m3) AS need_m3, count(need_m3) AS need_days,
           -- day by day: a day that is half covered asks for half of its need
           exact_sum(if(both_known, water_m3, NULL)) AS supply_m3,
           exact_sum(if(both_known, need_m3 * water_cover, NULL)) AS supply_need_m3,
           coalesce(exact_sum(if(both_known, water_cover, NULL)), 0) AS supply_days
    FROM known GROUP BY ALL
)
SELECT site_id, week_from, week_to, water_m3, need_m3,
       water_m3 / nullif(area_ha, 0) AS water_m3_per_ha, need_m3 / nullif(area_ha, 0) AS need_m3_per_ha,
       water_days / service_days AS water_coverage, need_days / service_days AS need_coverage,
       water_coverage >= $judged_coverage AS water_judged, need_coverage >= $judged_coverage AS need_judged,
       supply_m3 / nullif(supply_need_m3, 0) AS relative_irrigation_supply,
       supply_days / service_days AS supply_coverage, long_water_days
FROM sums s JOIN (SELECT site_id, from_day, area_ha FROM figure_parts) USING (site_id, from_day)
ORDER BY site_id, week_from;
