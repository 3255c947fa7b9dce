"""A reading room: files are written, read and typed, and what became of each row is looked at."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import openpyxl
import pytest

from pipeline.intake import ReadOptions, Sheet, Upload, fault_words, read_file, spatial_connection, type_sheet
from pipeline.tables import TABLES, Kind

TODAY = date(2026, 6, 30)
OUTLINE = "POLYGON ((33.80 -13.50, 33.81 -13.50, 33.81 -13.49, 33.80 -13.50))"
LINE = "LINESTRING (33.80 -13.50, 33.90 -13.60)"

# One good row of each table: what must be filled, and something of what may be.
GOOD: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "sites": {"site_id": "S1", "name": "Mlambe", "latitude": "-13.5", "longitude": "33.8"},
        "site_aliases": {"alias": "Old Mlambe", "site_id": "S1"},
        "hazards": {"site_id": "S1", "hazard": "well", "seen_on": "2026-03-01"},
        "contacts": {"site_id": "S1", "role": "chair", "name": "T. Phiri"},
        "pauses": {"site_id": "S1", "from_on": "2026-01-10", "reason": "flood"},
        "components": {"site_id": "S1", "component": "pump", "installed_on": "2024-05-01"},
        "blocks": {"site_id": "S1", "block_id": "A", "area_ha": "1.5"},
        "plantings": {"site_id": "S1", "block_id": "A", "crop": "maize", "planted_on": "2026-01-05"},
        "crops": {
            "crop": "okra", "kc_ini": "0.4", "kc_mid": "1.0", "kc_end": "0.8",
            "ini_days": "20", "dev_days": "30", "mid_days": "40", "late_days": "10",
        },
        "harvests": {
            "site_id": "S1", "block_id": "A", "crop": "maize", "harvested_on": "2026-05-05", "harvest_kg": "900",
        },
        "surveys": {"survey_id": "V1", "site_id": "S1", "surveyed_on": "2026-02-10"},
        "meters": {"meter_id": "W1", "site_id": "S1", "quantity": "water"},
        "meter_readings": {"meter_id": "W1", "read_at": "2026-03-01 07:00", "value": "100"},
        "telemetry": {"site_id": "S1", "logged_at": "2026-03-01 07:00", "flow_m3h": "4.5"},
        "maintenance": {
            "record_id": "J1", "site_id": "S1", "kind": "corrective", "reported_at": "2026-03-01 07:00",
        },
        "alarms": {"site_id": "S1", "kind": "tamper", "raised_at": "2026-03-01 07:00"},
        "calls": {"site_id": "S1", "called_at": "2026-03-01 07:00", "answer": "all well"},
        "trainings": {"site_id": "S1", "held_on": "2026-03-01", "topic": "scheduling"},
        "weather": {
            "station_id": "X1", "latitude": "-13.5", "longitude": "33.8",
            "day": "2026-03-01", "tmin_c": "14.5", "tmax_c": "27",
        },
        "forecasts": {"station_id": "X1", "issued_on": "2026-03-01", "day": "2026-03-02"},
        "districts": {"district": "North", "geometry": OUTLINE},
        "roads": {"geometry": LINE, "class": "track"},
        "bases": {"base_id": "B1", "name": "Depot", "latitude": "-13.5", "longitude": "33.8"},
        "crews": {"crew_id": "C1", "base_id": "B1", "day_start": "07:00", "day_end": "16:30"},
        "crew_absences": {"crew_id": "C1", "from_on": "2026-03-01"},
        "stock": {"base_id": "B1", "part": "fuse", "quantity": "6"},
        "visit_outcomes": {"site_id": "S1", "crew_id": "C1", "arrived_at": "2026-03-01 07:00"},
        "part_needs": {"cause": "worn pump", "part": "impeller"},
        "abstraction_limits": {"site_id": "S1", "m3_per_day": "120"},
        "decisions": {"decided_at": "2026-03-01 07:00", "about": "S1", "what": "visit put off"},
        "agreements": {
            "agreement_id": "G1", "funder": "Fund", "title": "Water",
            "start_on": "2025-01-01", "end_on": "2027-12-31",
        },
        "agreement_sites": {"agreement_id": "G1", "site_id": "S1", "share": "0.5"},
        "targets": {"agreement_id": "G1", "indicator": "uptime", "target": "0.9", "due_on": "2026-12-31"},
    }
)  # fmt: skip


@dataclass(frozen=True)
class Outcome:
    """What became of a sheet: its typed rows, with a fault a line, column and rule."""

    sheet: Sheet
    rows: list[dict[str, Any]]
    faults: list[tuple[int | None, str, str | None, str, str]]

    @property
    def taken(self) -> list[dict[str, Any]]:
        """The rows that were not rejected."""
        return [row for row in self.rows if not row["_rejected"]]

    @property
    def rules(self) -> list[str]:
        """The rules that were broken, top to bottom."""
        return [fault[3] for fault in self.faults]


@cache
def _connection() -> Any:
    return spatial_connection()


def outcome(sheet: Sheet, options: ReadOptions) -> Outcome:
    """Type a sheet; a shape comes as WKT."""
    connection = _connection()
    type_sheet(sheet, connection, options, today=TODAY)
    shapes = [c.name for c in sheet.table.columns if c.kind is Kind.GEOMETRY] if sheet.table else []
    there = {row[0] for row in connection.execute("DESCRIBE typed").fetchall()}
    wkt = ", ".join(f'ST_AsText("{name}") AS "{name}"' for name in shapes if name in there)
    found = connection.execute(f"SELECT * {f'REPLACE ({wkt})' if wkt else ''} FROM typed ORDER BY _row")
    names = [column[0] for column in found.description]
    rows = [dict(zip(names, values, strict=True)) for values in found.fetchall()]
    faults = connection.execute(
        'SELECT line, "column", value, rule, fate FROM faults ORDER BY _row'
    ).fetchall()
    return Outcome(sheet, rows, faults)


@dataclass(frozen=True)
class Room:
    """A folder to write files in, and the way to read them."""

    folder: Path

    def put(self, name: str, content: str | bytes) -> Path:
        """Write a file."""
        path = self.folder / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return path

    def book(self, name: str, sheets: Mapping[str, Sequence[Sequence[Any]]]) -> Path:
        """Write a workbook, a table a sheet."""
        book = openpyxl.Workbook()
        del book[book.sheetnames[0]]
        for title, rows in sheets.items():
            sheet = book.create_sheet(title)
            for row in rows:
                sheet.append(list(row))
        book.save(self.folder / name)
        return self.folder / name

    def sheets(self, path: Path, **said: Any) -> list[Outcome]:
        """Read a file that lies there and type each of its sheets."""
        options = ReadOptions(**said)
        return [outcome(sheet, options) for sheet in read_file(Upload(path, path.name), options)]

    def read(self, name: str, content: str | bytes, **said: Any) -> Outcome:
        """Write a file and read its one sheet."""
        (only,) = self.sheets(self.put(name, content), **said)
        return only


@pytest.fixture
def room(tmp_path: Path) -> Room:
    """A folder of its own."""
    return Room(tmp_path)


@pytest.fixture(scope="session")
def good() -> Mapping[str, Mapping[str, str]]:
    """One good row of each table."""
    return GOOD


@cache
def _column_batch(
    place: str, written: tuple[str, ...], said: tuple[tuple[str, Any], ...], mark: str, folder: Path
) -> Any:
    table, _, column = place.partition(".")
    names = list(dict.fromkeys([*GOOD[table], column]))
    sink = io.StringIO()
    writer = csv.writer(sink, delimiter=mark)
    writer.writerow(names)
    for text in written:
        writer.writerow([text if n == column else GOOD[table].get(n, "") for n in names])
    return Room(folder).read(f"{table}.csv", sink.getvalue(), **dict(said))


@pytest.fixture
def read_cells(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Return a reader of many cells of one column at once: (value stored, rule broken, fate) of each.

    The other columns of each row are those of the table's good row.
    """

    def read(place: str, written: Sequence[str], mark: str = ",", **said: Any) -> list[tuple[Any, str, str]]:
        folder = tmp_path_factory.getbasetemp()
        found = _column_batch(place, tuple(written), tuple(said.items()), mark, folder)
        column = place.partition(".")[2]
        faults = {line: (rule, fate) for line, name, _, rule, fate in found.faults if name == column}
        return [(row[column], *faults.get(row["_line"], ("", "taken"))) for row in found.rows]

    return read


@pytest.fixture(scope="session")
def words() -> Any:
    """Return a fault in the words of the person who sees it."""

    def say_fault(table: str, column: str, value: str | None, rule: str) -> str:
        return fault_words(TABLES[table], f"{table}.csv", 7, column, value, rule).sentences()

    return say_fault
