"""A delivery as it comes: a folder of files of every kind, and each table in every kind of file."""

import csv
import io
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pyarrow as pa
import pytest
from pyarrow import parquet

from pipeline.errors import SunrillError
from pipeline.store import LoadReport, ReadOptions, open_store
from pipeline.tables import TABLES

CALL = "site_id,called_at\nS1,2026-03-01\n"


def load(folder: Path, *paths: Path) -> LoadReport:
    """Load paths into the store of a folder."""
    moment = datetime(2026, 6, 30, 12, tzinfo=UTC)
    return open_store(folder / "store", create=True).load(paths, ReadOptions(), arrived_at=moment)


def as_csv(row: dict[str, str], mark: str = ",") -> str:
    """Return one row with its heading."""
    sink = io.StringIO()
    csv.writer(sink, delimiter=mark).writerows([row.keys(), row.values()])
    return sink.getvalue()


def as_parquet(row: dict[str, str]) -> bytes:
    """Return one row of texts."""
    sink = io.BytesIO()
    parquet.write_table(pa.table({name: [value] for name, value in row.items()}), sink)
    return sink.getvalue()


@pytest.mark.parametrize("name", TABLES)
def test_a_good_row_of_each_table_is_taken_from_each_kind_of_file(room: Any, good: Any, name: str) -> None:
    """Commas, semicolons and Parquet give the same row; workbooks are tried with the templates."""
    row = good[name]
    comma = room.read(f"{name}.csv", as_csv(row))
    semicolon = room.read(f"{name}.csv", as_csv(row, ";"), decimal="point")
    typed = room.read(f"{name}.parquet", as_parquet(row))
    assert comma.faults == semicolon.faults == typed.faults == []
    stored = [
        {column.name: found.taken[0][column.name] for column in TABLES[name].columns}
        for found in (comma, semicolon, typed)
    ]
    assert stored[0] == stored[1] == stored[2]
    assert all(stored[0][column] is not None for column in row)


def test_a_folder_with_every_table_is_taken_as_a_whole(room: Any, good: Any) -> None:
    """Parents go before their children whatever the names of the files; each row is taken."""
    delivery = room.folder / "delivery"
    delivery.mkdir()
    for name, row in good.items():
        (delivery / f"{name} of march.csv").write_text(as_csv(row), encoding="utf-8")
    report = load(room.folder, delivery)
    assert {line.table: line.taken for line in report.files} == dict.fromkeys(TABLES, 1)
    assert (report.faults, report.unreadable) == ([], [])


def test_a_folder_brings_its_own_folders_and_leaves_lock_files_alone(room: Any) -> None:
    """What a spreadsheet leaves beside an open file is no delivery."""
    delivery = room.folder / "delivery"
    (delivery / "north" / "week [9]").mkdir(parents=True)
    (delivery / "north" / "week [9]" / "calls.csv").write_text(CALL, encoding="utf-8")
    (delivery / "~$calls.xlsx").write_bytes(b"lock")
    (delivery / ".calls.csv").write_text(CALL, encoding="utf-8")
    report = load(room.folder, delivery)
    assert [(line.table, line.rows) for line in report.files] == [("calls", 1)]
    assert report.unreadable == []


def test_a_file_that_can_not_be_read_leaves_the_others_taken(room: Any) -> None:
    """A torn workbook in the delivery is told of; the rest counts."""
    torn = room.put("sites.xlsx", b"PK torn")
    report = load(room.folder, torn, room.put("calls.csv", CALL))
    assert [line.table for line in report.files] == ["calls"]
    assert [fault.where for fault in report.unreadable] == ["sites.xlsx"]


def test_an_archive_is_refused_with_the_way_to_load_it(room: Any) -> None:
    """It is not unpacked: what it would write where is nobody's guess."""
    try:
        told = [str(fault) for fault in load(room.folder, room.put("delivery.zip", b"PK\x05\x06")).unreadable]
    except SunrillError as error:
        told = [str(error)]
    assert "Unpack it, and load the folder" in told[0]
