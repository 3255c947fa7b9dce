-- figure_groups: to which line of the table a site belongs, and with which weight.
-- Row    (site_id, group_id)
-- Reads  figure_sites
CREATE OR REPLACE TEMP TABLE figure_groups AS
SELECT DISTINCT site_id, site_id AS group_id, 1.0::DOUBLE AS weight FROM figure_sites;
