-- log_flags: local days of the log that can't be taken at their word.
-- Row    (site_id, day)
-- Reads  log_days
-- Units  verdict: dead, frozen: nothing is taken from it; clock_off: its amounts count, its hours prove neither
--        up nor down. shift_h [h]: how far the clock is ahead (below 0: behind), the median of the days from
--        three before to three after: one cloudy day moves the middle of the sun by an hour. A clock that was
--        once seen to be off counts as off the same way from three fifths of the limit: a day's light is
--        never quite even
-- Takes  $clock_off_h
CREATE OR REPLACE TEMP TABLE log_flags AS
WITH smooth AS (
    SELECT *, median(shift_h) OVER of_week AS week_shift_h, count(shift_h) OVER of_week AS shifts
    FROM log_days
    WINDOW of_week AS (PARTITION BY site_id ORDER BY day RANGE BETWEEN INTERVAL 3 DAY PRECEDING AND INTERVAL 3 DAY FOLLOWING)
)
SELECT site_id, day, from_at, to_at,
       CASE WHEN dead THEN 'dead' WHEN frozen THEN 'frozen'
            WHEN shifts >= 3 AND most_h >= $clock_off_h AND abs(week_shift_h) >= 0.6 * $clock_off_h THEN 'clock_off' END AS verdict,
       if(verdict = 'clock_off', week_shift_h, NULL) AS shift_h
FROM (SELECT *, max(if(shifts >= 3, abs(week_shift_h), NULL)) OVER (PARTITION BY site_id, sign(week_shift_h)) AS most_h FROM smooth)
WHERE verdict IS NOT NULL;
