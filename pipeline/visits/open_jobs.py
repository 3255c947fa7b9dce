"""Jobs that are open on a day: what waits, for what, and for how long."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from pipeline.measures.results import create_empty_missing
from pipeline.measures.statements import run_statement
from pipeline.store import Reader

LONG_DAYS = 14  # our own choice: a job open for longer is told apart

OPEN_JOBS = """
    SELECT site_id, record_id, kind, component, reported_on, age_days, waits_for, arrived_on, water_stopped, water_seen_on
    FROM visit_jobs
    ORDER BY coalesce(water_stopped, 'no') = 'yes' DESC, reported_at, site_id, record_id"""


def open_jobs(reader: Reader, as_of: date, sites: Sequence[str] | None = None) -> list[dict[str, Any]]:
    """Return the jobs that are open on a day, those that stopped the water first, the oldest first.

    Parameters
    ----------
    reader
        Its tables may go on after the day.
    as_of
        The day.
    sites
        Only of these; all if left out.

    Returns
    -------
    list of dict
        site_id, record_id, kind, component, reported_on; age_days [d]; waits_for: how it stood; arrived_on;
        water_stopped: yes, no or None, unknown; water_seen_on: the last day with water since the report
        of a stop, None where there was none.
    """
    create_empty_missing(reader.connection)
    parameters = {"as_of": as_of, "sites": None if sites is None else list(sites)}
    run_statement(reader.connection, "visit_jobs", parameters, package="pipeline.visits")
    return list(reader.connection.execute(OPEN_JOBS).to_arrow_table().to_pylist())
