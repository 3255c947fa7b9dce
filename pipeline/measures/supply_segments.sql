-- supply_segments: stretches of a site's time in which its meters say the same.
-- Row    (site_id, from_at): one stretch of one local day
-- Reads  site_midnights, source_meters, meter_intervals
-- Units  water_m3s [m³/s], energy_kws [kWh/s]: NULL where a meter in service has no valid interval, or none
--        is in service; longest_days [d]: of the intervals behind it; pump_only: the energy is the pump's
-- An interval is shared evenly over its time.
CREATE OR REPLACE TEMP TABLE supply_segments AS
WITH valid AS (
    SELECT i.* FROM meter_intervals i JOIN source_meters USING (site_id, quantity, meter_id) WHERE i.valid AND i.to_at > i.from_at
),
marks AS (
    SELECT site_id, start_at AS mark_at FROM site_midnights
    UNION SELECT site_id, end_at FROM site_midnights
    UNION SELECT site_id, from_at FROM valid
    UNION SELECT site_id, to_at FROM valid
    UNION SELECT site_id, from_at FROM source_meters
    UNION SELECT site_id, to_at FROM source_meters WHERE to_at IS NOT NULL
),
stretches AS (
    SELECT site_id, mark_at AS from_at, lead(mark_at) OVER (PARTITION BY site_id ORDER BY mark_at) AS to_at FROM marks
),
in_days AS (
    SELECT s.site_id, d.day, s.from_at, s.to_at
    FROM stretches s ASOF JOIN site_midnights d ON d.site_id = s.site_id AND d.start_at <= s.from_at
    WHERE s.to_at <= d.end_at
),
by_meter AS (
    SELECT s.site_id, s.from_at, m.quantity, m.carries, i.days,
           CASE WHEN i.to_at >= s.to_at THEN i.amount / date_diff('second', i.from_at, i.to_at) END AS rate
    FROM in_days s
    JOIN source_meters m ON m.site_id = s.site_id AND m.from_at <= s.from_at AND (m.to_at IS NULL OR m.to_at >= s.to_at)
    ASOF LEFT JOIN valid i ON i.meter_id = m.meter_id AND i.from_at <= s.from_at
),
summed AS (
    SELECT site_id, from_at, quantity,
           if(count(rate) = count(*), exact_sum(rate * 86400) / 86400, NULL) AS rate,
           max(days) FILTER (WHERE rate IS NOT NULL) AS longest_days,
           bool_and(carries = 'pump') AS pump_only
    FROM by_meter GROUP BY ALL
)
SELECT d.site_id, d.day, d.from_at, d.to_at, date_diff('second', d.from_at, d.to_at) AS seconds,
       w.rate AS water_m3s, w.longest_days AS water_days,
       e.rate AS energy_kws, e.longest_days AS energy_days, coalesce(e.pump_only, true) AS pump_only
FROM in_days d
LEFT JOIN summed w ON w.site_id = d.site_id AND w.from_at = d.from_at AND w.quantity = 'water'
LEFT JOIN summed e ON e.site_id = d.site_id AND e.from_at = d.from_at AND e.quantity = 'energy';
