"""Small hand-written tables in, result tables and figures out.

A table is text: a heading, then a row a line, cells apart by `|`; an empty cell is unknown. Columns
that a test doesn't show take the plain defaults below. Sites stand where the equator meets the
meridian of Greenwich: about twelve hours of light, about ten of service time (7 to 17 h), and local
time is UTC unless a site names its zone.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import duckdb
import pytest

from pipeline.config import Settings
from pipeline.measures import run
from pipeline.measures.figures import Group, indicators
from pipeline.measures.results import RESULTS, create_empty
from pipeline.tables import TABLES, Kind, Table

DEFAULTS: Mapping[str, Mapping[str, str]] = {
    "sites": {"name": "site", "latitude": "0", "longitude": "0", "elevation_m": "1000", "timezone": "UTC"},
    "blocks": {"block_id": "B1", "area_ha": "1", "irrigation_method": "furrow"},
    "meters": {"quantity": "water"},
    "maintenance": {"kind": "corrective"},
    "weather": {"station_id": "W1", "latitude": "0", "longitude": "0", "elevation_m": "1000", "tmin_c": "15"}
    | {"tmax_c": "27", "rain_mm": "0"},
    "agreements": {"funder": "one", "title": "one", "start_on": "2026-01-01", "end_on": "2026-12-31"},
    "trainings": {"topic": "valves"},
}


@dataclass(frozen=True)
class Measured:
    """A programme that was computed: the figures, and any result table."""

    connection: duckdb.DuckDBPyConnection
    settings: Settings

    def figures(
        self, from_day: str, to_day: str, *, by_month: bool = False, group: Group = "site"
    ) -> list[dict[str, Any]]:
        """The indicators, a dict a line."""
        found = indicators(
            self, date.fromisoformat(from_day), date.fromisoformat(to_day), by_month=by_month, group=group
        )
        return found.to_pylist()

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        """What a query finds."""
        return self.connection.execute(query).fetchall()

    def intervals(self, meter_id: str) -> list[tuple[str, float | None, str]]:
        """A meter's intervals: when each ends, its amount, its verdict."""
        return self.connection.execute(
            """SELECT strftime(to_at, '%m-%d %H:%M'), amount, verdict FROM meter_intervals
               WHERE meter_id = ? ORDER BY to_at, from_at""",
            [meter_id],
        ).fetchall()


Measure = Callable[..., Measured]


def cells(text: str) -> list[dict[str, str | None]]:
    """The rows of a table that is written as text."""
    heading, *lines = [
        [cell.strip() for cell in line.split("|")] for line in text.strip().splitlines() if line.strip()
    ]
    return [dict(zip(heading, [cell or None for cell in line], strict=True)) for line in lines]


def _create(connection: duckdb.DuckDBPyConnection, table: Table) -> None:
    columns = [f'"{c.name}" {"VARCHAR" if c.kind is Kind.GEOMETRY else c.sql_type}' for c in table.columns]
    columns += [f'"{c.day_name}" DATE' for c in table.instants]
    columns += {"sites": ["zone VARCHAR"], "meter_readings": ["site_id VARCHAR"]}.get(table.name, [])
    connection.execute(f'CREATE TABLE "{table.name}" ({", ".join(columns)})')


def _fill(connection: duckdb.DuckDBPyConnection, table: Table, text: str) -> None:
    """Insert the rows; a time is local at the site, as in a file."""
    rows = [dict(DEFAULTS.get(table.name, {})) | row for row in cells(text)]
    if not rows:
        return
    names = list(rows[0])
    marks = ", ".join("?" for _ in names)
    quoted = ", ".join(f'"{name}"' for name in names)
    connection.executemany(
        f'INSERT INTO "{table.name}" ({quoted}) VALUES ({marks})',
        [[row[name] for name in names] for row in rows],
    )
    if table.name == "sites":
        connection.execute("UPDATE sites SET zone = timezone")
    if table.name == "meter_readings":
        connection.execute(
            "UPDATE meter_readings r SET site_id = m.site_id FROM meters m WHERE m.meter_id = r.meter_id"
        )
    if table.instants and ("site_id" in table.by_name or table.name == "meter_readings"):
        days = ", ".join(f'"{c.day_name}" = "{c.name}"::DATE' for c in table.instants)
        moments = ", ".join(
            f'"{c.name}" = timezone(\'UTC\', timezone(s.zone, t."{c.name}"))' for c in table.instants
        )
        connection.execute(f'UPDATE "{table.name}" SET {days}')
        connection.execute(f'UPDATE "{table.name}" t SET {moments} FROM sites s WHERE s.site_id = t.site_id')


@pytest.fixture
def measure() -> Measure:
    """Compute a programme from the tables given as text."""

    def compute(settings: Settings | None = None, **given: str) -> Measured:
        connection = duckdb.connect()
        for table in TABLES.values():
            _create(connection, table)
        for name in RESULTS:
            create_empty(connection, name)
        for table in TABLES.values():  # parents before their children
            if table.name in given:
                _fill(connection, table, given[table.name])
        unknown = set(given) - set(TABLES)
        assert not unknown, unknown
        measured = Measured(connection, settings or Settings())
        run.compute(connection, measured.settings)
        return measured

    return compute
