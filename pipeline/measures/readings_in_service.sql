-- readings_in_service: the readings of each meter, with whether the meter was in place.
-- Row    (meter_id, read_at)
-- Reads  meters, meter_readings
-- Units  value: the register's own; outside: before installed_on or after removed_on
CREATE OR REPLACE TEMP TABLE readings_in_service AS
SELECT r.meter_id, r.read_at, r.read_day, r.value,
       r.read_day NOT BETWEEN coalesce(m.installed_on, r.read_day) AND coalesce(m.removed_on, r.read_day) AS outside
FROM meter_readings r JOIN meters m ON m.meter_id = r.meter_id
WHERE r.value IS NOT NULL;
