"""Where a site's figures come from: each meter interval with its verdict, its reason, and both readings' file and line."""

from datetime import date

import pyarrow as pa

from pipeline.errors import UnknownName
from pipeline.measures.results import create_empty_missing
from pipeline.store import Reader
from pipeline.words import say

# A moment on the site's clock with its offset: 2026-10-31 07:00+02:00
LOCAL_TEXT = (
    "CREATE OR REPLACE TEMP MACRO at_site(moment, zone) AS timezone(zone, timezone('UTC', moment))",
    "CREATE OR REPLACE TEMP MACRO ahead_min(moment, zone) AS date_diff('minute', moment, at_site(moment, zone))",
    """CREATE OR REPLACE TEMP MACRO local_text(moment, zone) AS
       strftime(at_site(moment, zone), '%Y-%m-%d %H:%M')
       || printf('%s%02d:%02d', if(ahead_min(moment, zone) < 0, '-', '+'),
                 abs(ahead_min(moment, zone)) // 60, abs(ahead_min(moment, zone)) % 60)""",
)
LOCAL_MINUTE = len("2026-10-31 07:00")  # a sentence does without the offset
QUERY = """
    SELECT i.meter_id, i.quantity, i.block_id,
           local_text(i.from_at, s.zone) AS from_at, local_text(i.to_at, s.zone) AS to_at,
           i.from_value, i.to_value, i.amount, i.valid, i.verdict, i.reason,
           a.file AS from_file, f._line AS from_line, b.file AS to_file, t._line AS to_line
    FROM meter_intervals i JOIN sites s USING (site_id)
    LEFT JOIN meter_readings f ON f.meter_id = i.meter_id AND date_trunc('second', f.read_at) = i.from_at
    LEFT JOIN meter_readings t ON t.meter_id = i.meter_id AND date_trunc('second', t.read_at) = i.to_at
    LEFT JOIN sources a ON a.source_id = f._source LEFT JOIN sources b ON b.source_id = t._source
    WHERE i.site_id = $site_id AND at_site(i.to_at, s.zone) >= $from_day::TIMESTAMP
      AND at_site(i.from_at, s.zone) < $to_day::TIMESTAMP + INTERVAL 1 DAY
    ORDER BY i.quantity DESC, i.meter_id, i.to_at, i.from_at"""

SPELLS = """
    SELECT local_text(l.from_at, s.zone) AS from_at, local_text(l.to_at, s.zone) AS to_at, l.verdict, l.shift_h
    FROM log_spells l JOIN sites s USING (site_id)
    WHERE l.site_id = $site_id AND l.from_at < $to_day::TIMESTAMP
      AND (l.to_at IS NULL OR l.to_at >= $from_day::TIMESTAMP)
    ORDER BY ALL"""


def evidence(reader: Reader, site_id: str, from_day: date, to_day: date) -> pa.Table:
    """Return the meter intervals of a site that touch a period, with where their readings stand.

    Then the stretches in which the controller's log was dead, silent or off by hours. Times are local,
    with their offset. An ordinary interval has no reason; any other says in a sentence why it is counted or not.

    Raises
    ------
    UnknownName
        Where there is no such site.
    """
    create_empty_missing(reader.connection)
    if not reader.connection.execute("SELECT 1 FROM sites WHERE site_id = ?", [site_id]).fetchone():
        raise UnknownName(say("measures.no_such_site", site=site_id), mend=say("measures.no_such_site_mend"))
    parameters = {"site_id": site_id, "from_day": from_day, "to_day": to_day}
    for macro in LOCAL_TEXT:
        reader.connection.execute(macro)
    intervals = reader.connection.execute(QUERY, parameters).to_arrow_table()
    spells = reader.connection.execute(SPELLS, parameters).fetchall()
    return pa.concat_tables(
        [intervals, pa.Table.from_pylist([_spell(*row) for row in spells], schema=intervals.schema)]
    )


def _spell(from_at: str, to_at: str | None, verdict: str, shift_h: float | None) -> dict[str, object]:
    """A stretch of the log as a row of the evidence; columns not named are empty."""
    side = say("measures.ahead" if (shift_h or 0) > 0 else "measures.behind")
    reason = say(
        f"measures.log_{verdict if to_at else 'silent_since'}",
        start=from_at[:LOCAL_MINUTE],
        end=(to_at or "")[:LOCAL_MINUTE],
        hours=f"{abs(shift_h or 0):.1f}",
        side=side,
    )
    return {
        "meter_id": say("measures.log"),
        "from_at": from_at,
        "to_at": to_at,
        "valid": verdict == "clock_off",
        "verdict": verdict,
        "reason": reason,
    }
