-- site_supply_days: water and energy of each site and local day.
-- Row    (site_id, day)
-- Reads  supply_segments, logged_supply, meter_intervals, lifting_heads, site_midnights
-- Units  m³, kWh; a cover is a share of the day; long_*: from intervals too long to feed a month
-- Takes  $longest_month_interval_days [d]
CREATE OR REPLACE TEMP TABLE site_supply_days AS
WITH told AS (  -- a meter first, else the log
    SELECT s.*, l.*  EXCLUDE (site_id, from_at),
           coalesce(water_days > $longest_month_interval_days, false) AS water_long,
           coalesce(energy_days > $longest_month_interval_days, false) AS energy_long
    FROM supply_segments s LEFT JOIN logged_supply l ON l.site_id = s.site_id AND l.from_at = s.from_at
),
parts AS (
    SELECT site_id, day,
           CASE WHEN water_m3s IS NOT NULL THEN water_m3s * seconds ELSE water_m3 END AS m3,
           CASE WHEN water_m3s IS NOT NULL THEN seconds ELSE coalesce(water_s, 0) END AS m3_s,
           CASE WHEN energy_kws IS NOT NULL THEN energy_kws * seconds ELSE energy_kwh END AS kwh,
           CASE WHEN energy_kws IS NOT NULL THEN seconds ELSE coalesce(energy_s, 0) END AS kwh_s,
           water_long, energy_long, water_days, pump_only,
           water_m3s IS NULL AND energy_kws IS NULL AS both_logged,
           both_s, both_water_m3, both_energy_kwh, seconds
    FROM told
),
both_told AS (  -- a meter's even share is no match for half a stretch of the log: all or nothing
    SELECT *,
           CASE WHEN NOT pump_only THEN 0 WHEN both_logged THEN coalesce(both_s, 0)
                WHEN m3_s >= 0.98 * seconds AND kwh_s >= 0.98 * seconds THEN seconds ELSE 0 END AS common_s
    FROM parts
),
days AS (
    SELECT site_id, day,
           exact_sum(if(NOT water_long AND m3_s > 0, m3, NULL)) AS water_m3,
           exact_sum(if(NOT water_long, m3_s, NULL)) AS water_s,
           exact_sum(if(water_long, m3, NULL)) AS long_water_m3,
           exact_sum(if(water_long, m3_s, NULL)) AS long_water_s,
           max(water_days) AS longest_interval_days,
           exact_sum(if(NOT energy_long AND kwh_s > 0, kwh, NULL)) AS energy_kwh,
           exact_sum(if(NOT energy_long, kwh_s, NULL)) AS energy_s,
           exact_sum(if(energy_long, kwh, NULL)) AS long_energy_kwh,
           exact_sum(if(energy_long, kwh_s, NULL)) AS long_energy_s,
           exact_sum(CASE WHEN common_s > 0 THEN if(both_logged, both_water_m3, m3) END) AS both_water_m3,
           exact_sum(CASE WHEN common_s > 0 THEN if(both_logged, both_energy_kwh, kwh) END) AS both_energy_kwh,
           exact_sum(common_s) AS both_s
    FROM both_told GROUP BY ALL
),
block_days AS (
    SELECT i.site_id, d.day,
           exact_sum(i.amount * (epoch(least(i.to_at, d.end_at)) - epoch(greatest(i.from_at, d.start_at)))
               / (epoch(i.to_at) - epoch(i.from_at))) AS blocks_water_m3
    FROM meter_intervals i
    JOIN site_midnights d ON d.site_id = i.site_id AND d.start_at < i.to_at AND d.end_at > i.from_at
    WHERE i.quantity = 'water' AND i.block_id IS NOT NULL AND i.valid AND i.to_at > i.from_at
      AND i.days <= $longest_month_interval_days
    GROUP BY ALL
)
SELECT m.site_id, m.day, d.water_m3, coalesce(d.water_s, 0) / whole_s AS water_cover,
       d.long_water_m3, coalesce(d.long_water_s, 0) / whole_s AS long_water_cover, d.longest_interval_days,
       d.energy_kwh, coalesce(d.energy_s, 0) / whole_s AS energy_cover,
       d.long_energy_kwh, coalesce(d.long_energy_s, 0) / whole_s AS long_energy_cover,
       d.both_water_m3, d.both_energy_kwh,
       -- ρ·g is 9.80665 kN/m³: 2.724 Wh lifts 1 m³ by 1 m
       d.both_water_m3 * h.head_m * 9.80665 / 3600 AS both_hydraulic_kwh,
       coalesce(d.both_s, 0) / whole_s AS both_cover, b.blocks_water_m3
FROM (SELECT *, epoch(end_at) - epoch(start_at) AS whole_s FROM site_midnights) m
LEFT JOIN days d USING (site_id, day)
LEFT JOIN block_days b USING (site_id, day)
LEFT JOIN lifting_heads h USING (site_id, day);
