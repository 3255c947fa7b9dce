-- figure_block_water: what block meters counted in a day, an interval shared evenly over its time.
-- Row    (site_id, block_id, day); blocks with a meter of their own only
-- Reads  meter_intervals, sites
-- Units  water_m3 [m³], water_cover [-] of 24 h; is_long: from an interval that feeds no month
-- Takes  $longest_month_interval_days [d]; $sites
CREATE OR REPLACE TEMP TABLE figure_block_water AS
WITH intervals AS (
    SELECT site_id, block_id, meter_id, amount, days > $longest_month_interval_days AS is_long,
           from_at AT TIME ZONE 'UTC' AT TIME ZONE zone AS from_local,
           to_at AT TIME ZONE 'UTC' AT TIME ZONE zone AS to_local
    FROM meter_intervals JOIN sites USING (site_id)
    WHERE quantity = 'water' AND block_id IS NOT NULL AND valid AND to_at > from_at
      AND ($sites IS NULL OR list_contains($sites, site_id))
),
days AS (
    SELECT *, unnest(generate_series(from_local::DATE, to_local::DATE, INTERVAL 1 DAY))::DATE AS day
    FROM intervals
),
shares AS (
    SELECT site_id, block_id, meter_id, day, is_long, amount,
           epoch(least(to_local, (day + 1)::TIMESTAMP)) - epoch(greatest(from_local, day::TIMESTAMP)) AS seconds,
           epoch(to_local) - epoch(from_local) AS whole_seconds
    FROM days
),
meters_of_day AS (
    SELECT site_id, block_id, meter_id, day, is_long,
           exact_sum(amount * seconds / whole_seconds) AS water_m3,
           exact_sum(seconds / 86400) AS water_cover
    FROM shares WHERE seconds > 0 GROUP BY ALL
)
SELECT site_id, block_id, day, is_long, exact_sum(water_m3) AS water_m3, min(water_cover) AS water_cover
FROM meters_of_day GROUP BY ALL;
