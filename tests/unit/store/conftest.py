"""A desk at which small deliveries are written, loaded in process, and the store looked into."""

import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from pipeline.measures import run
from pipeline.store import LoadReport, ReadOptions, Store, open_store
from pipeline.tables import TABLES, Kind, Table

SITES = """site_id,name,district,latitude,longitude,elevation_m,commissioned_on
S1,Mlambe,North,-13.50,33.80,1100,2024-05-01
S2,Chitsime,South,-13.60,33.90,1050,2024-06-01
"""
BLOCKS = """site_id,block_id,area_ha,irrigation_method
S1,A,1.0,drip
S1,B,0.5,furrow
S2,A,2.0,sprinkler
"""
PLANTINGS = """site_id,block_id,crop,planted_on,area_ha
S1,A,maize,2025-11-20,0.6
S1,A,beans,2025-12-01,0.4
S2,A,onion,2026-01-05,
"""
METERS = """meter_id,site_id,quantity,digits,installed_on
W1,S1,water,5,2024-05-01
W2,S2,water,6,2024-06-01
"""
READINGS = """meter_id,read_at,value,origin
W1,2026-03-01 07:00,100,manual
W1,2026-03-02 07:00,130,manual
W2,2026-03-01 07:00,5000,remote
W2,2026-03-02 07:00,5080,remote
"""
SURVEYS = """survey_id,site_id,surveyed_on,measured_flow_m3h
V1,S1,2026-02-10,9.5
V2,Chitsime,2026-02-11,8.0
"""
LATE = "meter_id,read_at,value\nW1,2026-03-02 07:00,131\nW9,2026-03-02 07:00,1\n"
DELIVERY = {
    "sites.csv": SITES,
    "blocks.csv": BLOCKS,
    "plantings.csv": PLANTINGS,
    "meters.csv": METERS,
    "meter_readings.csv": READINGS,
    "surveys.csv": SURVEYS,
}


@dataclass
class Desk:
    """A folder with deliveries, and the store that they go to."""

    folder: Path
    store: Store
    day: str = "2026-03-20"
    texts: Mapping[str, str] = field(default_factory=lambda: DELIVERY)

    def write(self, name: str, text: str) -> Path:
        """Write a CSV file."""
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return path

    def workbook(self, name: str, sheets: dict[str, list[list[Any]]]) -> Path:
        """Write an XLSX file, a table a sheet."""
        book = openpyxl.Workbook()
        del book[book.sheetnames[0]]
        for title, rows in sheets.items():
            sheet = book.create_sheet(title)
            for row in rows:
                sheet.append(row)
        book.save(self.folder / name)
        return self.folder / name

    def delivery(self, **changed: str) -> list[Path]:
        """Write the plain delivery of two sites; a keyword replaces the text of that table's file."""
        texts = DELIVERY | {f"{table}.csv": text for table, text in changed.items()}
        unknown = set(texts) - set(DELIVERY)
        assert not unknown, unknown
        return [self.write(name, text) for name, text in texts.items()]

    def load(self, *paths: Path, on: str = "", restore: bool = False, **said: Any) -> LoadReport:
        """Load files that came on a day."""
        moment = datetime.fromisoformat(f"{on or self.day}T12:00:00").replace(tzinfo=UTC)
        return self.store.load(paths, ReadOptions(**said), restore=restore, arrived_at=moment)

    def load_text(self, name: str, text: str, **said: Any) -> LoadReport:
        """Write a CSV file and load it."""
        return self.load(self.write(name, text), **said)

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        """Ask the version in force."""
        with self.store.read() as reader:
            return reader.connection.execute(query).fetchall()

    @staticmethod
    def fates(report: LoadReport) -> dict[str, dict[str, int]]:
        """Return the fates that any row got, by file, and by sheet where it has a name."""
        names = ("taken", "unchanged", "corrected", "held", "rejected")
        return {
            f"{x.file}·{x.sheet}" if x.sheet else x.file: {n: getattr(x, n) for n in names if getattr(x, n)}
            for x in report.files
        }

    def contents(self, *, past: bool = True) -> dict[str, list[tuple[Any, ...]]]:
        """Return every row with the file and line that brought it: what two stores compare by."""
        found = {}
        with self.store.read() as reader:
            for table in TABLES.values():
                names = {table.name: f'"{table.name}"', f"{table.name}_held": f'store."{table.name}_held"'}
                if past:
                    names[f"{table.name}_past"] = f'"{table.name}_past"'
                for name, rows in names.items():
                    cells = _cells(table, days=not name.endswith("_held"))
                    query = f"""SELECT {cells}, t._extra, s.file, s.sheet, t._line
                                FROM {rows} t LEFT JOIN sources s ON s.source_id = t._source ORDER BY ALL"""
                    values = reader.connection.execute(query).fetchall()
                    found |= {name: values} if values else {}
        return found

    def figures(self) -> list[tuple[str, int, str, int]]:
        """The names of the result parts, once everything that waits is computed."""
        run.refresh(self.store)
        return sorted((p.table, p.slice_no, p.file, p.rows) for p in self.store.manifest().results)

    def files(self) -> dict[str, bytes]:
        """Return the bytes of every file that the version in force needs, of the archive and the ledger."""
        made = self.store.manifest()
        needed = [self.store.path / name for name in (made.files() if made else ())]
        paths = [*needed, *self.store.archive.glob("*"), self.store.ledger]
        return {str(p.relative_to(self.store.path)): p.read_bytes() for p in paths if p.is_file()}


def _cells(table: Table, *, days: bool) -> str:
    cells = [
        f'ST_AsText(t."{c.name}")' if c.kind is Kind.GEOMETRY else f't."{c.name}"' for c in table.columns
    ]
    return ", ".join(cells + [f't."{c.day_name}"' for c in table.instants if days])


def new_desk(folder: Path) -> Desk:
    """Return a desk of its own in a folder."""
    inbox = folder / "inbox"
    inbox.mkdir(parents=True, exist_ok=True)
    return Desk(inbox, open_store(folder / "store", create=True))


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """A desk with an empty store."""
    return new_desk(tmp_path)


@pytest.fixture
def more_desks(tmp_path: Path) -> Callable[[str], Desk]:
    """Further desks, by name."""
    return lambda name: new_desk(tmp_path / name)


@pytest.fixture(scope="session")
def stocked_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The plain delivery, and a later file with a correction and a reading that waits: a store to copy."""
    folder = tmp_path_factory.mktemp("stocked")
    made = new_desk(folder)
    made.load(*made.delivery())
    made.load_text("meter_readings_late.csv", LATE, on="2026-03-25")
    return folder


@pytest.fixture
def stocked(stocked_folder: Path, tmp_path: Path) -> Desk:
    """A desk whose store took the plain delivery and a later file."""
    shutil.copytree(stocked_folder, tmp_path / "stocked")
    return new_desk(tmp_path / "stocked")
