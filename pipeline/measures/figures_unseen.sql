-- figure_unseen: service time of a period on days of which the site itself says nothing.
-- Row    (site_id, from_day)
-- Reads  figure_unseen_sun, stopped_jobs
-- Units  service_h, down_h [h]: down in a job that had not ended, the rest is unknown
CREATE OR REPLACE TEMP TABLE figure_unseen AS
WITH days AS (
    SELECT u.*, (SELECT sum(greatest(0, epoch(least(work_to_at, coalesce(j.to_at, work_to_at)))::BIGINT
                                        - epoch(greatest(work_from_at, j.from_at))::BIGINT))
                 FROM stopped_jobs j
                 WHERE j.site_id = u.site_id AND j.from_at < work_to_at AND coalesce(j.to_at, work_to_at) > work_from_at) AS down_s
    FROM figure_unseen_sun u
)
SELECT site_id, from_day, exact_sum(date_diff('second', work_from_at, work_to_at)) / 3600 AS service_h,
       coalesce(exact_sum(down_s), 0) / 3600 AS down_h
FROM days GROUP BY ALL;
