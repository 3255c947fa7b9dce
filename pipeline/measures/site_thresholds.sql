-- site_thresholds: from where a site's log shows pumping, running and enough sun.
-- Row    (site_id)
-- Reads  site_spans, trusted_steps
-- Units  pumping_m3h, running_kw: a share of the rated flow and power (of the log's own 95th percentile
--        where none is known); start_wm2: learnt from the irradiance while pumping, else the setting
-- Takes  $flow_threshold_share, $input_threshold_share, $start_irradiance_wm2,
--        $start_irradiance_percentile, $start_irradiance_min_intervals
CREATE OR REPLACE TEMP TABLE site_thresholds AS
WITH own AS (
    SELECT site_id, quantile_cont(flow_m3h, 0.95) FILTER (rated_flow_m3h IS NULL) AS usual_m3h,
           quantile_cont(input_kw, 0.95) FILTER (rated_power_kw IS NULL) AS usual_kw
    FROM trusted_steps JOIN site_spans USING (site_id)
    WHERE rated_flow_m3h IS NULL OR rated_power_kw IS NULL GROUP BY site_id
),
thresholds AS (
    SELECT site_id, $flow_threshold_share * coalesce(rated_flow_m3h, usual_m3h) AS pumping_m3h,
           $input_threshold_share * coalesce(rated_power_kw, usual_kw) AS running_kw
    FROM site_spans LEFT JOIN own USING (site_id)
),
learnt AS (
    SELECT t.site_id, quantile_cont(irradiance_wm2, $start_irradiance_percentile::DOUBLE) AS wm2, count(irradiance_wm2) AS intervals
    FROM trusted_steps t JOIN thresholds USING (site_id)
    WHERE flow_m3h > pumping_m3h GROUP BY t.site_id
)
SELECT site_id, pumping_m3h, running_kw,
       if(intervals >= $start_irradiance_min_intervals, wm2, $start_irradiance_wm2) AS start_wm2
FROM thresholds LEFT JOIN learnt USING (site_id);
