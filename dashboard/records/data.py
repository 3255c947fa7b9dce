"""What is on record of a site, and what is entered there: rows of the contract, taken in like any file."""

import csv
import io
from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import streamlit as st

from dashboard import data
from dashboard.access import Viewer
from dashboard.data import IN_SCOPE, LoadReport, ReadOptions, Rows
from pipeline.measures.evidence import evidence
from pipeline.store import history
from pipeline.tables import TABLES
from pipeline.visits.open_jobs import open_jobs

MINUTE = "%Y-%m-%d %H:%M"
SURVEY = tuple(name for name in TABLES["surveys"].by_name if name != "site_id")
WAITED = "CASE WHEN water_stopped = 'yes' THEN epoch(restored_at - reported_at) / 86400 END"  # days, as the figure has it

# each section's columns, its table, and the order, newest first
SECTIONS: Mapping[str, tuple[str, str, str]] = {
    "contacts": ("role, name, phone, language, consent_on", "contacts", "consent_on DESC NULLS LAST, role, name"),
    "calls": ("called_at, answer, next_step", "calls", "called_at DESC"),
    "alarms": ("kind, raised_at, cleared_at", "alarms", "raised_at DESC, kind"),
    "visits": ("arrived_at, left_at, crew_id, cause_found, mended, next_step", "visit_outcomes", "arrived_at DESC, crew_id"),
    "surveys": (", ".join(SURVEY), "surveys", "surveyed_on DESC, survey_id"),
    "maintenance": (f"record_id, kind, reported_at, arrived_at, restored_at, water_stopped, {WAITED} AS report_to_water_days, status, component, cause, action, parts_used, cost, technician", "maintenance", "reported_at DESC, record_id"),
    "trainings": ("held_on, topic, women, men, youth", "trainings", "held_on DESC, topic"),
    "components": ("component, serial, supplier, installed_on, warranty_until, removed_on", "components", "installed_on DESC, component, serial"),
    "meters": ("meter_id, quantity, block_id, digits, unit, carries, installed_on, removed_on", "meters", "installed_on DESC NULLS LAST, quantity DESC, meter_id"),
    "notes": ("decided_at, what, who, why", "(SELECT about AS site_id, * FROM decisions)", "decided_at DESC, what"),
}  # fmt: skip

# the readings of a meter next to a moment on its site's clock
NEAR = f"""
    WITH here AS (
        SELECT r.*, s.zone, timezone('UTC', timezone(s.zone, $moment::TIMESTAMP)) AS moment
        FROM meter_readings r JOIN sites s USING (site_id) WHERE r.meter_id = $meter_id AND {IN_SCOPE}
    )
    SELECT CASE WHEN read_at = moment THEN 'there' WHEN read_at < moment THEN 'before' ELSE 'after' END AS place,
           read_at, value, zone
    FROM here
    QUALIFY row_number() OVER (PARTITION BY place ORDER BY abs(epoch(read_at - moment)), read_at) = 1"""  # noqa: S608 - the same


@st.cache_data(show_spinner=False, max_entries=20)
def site(version: int, viewer: Viewer, site_id: str) -> dict[str, Any] | None:
    """Return the site's id, name and clock; None where there is none such, or it is outside the scope."""
    found = data.ask(
        f"SELECT site_id, name, zone FROM sites WHERE site_id = $site_id AND {IN_SCOPE}",  # noqa: S608 - our own
        version,
        viewer,
        site_id=site_id,
    )
    return found[0] if found else None


@st.cache_data(show_spinner=False, max_entries=20)
def on_record(version: int, viewer: Viewer, site_id: str, last: date) -> dict[str, Rows]:
    """Return the rows of every section, newest first, times on the site's clock.

    Parameters
    ----------
    last
        The day on whose evening open jobs are open.
    """
    here = site(version, viewer, site_id)
    if here is None:
        return {}
    zone = ZoneInfo(here["zone"])
    found = {name: _section(name, version, viewer, site_id) for name in SECTIONS}
    with data.reading(version) as reader:
        still = {job["record_id"]: job for job in open_jobs(reader, last, [site_id])}
    jobs = [row | still[row["record_id"]] for row in found["maintenance"] if row["record_id"] in still]
    found = {"open_jobs": jobs} | found
    return {name: [_local(row, zone) for row in rows] for name, rows in found.items()}


