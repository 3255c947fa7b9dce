-- figures: the figures of each group and period, not yet rounded.
-- Row    (group_id, from_day)
-- Reads  figure_parts, figure_served, figure_productivity, figure_waits, figure_groups
-- Units  pipeline.measures.indicators. Amounts and areas × weight; ratios are sums over sums
CREATE OR REPLACE TEMP TABLE figures AS
WITH parts AS (
    SELECT group_id, weight, p.*, served_ha, unjudged_ha, productive_kg, productive_m3
    FROM figure_groups g JOIN figure_parts p USING (site_id)
    LEFT JOIN figure_served USING (site_id, from_day)
    LEFT JOIN figure_productivity USING (site_id, from_day)
),
waits AS (
    SELECT group_id, from_day, median(wait_days) AS report_to_water_days
    FROM figure_waits JOIN figure_groups USING (site_id) GROUP BY ALL
),
sums AS (
    SELECT group_id, from_day, to_day,
           exact_sum(weight * service_days) AS service_days,
           exact_sum(weight * area_ha) AS area_ha,
           exact_sum(weight * water_m3) AS water_m3,
           exact_sum(if(water_m3 IS NULL, NULL, weight * area_ha)) AS watered_ha,
           exact_sum(if(area_ha IS NULL, NULL, weight * water_m3)) AS watering_m3,
           exact_sum(weight * water_days) AS water_days,
           exact_sum(weight * blocks_water_m3) AS water_to_blocks_m3,
           max(longest_interval_days) AS longest_interval_days,
           exact_sum(weight * energy_kwh) AS energy_kwh,
           exact_sum(weight * energy_days) AS energy_days,
           exact_sum(weight * both_water_m3) AS both_water_m3,
           exact_sum(weight * both_energy_kwh) AS both_energy_kwh,
           exact_sum(weight * hydraulic_kwh) AS hydraulic_kwh,
           exact_sum(weight * lifting_kwh) AS lifting_kwh,
           exact_sum(weight * service_h) AS service_h,
           exact_sum(weight * up_h) AS up_h,
           exact_sum(weight * down_h) AS down_h,
           exact_sum(weight * unknown_h) AS unknown_h,
           exact_sum(weight * outages) AS outages,
           exact_sum(weight * outages_open) AS outages_open,
           exact_sum(weight * ended_h) AS ended_h,
           exact_sum(weight * ended) AS ended,
           exact_sum(weight * need_m3) AS need_m3,
           exact_sum(weight * net_need_mm * planted_ha_days) AS net_need_mm_ha,
           exact_sum(weight * other_net_need_mm * other_ha_days) AS other_net_need_mm_ha,
           exact_sum(weight * other_ha_days) AS other_ha_days,
           exact_sum(weight * effective_rain_mm * planted_ha_days) AS effective_rain_mm_ha,
           exact_sum(weight * planted_ha_days) AS planted_ha_days,
           exact_sum(weight * recorded_ha_days) AS recorded_ha_days,
           exact_sum(weight * block_ha_days) AS block_ha_days,
           exact_sum(weight * supply_m3) AS supply_m3,
           exact_sum(weight * supply_need_m3) AS supply_need_m3,
           exact_sum(weight * supply_days) AS supply_days,
           exact_sum(weight * om_cost) AS om_cost,
           exact_sum(if(om_cost IS NULL, NULL, weight * water_m3)) AS cost_water_m3,
           exact_sum(if(water_m3 IS NULL, NULL, weight * om_cost)) AS water_cost,
           exact_sum(if(om_cost IS NULL, NULL, weight * area_ha)) AS cost_ha,
           exact_sum(if(area_ha IS NULL, NULL, weight * om_cost)) AS area_cost,
           exact_sum(weight * served_ha) AS served_ha,
           exact_sum(weight * unjudged_ha) AS unjudged_ha,
           max(weather_distance_km) AS weather_distance_km,
           exact_sum(weight * harvest_kg) AS harvest_kg,
           exact_sum(weight * harvest_value) AS harvest_value,
           exact_sum(weight * productive_kg) AS productive_kg,
           exact_sum(weight * productive_m3) AS productive_m3
    FROM parts GROUP BY ALL
)
SELECT group_id, from_day, to_day,
       area_ha, water_m3,
       water_days / nullif(service_days, 0) AS water_coverage,
       watering_m3 / nullif(watered_ha, 0) AS water_m3_per_ha,
       water_to_blocks_m3, longest_interval_days, energy_kwh,
       energy_days / nullif(service_days, 0) AS energy_coverage,
       both_energy_kwh / nullif(both_water_m3, 0) AS energy_kwh_per_m3,
       hydraulic_kwh / nullif(lifting_kwh, 0) AS lift_efficiency,
       up_h / nullif(up_h + down_h, 0) AS uptime,
       unknown_h / nullif(service_h, 0) AS uptime_unknown,
       up_h / nullif(service_h, 0) AS uptime_low,
       (up_h + unknown_h) / nullif(service_h, 0) AS uptime_high,
       report_to_water_days, outages, outages_open,
       up_h / nullif(outages, 0) AS mean_up_h,
       ended_h / nullif(ended, 0) AS mean_down_h,
       need_m3,
       net_need_mm_ha / nullif(planted_ha_days, 0) AS net_need_mm,
       other_net_need_mm_ha / nullif(other_ha_days, 0) AS other_net_need_mm,
       effective_rain_mm_ha / nullif(planted_ha_days, 0) AS effective_rain_mm,
       recorded_ha_days / nullif(block_ha_days, 0) AS cropping_coverage,
       supply_m3 / nullif(supply_need_m3, 0) AS relative_irrigation_supply,
       supply_days / nullif(service_days, 0) AS supply_coverage,
       om_cost, water_cost / nullif(cost_water_m3, 0) AS om_cost_per_m3,
       area_cost / nullif(cost_ha, 0) AS om_cost_per_ha,
       served_ha, unjudged_ha, weather_distance_km, harvest_kg, harvest_value,
       productive_kg / nullif(productive_m3, 0) AS water_productivity_kg_m3
FROM sums LEFT JOIN waits USING (group_id, from_day)
ORDER BY group_id NULLS LAST, from_day;
