-- figure_groups: to which line of the table a site belongs, and with which weight.
-- Row    (site_id, group_id)
-- Reads  figure_sites, agreement_sites
-- Takes  $rest: the name of the line of what no agreement pays for; below 0 where shares sum to
--        more than 1, so that all lines sum to the programme
CREATE OR REPLACE TEMP TABLE figure_groups AS
WITH shares AS (
    SELECT site_id, agreement_id AS group_id, coalesce(share, 1)::DOUBLE AS weight
    FROM agreement_sites SEMI JOIN figure_sites USING (site_id)
),
paid AS (SELECT site_id, exact_sum(weight) AS weight FROM shares GROUP BY ALL),
rest AS (
    SELECT DISTINCT site_id, $rest::VARCHAR AS group_id, round(1 - coalesce(paid.weight, 0), 9) AS weight
    FROM figure_sites LEFT JOIN paid USING (site_id)
)
FROM shares UNION ALL FROM rest WHERE weight <> 0;
