-- stuck_counters: intervals in which a counter stood still while the pump ran.
-- Row    (meter_id, to_at) of meter_intervals
-- Reads  meter_intervals, trusted_steps, meters, sites
-- Units  amounts in m³ or kWh: what the log gives; what the site's other quantity counted meanwhile, and
--        what is usual for that time; what the blocks' meters counted while the site's one water meter
--        stood still, beyond what the tank could give. A water counter is held to the energy of the pump
--        (lights and radios prove nothing), an energy counter to the water
-- Takes  $stuck_log_units, $stuck_energy_share
CREATE OR REPLACE TEMP TABLE stuck_counters AS
WITH still AS (
    SELECT i.site_id, i.meter_id, i.quantity, i.from_at, i.to_at, i.days,
           CASE m.unit WHEN 'l' THEN 0.001 WHEN 'MWh' THEN 1000 ELSE 1 END AS unit
    FROM meter_intervals i JOIN meters m USING (meter_id)
    WHERE i.valid AND i.amount = 0 AND i.block_id IS NULL
),
stretches AS (
    SELECT *, sum(anew::INTEGER) OVER (PARTITION BY meter_id ORDER BY to_at ROWS UNBOUNDED PRECEDING) AS stretch
    FROM (
        SELECT *, lag(to_at) OVER (PARTITION BY meter_id ORDER BY to_at) IS DISTINCT FROM from_at AS anew
        FROM still WHERE quantity = 'water'
    )
),
spans AS (
    SELECT site_id, meter_id, stretch, min(from_at) AS from_at, max(to_at) AS to_at FROM stretches GROUP BY ALL
),
-- only what a block counted wholly within the stretch: the rest may have flowed before it
by_blocks AS (
    SELECT s.meter_id, s.stretch, exact_sum(b.amount) - coalesce(any_value(t.tank_volume_m3), 0) AS amount
    FROM spans s
    JOIN sites t USING (site_id)
    JOIN meter_intervals b ON b.site_id = s.site_id AND b.quantity = 'water' AND b.block_id IS NOT NULL AND b.valid
        AND b.from_at >= s.from_at AND b.to_at <= s.to_at
    ANTI JOIN meter_intervals o ON o.site_id = s.site_id AND o.quantity = 'water' AND o.block_id IS NULL
        AND o.meter_id <> s.meter_id AND o.from_at < s.to_at AND o.to_at > s.from_at
    GROUP BY ALL
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
       coalesce(l.amount >= $stuck_log_units * s.unit, false) AS by_log,
       CASE WHEN b.amount >= $stuck_log_units * s.unit THEN b.amount END AS blocks_amount
FROM still s
LEFT JOIN stretches x ON x.meter_id = s.meter_id AND x.to_at = s.to_at
LEFT JOIN by_blocks b ON b.meter_id = x.meter_id AND b.stretch = x.stretch
LEFT JOIN logged l ON l.meter_id = s.meter_id AND l.to_at = s.to_at
LEFT JOIN meanwhile w ON w.meter_id = s.meter_id AND w.to_at = s.to_at
LEFT JOIN usual u ON u.site_id = s.site_id AND u.quantity <> s.quantity
WHERE by_log
   OR blocks_amount IS NOT NULL
   OR (w.amount > 0 AND w.amount >= $stuck_energy_share * u.a_day * s.days);
