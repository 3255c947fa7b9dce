-- source_meters: the meters whose sum is what a site pumped or used, and when each was in service.
-- Row    (site_id, quantity, meter_id)
-- Reads  meters, sites, readings_in_service, blocks, plantings, planting_spans
-- Units  from_at, to_at: UTC; to_at NULL: still in service
-- A meter that was never read is in service like any other: what it counted is missing in the sum.
-- A meter without removed_on is in service for good, unless another of its kind begins after its last
-- reading: then it was replaced. Without a source meter, block meters add up if every planted block
-- has one.
CREATE OR REPLACE TEMP TABLE source_meters AS
WITH seen AS (
    SELECT m.*, r.* EXCLUDE (meter_id),
           timezone('UTC', timezone(s.zone, m.installed_on::TIMESTAMP)) AS installed_at,
           timezone('UTC', timezone(s.zone, m.removed_on::TIMESTAMP)) AS removed_at
    FROM meters m JOIN sites s USING (site_id)
    LEFT JOIN (SELECT meter_id, min(read_at) AS first_at, max(read_at) AS last_at,
                 min(read_day) AS first_day, max(read_day) AS last_day
          FROM readings_in_service WHERE NOT outside GROUP BY meter_id) r USING (meter_id)
),
planted AS (
    SELECT DISTINCT site_id, block_id FROM planting_spans WHERE NOT fallow
    UNION SELECT site_id, block_id FROM blocks WHERE site_id NOT IN (SELECT site_id FROM plantings)
),
blocks_add_up AS (
    SELECT site_id FROM planted p
    WHERE site_id NOT IN (SELECT site_id FROM seen WHERE quantity = 'water' AND block_id IS NULL AND first_at IS NOT NULL)
    GROUP BY site_id
    HAVING bool_and(EXISTS (SELECT 1 FROM seen s WHERE s.site_id = p.site_id AND s.block_id = p.block_id AND s.first_at IS NOT NULL
                                                  AND s.quantity = 'water'))
),
counted AS (
    SELECT * FROM seen
    WHERE if(quantity = 'water' AND site_id IN (SELECT site_id FROM blocks_add_up),
             block_id IS NOT NULL AND first_at IS NOT NULL, block_id IS NULL)
)
SELECT c.site_id, c.quantity, c.meter_id, coalesce(c.carries, 'pump') AS carries,
       -- on the day of its installation: from where another one's last reading ends, else from its own first
       CASE WHEN c.first_at IS NULL THEN coalesce(c.installed_at, TIMESTAMP '1990-01-01')
            WHEN c.installed_at IS NULL THEN c.first_at
            ELSE coalesce((SELECT max(o.last_at) FROM counted o WHERE o.site_id = c.site_id AND o.quantity = c.quantity
                           AND o.block_id IS NOT DISTINCT FROM c.block_id AND o.meter_id <> c.meter_id
                           AND o.last_day = c.installed_on AND o.last_at <= c.first_at),
                          if(c.first_day <= c.installed_on, c.first_at, c.installed_at)) END AS from_at,
       CASE WHEN c.removed_at IS NOT NULL THEN greatest(c.last_at, c.removed_at)
            WHEN EXISTS (SELECT 1 FROM counted o WHERE o.site_id = c.site_id AND o.quantity = c.quantity
                         AND o.block_id IS NOT DISTINCT FROM c.block_id AND o.meter_id <> c.meter_id
                         AND o.first_at > c.last_at)
            THEN c.last_at END AS to_at
FROM counted c;
