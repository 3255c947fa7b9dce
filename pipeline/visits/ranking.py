"""The ranking of visits: what a visit now is worth, in hectare-days of crop need that it averts."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import pyarrow as pa

from pipeline.config import Settings
from pipeline.measures import run
from pipeline.store import Reader
from pipeline.visits.as_of import look_back, nothing_is_later
from pipeline.visits.benefit import benefit
from pipeline.visits.causes import findings
from pipeline.visits.facts import Facts, facts
from pipeline.visits.scene import Finding, Scene

STOP_DAYS = 7  # within which a stop should be seen to: common practice, no source

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
        The columns of `SCHEMA`. value [ha·d] and unmet_m3_per_day [m³/d] are NULL where need or water is
        unknown: such sites stand after all others, those that surely stand still first.
    """
    return pa.Table.from_pylist(judged(reader, as_of, known=known, sites=sites), schema=SCHEMA)


def judged(
    reader: Reader, as_of: date, *, known: bool = False, sites: Sequence[str] | None = None
) -> list[dict[str, Any]]:
    """Return the ranking's rows with what else the rules found.

    Parameters are those of `visits`; afterwards the reader's tables end on the day.

    Returns
    -------
    list of dict
        The columns of `SCHEMA`; stops: whether surely no water comes at all; probabilities: each cause
        that was found with how probable it is, None where nobody can say, the most probable first.
    """
    if known or not nothing_is_later(reader, as_of):
        look_back(reader, as_of, known=known)
        run.compute(reader.connection, reader.settings, follow_water=False)
    parts = _parts(reader)
    found = [_judged(f, as_of, reader.settings, parts) for f in facts(reader, as_of, sites)]
    found.sort(key=lambda pair: pair[0])
    return [row | {"rank": rank} for rank, (_, row) in enumerate(found, 1)]


def _parts(reader: Reader) -> dict[str, str]:
    rows = reader.connection.execute(
        "SELECT cause, string_agg(part, ';' ORDER BY part) FROM part_needs GROUP BY cause"
    ).fetchall()
    return dict(rows)


def _judged(
    known: Facts, as_of: date, settings: Settings, parts: dict[str, str]
) -> tuple[tuple[Any, ...], dict[str, Any]]:
    """The place of a site in the ranking, and its row."""
    causes = findings(Scene(known, as_of, settings))
    first, worth = causes[0], benefit(known, causes)
    work = WORK[first.cause]
    place = (
        worth.value is None,
        -(worth.value or 0.0),
        -(worth.unmet_m3_per_day or 0.0),
        not any(f.stops for f in causes),
        -(first.probability or 0.0),
        known["site_id"],
    )
    return place, {
        "site_id": known["site_id"],
        "value": worth.value,
        "unmet_m3_per_day": worth.unmet_m3_per_day,
        "cause": first.cause,
        "cause_probability": first.probability,
        "other_causes": ";".join(f.cause for f in causes[1:]),
        "evidence": first.evidence,
        "since_day": first.since,
        "visit_kind": work.kind,
        "skills": work.skills,
        "parts": parts.get(first.cause, ""),
        "duration_h": work.hours,
        "due_by": _due_by(known, first, settings),
        "data_age_days": known["data_age_days"],
        "value_by_day": ";".join(f"{v:g}" for v in worth.by_day),
        "stops": any(f.stops for f in causes),
        "probabilities": {f.cause: f.probability for f in causes},
    }


def _due_by(known: Facts, first: Finding, settings: Settings) -> date | None:
    """Within a week of a stop or a theft; else the day of the next planned service."""
    if (first.stops or first.cause == "tamper") and first.since is not None:
        return first.since + timedelta(days=STOP_DAYS)
    last = known["serviced_on"]
    return None if last is None else last + timedelta(days=settings.service_interval_days)
