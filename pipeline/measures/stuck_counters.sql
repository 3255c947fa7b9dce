-- stuck_counters: intervals in which a counter stood still while the pump ran.
-- Row    (meter_id, to_at) of meter_intervals
-- Reads  meter_intervals, trusted_steps, meters
-- Units  amounts in m³ or kWh: what the log gives; what the site's other quantity counted meanwhile, and
--        what is usual for that time. A water counter is held to the energy of the pump (lights and
--        radios prove nothing), an energy counter to the water
-- Takes  $stuck_log_units, $stuck_energy_share
CREATE OR REPLACE TEMP TABLE stuck_counters AS
WITH still AS (
    SELECT i.site_id, i.meter_id, i.quantity, i.from_at, i.to_at, i.days,
           CASE m.unit WHEN 'l' THEN 0.001 WHEN 'MWh' THEN 1000 ELSE 1 END AS unit
    FROM meter_intervals i JOIN meters m USING (meter_id)
    WHERE i.valid AND i.amount = 0 AND i.block_id IS NULL
),
logged AS (
    SELECT s.meter_id, s.to_at,
           exact_sum(CASE s.quantity WHEN 'water' THEN flow_m3h ELSE input_kw END
               * (epoch(least(s.to_at, t.to_at)) - epoch(greatest(s.from_at, t.from_at))) / 3600) AS amount
    FROM still s JOIN trusted_steps t ON t.site_id = s.site_id AND t.from_at < s.to_at AND t.to_at > s.from_at
    GROUP BY ALL
),
counted AS (
    SELECT i.site_id, i.quantity, i.from_at, i.to_at, i.days, i.amount
    FROM meter_intervals i JOIN meters m USING (meter_id)
    WHERE i.valid AND i.days > 0 AND i.amount > 0 AND i.block_id IS NULL AND coalesce(m.carries, 'pump') <> 'pump_and_other'
),
usual AS (SELECT site_id, quantity, median(amount / days) AS a_day FROM counted GROUP BY ALL),
meanwhile AS (
    SELECT s.meter_id, s.to_at,
           exact_sum(c.amount * (epoch(least(s.to_at, c.to_at)) - epoch(greatest(s.from_at, c.from_at)))
               / (epoch(c.to_at) - epoch(c.from_at))) AS amount
    FROM still s JOIN counted c
        ON c.site_id = s.site_id AND c.quantity <> s.quantity AND c.from_at < s.to_at AND c.to_at > s.from_at
    GROUP BY ALL
)
SELECT s.meter_id, s.to_at, s.quantity, l.amount AS logged_amount, w.amount AS other_amount, u.a_day * s.days AS other_usual,
       coalesce(l.amount >= $stuck_log_units * s.unit, false) AS by_log
FROM still s
LEFT JOIN logged l USING (meter_id, to_at)
LEFT JOIN meanwhile w USING (meter_id, to_at)
LEFT JOIN usual u ON u.site_id = s.site_id AND u.quantity <> s.quantity
WHERE by_log
   OR (w.amount > 0 AND w.amount >= $stuck_energy_share * u.a_day * s.days);
