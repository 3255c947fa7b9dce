-- figure_harvests: the plantings whose last harvest lies in a period, with all that they gave.
-- Row    (site_id, from_day, block_id, crop, planted_on)
-- Reads  figure_sites, harvests, plantings
-- Units  kg [kg], value [currency] of what has a price, priced_kg [kg] of it; *_kg by how it is known;
--        least_coverage [-]: of the days up to the last harvest, for which a planting can be judged
-- A harvest belongs to the block's latest planting of that crop: one before any planting belongs to none.
CREATE OR REPLACE TEMP TABLE figure_harvests AS
WITH of_planting AS (
    SELECT h.site_id, h.block_id, h.crop, p.planted_on,
           min(h.harvested_on) AS first_on, max(h.harvested_on) AS last_on, count(*) AS harvests,
           exact_sum(h.harvest_kg) AS kg,
           coalesce(exact_sum(if(h.how_known = 'weighed', h.harvest_kg, NULL)), 0) AS weighed_kg,
           coalesce(exact_sum(if(h.how_known = 'buyer_slip', h.harvest_kg, NULL)), 0) AS buyer_slip_kg,
           coalesce(exact_sum(if(h.how_known = 'recall', h.harvest_kg, NULL)), 0) AS recall_kg,
           exact_sum(h.harvest_kg * h.price_per_kg) AS value,
           coalesce(exact_sum(if(h.price_per_kg IS NULL, NULL, h.harvest_kg)), 0) AS priced_kg
    FROM harvests h ASOF JOIN plantings p
        ON h.site_id = p.site_id AND h.block_id = p.block_id AND h.crop = p.crop
       AND h.harvested_on >= p.planted_on
    GROUP BY ALL
)
SELECT f.from_day, 0.8 AS least_coverage, o.*
FROM of_planting o JOIN figure_sites f
    ON o.site_id = f.site_id AND o.last_on BETWEEN f.from_day AND f.to_day;