def _section(name: str, version: int, viewer: Viewer, site_id: str) -> Rows:
    columns, table, order = SECTIONS[name]
    statement = (
        f"SELECT site_id, {columns} FROM {table} WHERE site_id = $site_id AND {IN_SCOPE} ORDER BY {order}"  # noqa: S608 - our own
    )
    return data.ask(statement, version, viewer, site_id=site_id)


def _local(row: dict[str, Any], zone: ZoneInfo) -> dict[str, Any]:
    """The row with its moments as the site's clock showed them."""
    return {name: _clock(v, zone) if isinstance(v, datetime) else v for name, v in row.items()}


def _clock(moment: datetime, zone: ZoneInfo) -> str:
    return moment.replace(tzinfo=UTC).astimezone(zone).strftime(MINUTE)


@st.cache_data(show_spinner=False, max_entries=20)
def intervals(version: int, viewer: Viewer, site_id: str, from_day: date, to_day: date) -> Rows:
    """Return what `sunrill evidence` says of a period, the newest first; a spell that goes on before all."""
    if site(version, viewer, site_id) is None:
        return []
    with data.reading(version) as reader:
        found = evidence(reader, site_id, from_day, to_day).to_pylist()
    ordered = sorted(found, key=lambda row: (row["to_at"] or "9999", row["from_at"]), reverse=True)
    return [{"site_id": site_id} | row for row in ordered]


@st.cache_data(show_spinner=False, max_entries=20)
def readings_on(version: int, viewer: Viewer, meter_id: str, day: str) -> Rows:
    """Return read_at and value of a meter's readings on a day of its site's clock, the earliest first."""
    found = data.ask(
        f"""SELECT read_at, value, zone FROM meter_readings JOIN sites USING (site_id)
            WHERE meter_id = $meter_id AND {IN_SCOPE}
              AND timezone(zone, timezone('UTC', read_at))::DATE = $day::DATE ORDER BY read_at""",  # noqa: S608 - our own
        version, viewer, meter_id=meter_id, day=day,
    )  # fmt: skip
    return [
        {"read_at": _clock(row["read_at"], ZoneInfo(row["zone"])), "value": row["value"]} for row in found
    ]


@st.cache_data(show_spinner=False, max_entries=20)
def reading_at(version: int, viewer: Viewer, meter_id: str, moment: str) -> dict[str, Any]:
    """Return what is on record of a meter at a moment and next to it.

    Parameters
    ----------
    moment
        On the clock of the meter's site, such as 2026-10-31 07:00.

    Returns
    -------
    dict
        `versions`: value, file, line, in_force of each that ever stood there, the oldest first; `before` and
        `after`: read_at and value of the readings next to it, or None.
    """
    rows = data.ask(NEAR, version, viewer, meter_id=meter_id, moment=moment)
    near = {row["place"]: row for row in rows}
    beside = {
        name: {"read_at": _clock(near[name]["read_at"], ZoneInfo(near[name]["zone"])), "value": near[name]["value"]}
        if name in near
        else None
        for name in ("before", "after")
    }  # fmt: skip
    if "there" not in near:
        return beside | {"versions": []}
    with data.reading(version) as reader:
        found = history(reader, "meter_readings", (meter_id, str(near["there"]["read_at"])))
    wanted = ("value", "file", "sheet", "line", "in_force")
    return beside | {"versions": [{name: row[name] for name in wanted} for row in found]}


def has_come(moment: str, zone: str) -> bool:
    """Tell whether a moment on a site's clock has been reached by now."""
    return datetime.fromisoformat(moment).replace(tzinfo=ZoneInfo(zone)) <= datetime.now(UTC)


def enter(viewer: Viewer, table: str, row: Mapping[str, str]) -> tuple[str, LoadReport]:
    """Take one row in as a file of its own, which can be taken back; return its name and what became of it.

    A person who enters a value means it, be it one that was corrected before: it is restored then.

    Raises
    ------
    SunrillError
        Where the viewer doesn't see every site, or somebody else is writing.
    """
    name = f"{table}_entered_{datetime.now(UTC):%Y%m%dT%H%M%S%fZ}.csv"
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerows([list(row), list(row.values())])
    content = text.getvalue().encode("utf-8", "replace")
    return name, data.load(viewer, [(name, content)], ReadOptions(table=table), restore=True)


def now_text() -> str:
    """Return the present moment as a cell, with its offset."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
