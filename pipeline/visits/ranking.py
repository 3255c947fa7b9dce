"""The ranking of visits: what a visit now is worth, in hectare-days of crop need that it averts."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from importlib.resources import files
from typing import Any

import pyarrow as pa

from pipeline.config import Settings
from pipeline.measures import run
from pipeline.measures.results import create_empty_missing
from pipeline.store import Reader
from pipeline.visits.as_of import look_back, nothing_is_later
from pipeline.visits.causes import Facts, Finding, Scene, findings

WEEKS_DAYS = 21  # over which need and water are compared

SCHEMA = pa.schema(
    [
        ("site_id", pa.string()), ("rank", pa.int64()), ("value", pa.float64()), ("unmet_m3_per_day", pa.float64()),
        ("cause", pa.string()), ("cause_probability", pa.float64()), ("other_causes", pa.string()), ("evidence", pa.string()),
        ("since_day", pa.date32()), ("visit_kind", pa.string()), ("skills", pa.string()), ("parts", pa.string()),
        ("duration_h", pa.float64()), ("due_by", pa.date32()), ("data_age_days", pa.int64()), ("value_by_day", pa.string()),
    ]
)  # fmt: skip


@dataclass(frozen=True)
class Work:
    """What a cause usually asks of a visit: common practice, no source."""

    kind: str
    skills: str
    hours: float


WORK = {
    "pump_stopped": Work("corrective", "pump;electrical", 4.0),
    "controller_stopped": Work("corrective", "electrical", 3.0),
    "array_loss": Work("corrective", "electrical", 3.0),
    "array_soiled": Work("preventive", "pump", 1.5),
    "intake_blocked": Work("corrective", "pump", 2.5),
    "pump_worn": Work("corrective", "pump", 4.0),
    "source_low": Work("inspection", "pump", 2.0),
    "main_leak": Work("corrective", "pump", 3.0),
    "meter_stuck": Work("corrective", "pump", 1.5),
    "data_silent": Work("inspection", "electrical", 1.5),
    "tamper": Work("security", "security;electrical", 2.0),
    "blocks_doubled": Work("training", "agronomy", 2.0),
    "laterals_blocked": Work("preventive", "agronomy", 2.5),
    "water_unused": Work("training", "agronomy", 2.0),
    "service_overdue": Work("preventive", "pump", 3.0),
    "none": Work("inspection", "", 1.0),
}


def visits(
    reader: Reader, as_of: date, *, known: bool = False, sites: Sequence[str] | None = None
) -> pa.Table:
    """Rank every site in service by what a visit now is worth.

    Parameters
    ----------
    reader
        A version of the store. Its connection gets temporary tables and views of that day.
    as_of
        Nothing later exists for the ranking.
    known
        Leave out versions of rows that arrived later, too.
    sites
        Only these; all if left out.

    Returns
    -------
    pyarrow.Table
        The columns of `SCHEMA`. value [ha·d]; unmet_m3_per_day [m³/d], NULL where need or water is
        unknown; a site of which nothing is known is worth 0: no shortage is made up for it.
    """
    if known or not nothing_is_later(reader, as_of):
        look_back(reader, as_of, known=known)
        run.compute(reader.connection, reader.settings)
    create_empty_missing(reader.connection)
    found = [_row(facts, as_of, reader.settings, _parts(reader)) for facts in _facts(reader, as_of, sites)]
    found.sort(key=lambda row: (-row["value"], -(row["unmet_m3_per_day"] or 0.0), row["site_id"]))
    for rank, row in enumerate(found, 1):
        row["rank"] = rank
    return pa.Table.from_pylist(found, schema=SCHEMA)


def _facts(reader: Reader, as_of: date, sites: Sequence[str] | None) -> list[Facts]:
    statement = files("pipeline.visits").joinpath("visit_facts.sql").read_text(encoding="utf-8")
    reader.connection.execute(
        statement,
        {
            "as_of": as_of,
            "weeks_days": WEEKS_DAYS,
            "horizon_days": reader.settings.horizon_days,
            "sites": None if sites is None else list(sites),
        },
    )
    found = reader.connection.execute("FROM visit_facts ORDER BY site_id").to_arrow_table()
    return list(found.to_pylist())


def _parts(reader: Reader) -> dict[str, str]:
    rows = reader.connection.execute(
        "SELECT cause, string_agg(part, ';' ORDER BY part) FROM part_needs GROUP BY cause"
    ).fetchall()
    return dict(rows)


def unmet_m3_per_day(facts: Facts) -> float | None:
    """Return the need of a day to come that stays unmet if nothing is done [m³/d]; None where it is unknown.

    A site that stands still now gets none of its need; elsewhere the shortage of the last weeks goes on.
    """
    need = facts["coming_m3_per_day"]
    if need is None:
        return None
    if facts["job_id"] is not None or facts["down_since"] is not None:
        return float(need)
    supply = facts["supply"]
    return None if supply is None else float(need) * max(0.0, 1.0 - supply)


def value_by_day(unmet: float | None, need_per_ha: float | None, mends: float, days: int) -> list[float]:
    """Return what a visit on day 1, 2, … averts until the last of the days [ha·d].

    Without need, or where the shortage is unknown, 0.
    """
    if not unmet or not need_per_ha:
        return [0.0] * days
    return [round(unmet / need_per_ha * mends * (days - k), 3) for k in range(days)]


def _row(facts: Facts, as_of: date, settings: Settings, parts: dict[str, str]) -> dict[str, Any]:
    causes = findings(Scene(facts, as_of, settings))
    first = causes[0]
    work = WORK[first.cause]
    unmet = unmet_m3_per_day(facts)
    worth = value_by_day(unmet, facts["coming_m3_per_ha_day"], first.mends, settings.horizon_days)
    return {
        "site_id": facts["site_id"],
        "value": worth[0],
        "unmet_m3_per_day": None if unmet is None else round(unmet, 2),
        "cause": first.cause,
        "cause_probability": first.probability,
        "other_causes": ";".join(f.cause for f in causes[1:]),
        "evidence": first.evidence,
        "since_day": first.since,
        "visit_kind": work.kind,
        "skills": work.skills,
        "parts": parts.get(first.cause, ""),
        "duration_h": work.hours,
        "due_by": _due_by(facts, first, as_of, settings),
        "data_age_days": facts["data_age_days"],
        "value_by_day": ";".join(f"{v:g}" for v in worth),
    }


def _due_by(facts: Facts, first: Finding, as_of: date, settings: Settings) -> date | None:
    """Day of the next planned service; for a stop, within a week."""
    if facts["job_id"] is not None or first.cause == "tamper":
        return as_of + timedelta(days=7)
    last = facts["serviced_on"]
    return None if last is None else last + timedelta(days=settings.service_interval_days)
