-- block_irrigation: what was applied on a block in a day, over its planted area.
-- Row    (site_id, block_id, day): days with a planted area
-- Reads  block_days, figure_block_water, site_days
-- Units  applied_mm: gross, 10 m³/ha is 1 mm; NULL: no meter speaks for the day. blocks_on_water: among how
--        many planted blocks the water was spread evenly, 1 where the block has a meter of its own
-- Takes  $known_day_cover [-]: of a day that a meter must speak for
-- A block's meter speaks from its first day to its last; what the other blocks had is the site's water less
-- that of the metered ones. Nobody knows how farmers shared it: sharing by need would show each block the
-- same, and prove nothing.
CREATE OR REPLACE TEMP TABLE block_irrigation AS
WITH own AS (
    SELECT site_id, block_id, day, exact_sum(if(is_long, NULL, water_m3)) AS water_m3,
           exact_sum(if(is_long, 0, water_cover)) >= $known_day_cover AS known
    FROM figure_block_water GROUP BY ALL
),
metered AS (SELECT site_id, block_id, min(day) AS from_day, max(day) AS to_day FROM own GROUP BY ALL),
planted AS (
    SELECT b.site_id, b.block_id, b.day, b.planted_ha, m.block_id IS NOT NULL AS has_meter,
           if(o.known, o.water_m3, NULL) AS own_m3
    FROM block_days b
    LEFT JOIN metered m ON m.site_id = b.site_id AND m.block_id = b.block_id AND b.day BETWEEN m.from_day AND m.to_day
    LEFT JOIN own o ON o.site_id = b.site_id AND o.block_id = b.block_id AND o.day = b.day
    WHERE b.planted_ha > 0 OR m.block_id IS NOT NULL
),
of_site AS (
    SELECT site_id, day, exact_sum(if(has_meter, NULL, planted_ha)) AS shared_ha,
           count(*) FILTER (NOT has_meter) AS sharing,
           coalesce(exact_sum(own_m3), 0) AS metered_m3,
           count(*) FILTER (has_meter AND own_m3 IS NULL) AS silent
    FROM planted GROUP BY ALL
),
shared AS (
    SELECT o.*, if(water_cover >= $known_day_cover AND silent = 0 AND water_m3 >= metered_m3,
                   water_m3 - metered_m3, NULL) AS shared_m3
    FROM of_site o LEFT JOIN site_days USING (site_id, day)
)
SELECT p.site_id, p.block_id, p.day, if(has_meter, 1, sharing) AS blocks_on_water,
       if(has_meter, own_m3 / planted_ha, shared_m3 / shared_ha) / 10 AS applied_mm
FROM planted p JOIN shared USING (site_id, day)
WHERE planted_ha > 0;
