-- logged_supply: what the controller's log gives for stretches that a meter leaves open.
-- Row    (site_id, from_at) of supply_segments
-- Reads  supply_segments, trusted_steps, telemetry_nights, site_midnights
-- Units  *_s [s] of the stretch that the log covers; water_m3 [m³]; energy_kwh [kWh]
CREATE OR REPLACE TEMP TABLE logged_supply AS
WITH open_stretches AS (SELECT site_id, day, from_at, to_at FROM supply_segments WHERE water_m3s IS NULL OR energy_kws IS NULL),
other_days AS (  -- of what begins before its own day: the row at midnight, a night without rows
    SELECT site_id, from_at, to_at, flow_m3h, input_kw, unnest(generate_series(from_at::DATE - 1, day - 1, INTERVAL 1 DAY))::DATE AS day
    FROM trusted_steps LEFT JOIN site_midnights USING (site_id, day) WHERE from_at < coalesce(start_at, to_at)
    UNION ALL
    SELECT site_id, from_at, to_at, 0, 0, unnest(generate_series(from_at::DATE - 1, to_at::DATE + 1, INTERVAL 1 DAY))::DATE
    FROM telemetry_nights
),
shared_time AS (
    SELECT s.site_id, s.from_at, flow_m3h, input_kw,
           (epoch_us(least(s.to_at, l.to_at)) - epoch_us(greatest(s.from_at, l.from_at))) / 1e6 AS seconds
    FROM (
        SELECT site_id, day, from_at, to_at, flow_m3h, input_kw FROM trusted_steps
        UNION ALL SELECT site_id, day, from_at, to_at, flow_m3h, input_kw FROM other_days
    ) l
    JOIN open_stretches s ON s.site_id = l.site_id AND s.day = l.day AND l.from_at < s.to_at AND l.to_at > s.from_at
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
