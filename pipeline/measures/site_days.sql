-- site_days: what a site pumped, used and could deliver on a local day.
-- Row    (site_id, day)
-- Reads  site_midnights, site_supply_days, service_segments, pauses
-- Units  in the names; see results.py
CREATE OR REPLACE TEMP TABLE site_days AS
WITH service AS (
    SELECT site_id, day, exact_sum(hours) AS service_h, exact_sum(up_h) AS up_h, exact_sum(down_h) AS down_h FROM service_segments GROUP BY ALL
)
SELECT m.site_id, m.day, true AS in_service,
       w.water_m3, w.water_cover, w.long_water_m3, w.long_water_cover, w.longest_interval_days,
       w.energy_kwh, w.energy_cover, w.long_energy_kwh, w.long_energy_cover,
       w.both_water_m3, w.both_energy_kwh, w.both_hydraulic_kwh, w.both_cover, w.blocks_water_m3,
       coalesce(s.service_h, 0) AS service_h, coalesce(s.up_h, 0) AS up_h, coalesce(s.down_h, 0) AS down_h,
       greatest(0, coalesce(s.service_h - s.up_h - s.down_h, 0)) AS unknown_h,
       EXISTS (FROM pauses u WHERE u.site_id = m.site_id AND m.day BETWEEN u.from_on AND coalesce(u.to_on, m.day)) AS paused
FROM site_midnights m
LEFT JOIN site_supply_days w USING (site_id, day)
LEFT JOIN service s USING (site_id, day)
ORDER BY m.site_id, m.day;
