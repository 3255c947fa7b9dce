-- figure_sites: the sites and periods that figures are asked for.
-- Row    (site_id, from_day)
-- Reads  sites, figure_periods
-- Units  service_days [d]: from commissioning to the day before the end of service; a site whose
--        commissioning nobody wrote down counts as in service
-- Takes  $sites: ids, NULL for all; $longest_month_interval_days [d]
CREATE OR REPLACE TEMP TABLE figure_sites AS
SELECT site_id, from_day, to_day, zone, district,
       greatest(from_day, coalesce(commissioned_on, from_day)) AS service_from,
       least(to_day, coalesce(decommissioned_on - 1, to_day)) AS service_to,
       greatest(0, service_to - service_from + 1) AS service_days,
       to_day - from_day + 1 > $longest_month_interval_days AS takes_long
FROM sites, figure_periods
WHERE $sites IS NULL OR list_contains($sites, site_id);
