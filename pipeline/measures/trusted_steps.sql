-- trusted_steps: the rows of the log that a live logger wrote.
-- Row    (site_id, to_at) of telemetry_steps
-- Reads  telemetry_steps, log_flags
-- Units  clock_off: its amounts count, its hours prove nothing
CREATE OR REPLACE TEMP VIEW trusted_steps AS
SELECT t.*, coalesce(f.verdict = 'clock_off', false) AS clock_off
FROM telemetry_steps t LEFT JOIN log_flags f ON f.site_id = t.site_id AND f.day = t.day
WHERE f.verdict IS NULL OR f.verdict = 'clock_off';
