"""Jobs that are open on a day: what waits, for what, and for how long."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from pipeline.store import Reader

LONG_DAYS = 14  # our own choice: a job open for longer is told apart

# A job closed without an end on record counts while it says that the water stopped and none was seen since.
OPEN_JOBS = """
    WITH seen AS (  -- the last day on which the log or a meter showed water after the report
        SELECT m.record_id, max(d.day) AS water_on
        FROM maintenance m JOIN site_days d ON d.site_id = m.site_id AND d.day > m.reported_day
        WHERE d.up_h > 0 AND d.day <= $as_of::DATE GROUP BY ALL
    )
    SELECT m.site_id, m.record_id, m.kind, m.component, m.reported_day AS reported_on,
           $as_of::DATE - m.reported_day AS age_days, coalesce(m.status, 'open') AS waits_for, m.arrived_day AS arrived_on,
           m.water_stopped, if(m.water_stopped = 'yes', s.water_on, NULL) AS water_seen_on
    FROM maintenance m LEFT JOIN seen s USING (record_id)
    WHERE m.restored_at IS NULL AND m.reported_day <= $as_of::DATE
      AND ($sites::VARCHAR[] IS NULL OR list_contains($sites::VARCHAR[], m.site_id))
      AND (coalesce(m.status, 'open') <> 'closed' OR coalesce(m.water_stopped, 'no') = 'yes' AND s.water_on IS NULL)
    ORDER BY coalesce(m.water_stopped, 'no') = 'yes' DESC, m.reported_at, m.site_id, m.record_id"""


def open_jobs(reader: Reader, as_of: date, sites: Sequence[str] | None = None) -> list[dict[str, Any]]:
    """Return the jobs that are open on a day, those that stopped the water first, the oldest first.

    Parameters
    ----------
    reader
        Its tables end on the day, as `ranking.judged` leaves them.
    as_of
        The day.
    sites
        Only of these; all if left out.

    Returns
    -------
    list of dict
        site_id, record_id, kind, component, reported_on; age_days [d]; waits_for: its status; arrived_on;
        water_stopped: yes, no or None, unknown; water_seen_on: the last day with water since the report
        of a stop, None where there was none.
    """
    parameters = {"as_of": as_of, "sites": None if sites is None else list(sites)}
    found = reader.connection.execute(OPEN_JOBS, parameters).to_arrow_table().to_pylist()
    return list(found)
