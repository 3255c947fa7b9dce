-- figures_target: figures of an agreement that are no indicators.
-- Row    one
-- Reads  agreement_sites, sites, trainings
-- Units  counts; women_share_of_attendances [-]. NULL: unknown
-- Takes  $agreement_id, $from_day, $to_day
CREATE OR REPLACE TEMP TABLE figures_target AS
WITH paid AS (
    SELECT s.* FROM sites s SEMI JOIN (FROM agreement_sites WHERE agreement_id = $agreement_id) USING (site_id)
),
held AS (
    SELECT count(*) AS trainings_held,
           sum(coalesce(women + men, women, men)) AS training_attendances,
           sum(women) FILTER (WHERE men IS NOT NULL) AS women,
           sum(women + men) AS both_known
    FROM trainings SEMI JOIN paid USING (site_id)
    WHERE held_on BETWEEN $from_day AND $to_day
),
serving AS (
    SELECT count(*) AS sites_in_service, sum(households) AS households
    FROM paid
    WHERE coalesce(commissioned_on, $to_day) <= $to_day
      AND (decommissioned_on IS NULL OR decommissioned_on > $to_day)
)
SELECT $agreement_id::VARCHAR AS agreement_id, $from_day::DATE AS from_day, $to_day::DATE AS to_day,
       trainings_held, training_attendances,
       women / nullif(both_known, 0) AS women_share_of_attendances,
       sites_in_service, households
FROM held, serving;
