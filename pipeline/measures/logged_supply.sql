-- logged_supply: what the controller's log gives for stretches that a meter leaves open.
-- Row    (site_id, from_at) of supply_segments
-- Reads  supply_segments, trusted_steps, telemetry_nights
-- Units  *_s [s] of the stretch that the log covers; water_m3 [m³]; energy_kwh [kWh]
CREATE OR REPLACE TEMP TABLE logged_supply AS
WITH logged AS (
    SELECT site_id, from_at, to_at, flow_m3h, input_kw FROM trusted_steps
    UNION ALL SELECT site_id, from_at, to_at, 0, 0 FROM telemetry_nights
),
open_stretches AS (SELECT * FROM supply_segments WHERE water_m3s IS NULL OR energy_kws IS NULL),
-- nearly every step lies within one stretch: only the few that cross a border need a join by range
placed AS (
    SELECT l.*, s.from_at AS stretch_at, coalesce(l.to_at <= s.to_at, false) AS within,
           s.water_m3s IS NULL OR s.energy_kws IS NULL AS open
    FROM logged l ASOF LEFT JOIN supply_segments s ON s.site_id = l.site_id AND l.from_at >= s.from_at
),
shared_time AS (
    SELECT site_id, stretch_at AS from_at, flow_m3h, input_kw, epoch(to_at) - epoch(from_at) AS seconds
    FROM placed WHERE within AND open
    UNION ALL
    SELECT s.site_id, s.from_at, flow_m3h, input_kw,
           epoch(least(s.to_at, l.to_at)) - epoch(greatest(s.from_at, l.from_at))
    FROM open_stretches s
    JOIN placed l ON NOT l.within AND l.site_id = s.site_id AND l.from_at < s.to_at AND l.to_at > s.from_at
)
SELECT site_id, from_at,
       exact_sum(if(flow_m3h IS NULL, NULL, seconds)) AS water_s,
       exact_sum(seconds * flow_m3h) / 3600 AS water_m3,
       exact_sum(if(input_kw IS NULL, NULL, seconds)) AS energy_s,
       exact_sum(seconds * input_kw) / 3600 AS energy_kwh,
       exact_sum(if(flow_m3h IS NULL OR input_kw IS NULL, NULL, seconds)) AS both_s,
       exact_sum(if(input_kw IS NULL, NULL, seconds * flow_m3h)) / 3600 AS both_water_m3,
       exact_sum(if(flow_m3h IS NULL, NULL, seconds * input_kw)) / 3600 AS both_energy_kwh
FROM shared_time GROUP BY ALL;
