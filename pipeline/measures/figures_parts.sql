-- figure_parts: numerators and denominators of a site's figures in a period.
-- Row    (site_id, from_day); every site and period asked for
-- Reads  figure_sites, figure_block_water, figure_unseen, site_days, site_need_days, blocks, plantings,
--        planting_spans, outages, maintenance, harvests
-- Units  in the names; *_days of cover: days of 24 h. NULL: unknown
CREATE OR REPLACE TEMP TABLE figure_parts AS
WITH water AS (  -- a long interval counts in a long period only
    SELECT f.site_id, f.from_day, d.day,
           if(takes_long, coalesce(water_cover, 0) + coalesce(long_water_cover, 0), water_cover) AS cover,
           if(takes_long AND long_water_cover > 0, coalesce(water_m3, 0) + long_water_m3, water_m3) AS m3,
           if(takes_long, coalesce(energy_cover, 0) + coalesce(long_energy_cover, 0), energy_cover)
               AS energy_cover,
           if(takes_long AND long_energy_cover > 0, coalesce(energy_kwh, 0) + long_energy_kwh, energy_kwh)
               AS kwh,
           d.* EXCLUDE (site_id, day, energy_cover)
    FROM figure_sites f JOIN site_days d
        ON d.site_id = f.site_id AND d.day BETWEEN f.service_from AND f.service_to
),
from_days AS (
    SELECT site_id, from_day,
           exact_sum(if(cover > 0, m3, NULL)) AS water_m3,
           exact_sum(cover) AS water_days,
           exact_sum(if(energy_cover > 0, kwh, NULL)) AS energy_kwh,
           exact_sum(energy_cover) AS energy_days,
           exact_sum(if(both_cover > 0, both_water_m3, NULL)) AS both_water_m3,
           exact_sum(if(both_cover > 0, both_energy_kwh, NULL)) AS both_energy_kwh,
           exact_sum(if(both_cover > 0, both_hydraulic_kwh, NULL)) AS hydraulic_kwh,
           exact_sum(if(both_cover > 0 AND both_hydraulic_kwh IS NOT NULL, both_energy_kwh, NULL))
               AS lifting_kwh,
           max(longest_interval_days) AS longest_interval_days,
           exact_sum(service_h) AS service_h, exact_sum(up_h) AS up_h,
           exact_sum(down_h) AS down_h, exact_sum(unknown_h) AS unknown_h
    FROM water GROUP BY ALL
),
to_blocks AS (
    SELECT f.site_id, f.from_day, exact_sum(b.water_m3) AS blocks_water_m3
    FROM figure_sites f JOIN figure_block_water b
        ON b.site_id = f.site_id AND b.day BETWEEN f.service_from AND f.service_to AND (f.takes_long OR NOT b.is_long)
    GROUP BY ALL
),
block_area AS (SELECT site_id, exact_sum(area_ha) AS blocks_ha FROM blocks GROUP BY ALL),
need AS (
    SELECT f.site_id, f.from_day, n.day, blocks_ha,
           n.* EXCLUDE (site_id, day)
    FROM figure_sites f JOIN site_need_days n
        ON n.site_id = f.site_id AND n.day BETWEEN f.service_from AND f.service_to
    LEFT JOIN block_area b ON b.site_id = f.site_id
),
from_need AS (
    SELECT site_id, from_day,
           exact_sum(if(known, need_m3, NULL)) AS need_m3,
           exact_sum(if(known, net_need_mm, NULL)) AS net_need_mm,
           -- over fewer days than the other it would look like less rain used
           count(*) FILTER (known AND other_net_need_mm IS NULL) AS unknown_others,
           if(unknown_others = 0, exact_sum(if(known, other_net_need_mm, NULL)), NULL) AS other_net_need_mm,
           if(unknown_others = 0, exact_sum(if(known, planted_ha, NULL)), NULL) AS other_ha_days,
           exact_sum(if(known, effective_rain_mm, NULL)) AS effective_rain_mm,
           exact_sum(if(known, planted_ha, NULL)) AS planted_ha_days,
           exact_sum(blocks_ha * cropping_share) AS recorded_ha_days,
           exact_sum(if(cropping_share IS NULL, NULL, blocks_ha)) AS block_ha_days,
           max(distance_km) AS weather_distance_km
    FROM (SELECT *, coalesce(net_need_m3 / nullif(10 * planted_ha, 0), 0) AS net_need_mm,
                 if(planted_ha = 0, 0, other_net_need_m3 / (10 * planted_ha)) AS other_net_need_mm,
                 coalesce(effective_rain_m3 / nullif(10 * planted_ha, 0), 0) AS effective_rain_mm
          FROM need)
    GROUP BY ALL
),
from_both AS (  -- day by day: a day that is half covered asks for half of its need
    SELECT site_id, from_day, exact_sum(m3) AS supply_m3,
           exact_sum(n.need_m3 * cover) AS supply_need_m3, exact_sum(cover) AS supply_days
    FROM water JOIN need n USING (site_id, from_day, day)
    WHERE n.known AND n.need_m3 IS NOT NULL AND cover > 0 AND m3 IS NOT NULL
    GROUP BY ALL
),
planted_blocks AS (
    SELECT DISTINCT f.site_id, f.from_day, b.block_id, b.area_ha
    FROM figure_sites f JOIN blocks b ON b.site_id = f.site_id
    WHERE NOT EXISTS (FROM plantings p WHERE p.site_id = f.site_id)
       OR EXISTS (FROM planting_spans p WHERE p.site_id = f.site_id AND p.block_id = b.block_id
                  AND NOT p.fallow AND p.planted_on <= f.to_day
                  AND (p.last_day IS NULL OR p.last_day >= f.from_day))
),
areas AS (SELECT site_id, from_day, exact_sum(area_ha) AS area_ha FROM planted_blocks GROUP BY ALL),
from_outages AS (
    SELECT f.site_id, f.from_day,
           count(*) FILTER (WHERE o.from_day BETWEEN f.from_day AND f.to_day) AS outages,
           count(*) FILTER (WHERE o.from_day < f.from_day AND (o.to_day IS NULL OR o.to_day >= f.from_day))
               AS outages_open,
           exact_sum(if(o.to_day BETWEEN f.from_day AND f.to_day, o.down_h, NULL)) AS ended_h,
           count(o.down_h) FILTER (WHERE o.to_day BETWEEN f.from_day AND f.to_day) AS ended
    FROM figure_sites f JOIN outages o ON o.site_id = f.site_id AND o.from_day <= f.to_day
    GROUP BY ALL
),
costs AS (
    SELECT f.site_id, f.from_day, exact_sum(m.cost) AS om_cost
    FROM figure_sites f JOIN maintenance m
        ON m.site_id = f.site_id AND m.reported_day BETWEEN f.from_day AND f.to_day
    GROUP BY ALL
),
harvested AS (
    SELECT f.site_id, f.from_day, exact_sum(h.harvest_kg) AS harvest_kg,
           exact_sum(h.harvest_kg * h.price_per_kg) AS harvest_value
    FROM figure_sites f JOIN harvests h
        ON h.site_id = f.site_id AND h.harvested_on BETWEEN f.from_day AND f.to_day
    GROUP BY ALL
)
SELECT f.site_id, f.from_day, f.to_day, f.district, f.service_days,
       coalesce(water_days, 0) AS water_days, coalesce(energy_days, 0) AS energy_days,
       coalesce(supply_days, 0) AS supply_days,
       area_ha, water_m3, energy_kwh, both_water_m3, both_energy_kwh, hydraulic_kwh, lifting_kwh,
       blocks_water_m3, longest_interval_days,
       coalesce(w.service_h, 0) + coalesce(u.service_h, 0) AS service_h, coalesce(w.up_h, 0) AS up_h,
       coalesce(w.down_h, 0) + coalesce(u.down_h, 0) AS down_h,
       coalesce(w.unknown_h, 0) + coalesce(u.service_h - u.down_h, 0) AS unknown_h,
       -- no outage in a time of which nothing is known is no figure
       if(coalesce(w.up_h, 0) + coalesce(w.down_h, 0) + coalesce(u.down_h, 0) > 0 OR o.outages > 0 OR o.outages_open > 0, TRUE, NULL) AS watched,
       if(watched, coalesce(o.outages, 0), NULL) AS outages,
       if(watched, coalesce(o.outages_open, 0), NULL) AS outages_open,
       ended_h, ended, need_m3, net_need_mm, other_net_need_mm, other_ha_days, effective_rain_mm, planted_ha_days, recorded_ha_days,
       block_ha_days, weather_distance_km, supply_m3, supply_need_m3, om_cost, harvest_kg, harvest_value
FROM figure_sites f
LEFT JOIN from_days w USING (site_id, from_day)
LEFT JOIN to_blocks USING (site_id, from_day)
LEFT JOIN figure_unseen u USING (site_id, from_day)
LEFT JOIN from_need USING (site_id, from_day)
LEFT JOIN from_both USING (site_id, from_day)
LEFT JOIN areas USING (site_id, from_day)
LEFT JOIN from_outages o USING (site_id, from_day)
LEFT JOIN costs USING (site_id, from_day)
LEFT JOIN harvested USING (site_id, from_day);
