-- figure_productivity: harvest and water of the plantings whose last harvest lies in the period.
-- Row    (site_id, from_day); empty below the coverage that can be judged
-- Reads  figure_harvests, figure_harvest_water
-- Units  productive_kg [kg], productive_m3 [m³]. A block that two plantings share counts once
CREATE OR REPLACE TEMP TABLE figure_productivity AS
WITH kg AS (
    SELECT site_id, from_day, least_coverage, exact_sum(kg) AS productive_kg FROM figure_harvests GROUP BY ALL
),
days AS (
    SELECT DISTINCT site_id, from_day, block_id,
           unnest(generate_series(planted_on, last_on, INTERVAL 1 DAY))::DATE AS day
    FROM figure_harvests
),
water AS (
    SELECT site_id, from_day, exact_sum(water_m3) AS productive_m3,
           exact_sum(water_cover) / count(*) AS coverage
    FROM days JOIN figure_harvest_water USING (site_id, block_id, day) GROUP BY ALL
)
SELECT site_id, from_day, productive_kg, productive_m3
FROM kg JOIN water USING (site_id, from_day)
WHERE coverage >= least_coverage;
