-- visit_blocks: what the block meters say of the way to the fields.
-- Row    (site_id)
-- Reads  blocks, planting_spans, meter_intervals
-- Units  reached_share [-] of the pumped water that the block meters counted, NULL unless every planted
--        block has a meter and all cover seven tenths of the time; doubled: times in which a block got
--        about half its design flow while another one ran
-- Takes  $as_of, $leak_days, $leak_least_m3, $doubled_days, $half_low, $half_high
CREATE OR REPLACE TEMP TABLE visit_blocks AS
WITH part AS (
    SELECT site_id, block_id, meter_id, from_at, to_at, amount,
           epoch(least(to_at, $as_of::TIMESTAMP + INTERVAL 1 DAY)) - epoch(greatest(from_at, $as_of::TIMESTAMP - to_days($leak_days::INTEGER))) AS seconds,
           epoch(to_at) - epoch(from_at) AS whole_s
    FROM meter_intervals
    WHERE quantity = 'water' AND valid AND to_at > from_at
      AND to_at > $as_of::TIMESTAMP - to_days($leak_days::INTEGER) AND from_at < $as_of::TIMESTAMP + INTERVAL 1 DAY
),
rates AS (
    SELECT site_id, block_id, 86400 * exact_sum(amount * seconds / whole_s) / exact_sum(seconds) AS m3_per_day, exact_sum(seconds) AS seconds
    FROM part GROUP BY ALL
),
planted AS (
    SELECT DISTINCT site_id, block_id FROM planting_spans
    WHERE NOT fallow AND planted_on <= $as_of::DATE AND (last_day IS NULL OR last_day > $as_of::DATE - $leak_days::INTEGER)
),
by_block AS (
    SELECT p.site_id, bool_and(coalesce(r.seconds >= 0.7 * 86400 * $leak_days, false)) AS metered
    FROM planted p LEFT JOIN rates r ON r.site_id = p.site_id AND r.block_id = p.block_id GROUP BY p.site_id
),
reached AS (
    SELECT r.site_id, exact_sum(if(block_id IS NULL, NULL, m3_per_day)) / nullif(exact_sum(if(block_id IS NULL, m3_per_day, NULL)), 0) AS reached_share
    FROM rates r JOIN by_block b ON b.site_id = r.site_id
    WHERE b.metered AND r.seconds >= 0.7 * 86400 * $leak_days GROUP BY r.site_id
    HAVING exact_sum(if(block_id IS NULL, m3_per_day * r.seconds / 86400, NULL)) >= $leak_least_m3
),
halved AS (  -- so short that blocks which took turns would each show their whole flow in most of them
    SELECT p.site_id, p.block_id, p.from_at, p.to_at
    FROM part p JOIN blocks b ON b.site_id = p.site_id AND b.block_id = p.block_id
    WHERE whole_s <= 7200 AND amount * 3600 / whole_s / nullif(design_flow_m3h, 0) BETWEEN $half_low AND $half_high
      AND to_at > $as_of::TIMESTAMP - to_days($doubled_days::INTEGER)
),
doubled AS (
    SELECT a.site_id, count(DISTINCT a.from_at) AS doubled, min(a.from_at) AS doubled_at
    FROM halved a JOIN halved b ON b.site_id = a.site_id AND b.block_id > a.block_id
        AND epoch(least(a.to_at, b.to_at)) - epoch(greatest(a.from_at, b.from_at)) >= 0.5 * (epoch(a.to_at) - epoch(a.from_at))
    GROUP BY a.site_id
)
SELECT site_id, reached_share, doubled, doubled_at FROM reached FULL JOIN doubled USING (site_id);
