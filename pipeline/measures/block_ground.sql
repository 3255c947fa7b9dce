-- block_ground: what the soil of a block holds, and how its water is applied.
-- Row    (site_id, block_id)
-- Reads  blocks, soil_classes
-- Units  available_water_mm_m [mm/m]; soil_told: whether the block names its soil; efficiency [-], NULL:
--        unknown. By method: FAO Irrigation Water Management Training Manual 4, Annex I, Table 8 (from memory)
-- Takes  $default_soil
CREATE OR REPLACE TEMP TABLE block_ground AS
SELECT site_id, block_id, b.soil IS NOT NULL AS soil_told, s.soil, available_water_mm_m,
       coalesce(application_efficiency,
                CASE WHEN irrigation_method IN ('furrow', 'basin') THEN 0.60
                     WHEN irrigation_method IN ('sprinkler', 'spray_tube', 'hose') THEN 0.75
                     WHEN irrigation_method = 'drip' THEN 0.90 END) AS efficiency
FROM blocks b JOIN soil_classes s ON s.soil = coalesce(b.soil, $default_soil);
