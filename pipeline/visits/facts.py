"""What the rules may look at: one record a site, from the measures and the contract's tables."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from pipeline.measures.results import create_empty_missing
from pipeline.measures.statements import prepare_sums, run_statement
from pipeline.store import Reader
from pipeline.visits.coming import LEFT, leave_coming_need

Facts = dict[str, Any]

# What is common practice, without a source
LOOKED_BACK: dict[str, object] = {
    "weeks_days": 21,  # that count as now
    "oldest_days": 60,  # a site last known earlier can't be judged
    "rain_mm": 10.0,  # a day's rain that washes an array
    "leak_days": 45,
    "leak_least_m3": 100.0,  # less is filled in cans, and block counters are too coarse for it
    "doubled_days": 30,
    "half_low": 0.35,  # of the design flow: about half
    "half_high": 0.65,
}
TABLES = ("visit_meters", "visit_supply", "visit_jobs", "visit_stops", "visit_streams", "visit_blocks", "visit_log", "visit_surveys")  # fmt: skip


def facts(reader: Reader, as_of: date, sites: Sequence[str] | None) -> list[Facts]:
    """Return what is known of each site in service, by site.

    Parameters
    ----------
    reader
        Its tables end on the day.
    as_of
        The day.
    sites
        Only these; all if None.

    Returns
    -------
    list of dict
        The columns of visit_facts; coming: for each day to come its need [m³] and planted area [ha];
        coming_m3: the sum of the days known, None where none is.
    """
    connection, parameters = reader.connection, _parameters(reader, as_of, sites)
    leave_coming(reader, as_of, reader.settings.horizon_days, sites, ("visit_coming",))
    for name in (*TABLES, "visit_facts"):
        _run(name, reader, parameters)
    coming: dict[str, list[tuple[float | None, float | None]]] = {}
    for site_id, need_m3, planted_ha in connection.execute(
        "SELECT site_id, need_m3, planted_ha FROM visit_coming ORDER BY site_id, day"
    ).fetchall():
        coming.setdefault(site_id, []).append((need_m3, planted_ha))
    found = connection.execute("FROM visit_facts ORDER BY site_id").to_arrow_table().to_pylist()
    return [row | _need_to_come(coming.get(row["site_id"], [])) for row in found]


def leave_coming(
    reader: Reader,
    as_of: date,
    horizon_days: int,
    sites: Sequence[str] | None = None,
    tables: Sequence[str] = tuple(LEFT),
) -> None:
    """Leave visit_weather and the tables visit_coming*: the days after one, as they are taken to be.

    Parameters
    ----------
    reader
        Its tables end on the day, or the last known weather before it counts.
    as_of
        The day before the first.
    horizon_days
        How many days.
    sites
        Only these; all if left out.
    tables
        Which of the latter; all if left out.
    """
    create_empty_missing(reader.connection)
    prepare_sums(reader.connection)
    _run("visit_weather", reader, _parameters(reader, as_of, sites))
    settings = replace(reader.settings, horizon_days=horizon_days)
    leave_coming_need(reader.connection, settings, as_of, tables, sites)


def _parameters(reader: Reader, as_of: date, sites: Sequence[str] | None) -> dict[str, object]:
    asked = {"as_of": as_of, "sites": None if sites is None else list(sites)}
    return reader.settings.as_parameters() | LOOKED_BACK | asked


def _need_to_come(days: list[tuple[float | None, float | None]]) -> Facts:
    known = [need_m3 for need_m3, _ in days if need_m3 is not None]
    return {"coming": days, "coming_m3": sum(known) if known else None}


def _run(name: str, reader: Reader, parameters: dict[str, object]) -> None:
    run_statement(reader.connection, name, parameters, package="pipeline.visits")
