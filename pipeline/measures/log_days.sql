-- log_days: what a local day of the log gives away of its logger.
-- Row    (site_id, day)
-- Reads  telemetry_steps, site_spans
-- Units  hours [h] that its rows speak for; dead: no sun, no input and no flow in a whole day, where there is
--        a sensor of irradiance; frozen: the same light by day and by night, and nothing else that moves.
--        shift_h [h]: how far the middle of the irradiance lies after the sun's noon by the log's clock, NULL
--        where half a day is missing or the light has no middle. Without such a sensor the pump's input
--        stands in, if a part of it lies in the night: a tank that is full by noon moves it too.
--        time_h: the equation of time, to a minute (common practice: 9.87 sin 2B − 7.53 cos B − 1.5 sin B)
-- Takes  $dead_log_wm2, $night_input_share
CREATE OR REPLACE TEMP TABLE log_days AS
WITH angles AS (  -- of the middle of each row, 0 at noon
    SELECT t.site_id, t.day, t.from_at, t.to_at, flow_m3h, input_kw, irradiance_wm2,
           epoch(t.to_at) - epoch(t.from_at) AS seconds,
           2 * pi() * (((epoch(t.to_at) + epoch(t.from_at)) / 2 + longitude * 240) % 86400 - 43200) / 86400 AS angle,
           abs(latitude) < 35 AS nights_are_long
    FROM telemetry_steps t JOIN site_spans USING (site_id)
),
sums AS (
    SELECT site_id, day, min(from_at) AS from_at, max(to_at) AS to_at, any_value(nights_are_long) AS nights_are_long,
           exact_sum(seconds) / 3600 AS hours, count(irradiance_wm2) AS sun_rows,
           max(irradiance_wm2) AS sun_most, min(irradiance_wm2) AS sun_least,
           max(flow_m3h) AS flow_most, min(flow_m3h) AS flow_least, max(input_kw) AS input_most, min(input_kw) AS input_least,
           exact_sum(greatest(irradiance_wm2, 0)) AS sun_sum,
           exact_sum(greatest(irradiance_wm2, 0) * sin(angle)) AS sun_sin, exact_sum(greatest(irradiance_wm2, 0) * cos(angle)) AS sun_cos,
           exact_sum(input_kw * sin(angle)) AS input_sin, exact_sum(input_kw * cos(angle)) AS input_cos,
           exact_sum(input_kw) AS input_sum, exact_sum(if(abs(angle) > pi() * 7 / 12, input_kw, 0)) AS input_by_night,
           count(*) FILTER (WHERE irradiance_wm2 > 50) AS sunny_rows, count(*) AS rows
    FROM angles GROUP BY site_id, day
)
SELECT site_id, day, from_at, to_at, hours,
       coalesce(hours >= 12 AND sun_rows > 0.9 * rows AND sun_most < $dead_log_wm2
                AND coalesce(flow_most, 0) <= 0 AND coalesce(input_most, 0) <= 0, false) AS dead,
       coalesce(hours >= 20 AND sun_rows = rows AND sun_most > 0 AND sun_most = sun_least
                AND (flow_most IS NULL OR flow_most = flow_least)
                AND (input_most IS NULL OR input_most = input_least), false) AS frozen,
       CASE WHEN hours < 12 THEN NULL
            WHEN sun_most >= $dead_log_wm2 AND sunny_rows * hours / rows >= 6
                 AND sqrt(sun_sin ** 2 + sun_cos ** 2) > 0.3 * sun_sum
            THEN atan2(sun_sin, sun_cos) * 12 / pi() + time_h
            WHEN sun_rows = 0 AND nights_are_long AND input_by_night > $night_input_share * input_sum
                 AND sqrt(input_sin ** 2 + input_cos ** 2) > 0.3 * input_sum
            THEN atan2(input_sin, input_cos) * 12 / pi() + time_h END AS shift_h
FROM (SELECT *, 2 * pi() * (dayofyear(day) - 81) / 364 AS turn,
             (9.87 * sin(2 * turn) - 7.53 * cos(turn) - 1.5 * sin(turn)) / 60 AS time_h FROM sums);
