-- stuck_counters: intervals in which a counter stood still while the pump ran.
-- Row    (meter_id, to_at) of meter_intervals
-- Reads  meter_intervals, telemetry_steps, meters
-- Units  amounts in m³ or kWh: what the log gives, what the energy meter counted and what is usual for it
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
           sum(CASE s.quantity WHEN 'water' THEN flow_m3h ELSE input_kw END
               * (epoch(least(s.to_at, t.to_at)) - epoch(greatest(s.from_at, t.from_at))) / 3600) AS amount
    FROM still s JOIN telemetry_steps t ON t.site_id = s.site_id AND t.from_at < s.to_at AND t.to_at > s.from_at
    GROUP BY ALL
),
usual AS (  -- the energy of a day on which water was counted
    SELECT e.site_id, median(e.amount / e.days) AS kwh_a_day
    FROM meter_intervals e
    WHERE e.quantity = 'energy' AND e.valid AND e.days > 0 AND e.amount > 0 AND e.block_id IS NULL
    GROUP BY e.site_id
),
energy AS (
    SELECT s.meter_id, s.to_at,
           sum(e.amount * (epoch(least(s.to_at, e.to_at)) - epoch(greatest(s.from_at, e.from_at)))
               / (epoch(e.to_at) - epoch(e.from_at))) AS kwh
    FROM still s JOIN meter_intervals e
        ON e.site_id = s.site_id AND e.quantity = 'energy' AND e.valid AND e.to_at > e.from_at
       AND e.from_at < s.to_at AND e.to_at > s.from_at
    WHERE s.quantity = 'water'
    GROUP BY ALL
)
SELECT s.meter_id, s.to_at, s.quantity, l.amount AS logged_amount, e.kwh, u.kwh_a_day * s.days AS usual_kwh
FROM still s
LEFT JOIN logged l USING (meter_id, to_at)
LEFT JOIN energy e USING (meter_id, to_at)
LEFT JOIN usual u ON u.site_id = s.site_id
WHERE l.amount >= $stuck_log_units * greatest(s.unit, 0.001)
   OR (e.kwh > 0 AND e.kwh >= $stuck_energy_share * u.kwh_a_day * s.days);
