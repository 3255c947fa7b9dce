-- visit_meters: source counters that stand still: stuck while the pump runs, or without water.
-- Row    (site_id)
-- Reads  meters, meter_intervals, sites
-- Units  stuck_since, still_since: local days; still_days [d] without a drop through any source meter
-- Takes  $as_of
CREATE OR REPLACE TEMP TABLE visit_meters AS
WITH latest AS (
    SELECT i.*, timezone(s.zone, timezone('UTC', i.from_at))::DATE AS since,
           row_number() OVER (PARTITION BY i.meter_id ORDER BY i.to_at DESC, i.from_at DESC) AS nth
    FROM meter_intervals i JOIN meters m USING (meter_id) JOIN sites s ON s.site_id = i.site_id
    WHERE i.block_id IS NULL AND i.to_at > $as_of::TIMESTAMP - INTERVAL 35 DAY
      AND i.to_at < $as_of::TIMESTAMP + INTERVAL 2 DAY AND (m.removed_on IS NULL OR m.removed_on > $as_of::DATE)
),
turned AS (  -- the first interval, counted back, that says otherwise
    SELECT meter_id, min(nth) FILTER (WHERE NOT (verdict = 'stuck' OR valid AND amount = 0)) AS moved,
           min(nth) FILTER (WHERE NOT (valid AND amount = 0)) AS not_still
    FROM latest GROUP BY meter_id
),
stuck AS (
    SELECT site_id, min(since) AS stuck_since, arg_max(reason, to_at) FILTER (WHERE verdict = 'stuck') AS stuck_reason
    FROM latest JOIN turned USING (meter_id) WHERE nth < coalesce(moved, nth + 1)
    GROUP BY site_id, meter_id HAVING bool_or(verdict = 'stuck')
    QUALIFY row_number() OVER (PARTITION BY site_id ORDER BY min(since), meter_id) = 1
),
still AS (
    SELECT site_id, meter_id, exact_sum(if(nth < coalesce(not_still, nth + 1), days, NULL)) AS days,
           min(since) FILTER (WHERE nth < coalesce(not_still, nth + 1)) AS since
    FROM latest JOIN turned USING (meter_id) WHERE quantity = 'water' GROUP BY site_id, meter_id
),
all_still AS (
    SELECT site_id, if(count(days) = count(*), min(days), NULL) AS still_days, max(since) AS still_since FROM still GROUP BY site_id
),
-- what the energy meters counted over most of the same time: nothing, something, or NULL: there is none
energy AS (
    SELECT a.site_id, bool_and(l.amount = 0) AS energy_still
    FROM all_still a JOIN latest l ON l.site_id = a.site_id AND l.quantity = 'energy' AND l.valid AND l.since >= a.still_since
    GROUP BY a.site_id HAVING exact_sum(l.days) >= 0.5 * any_value(a.still_days)
)
SELECT site_id, stuck_since, stuck_reason, still_days, if(still_days IS NULL, NULL, still_since) AS still_since, energy_still
FROM stuck FULL JOIN all_still USING (site_id) LEFT JOIN energy USING (site_id);
