-- spray_blocks: the blocks of the sites in service, with what their own meters tell of their flow.
-- Row    (site_id, block_id)
-- Reads  blocks, sites, spray_flows
-- Units  own_flow_m3h, at_least_m3h [m³/h] as spray_flows has them
-- Takes  $to_day, $sites
CREATE OR REPLACE TEMP TABLE spray_blocks AS
SELECT b.site_id, b.block_id, b.irrigation_method, b.area_ha, b.soil, b.lateral_spacing_m, b.wetted_diameter_m, b.design_flow_m3h,
       f.flow_m3h AS own_flow_m3h, f.flow_on AS own_flow_on, f.flow_at_least_m3h AS at_least_m3h, f.at_least_on
FROM blocks b JOIN sites s ON s.site_id = b.site_id
LEFT JOIN spray_flows f ON f.site_id = b.site_id AND f.block_id = b.block_id
WHERE ($sites IS NULL OR list_contains($sites, b.site_id))
  AND coalesce(s.commissioned_on <= $to_day::DATE, true) AND coalesce(s.decommissioned_on > $to_day::DATE, true)
ORDER BY b.site_id, b.block_id;
