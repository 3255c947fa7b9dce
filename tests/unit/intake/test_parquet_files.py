"""Parquet: columns with types of their own, and types that nobody expects."""

import io
from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any

import numpy as np
import pyarrow as pa
import pytest
from pyarrow import parquet

from pipeline.errors import FileFault
from pipeline.intake import parquet_reader

MORNING = datetime.fromisoformat("2026-03-01 07:30")
READING = {"meter_id": "W1", "read_at": MORNING, "value": 12.5}


def packed(columns: dict[str, Any]) -> bytes:
    """Return columns as a Parquet file."""
    sink = io.BytesIO()
    parquet.write_table(pa.table(columns), sink)
    return sink.getvalue()


def readings(room: Any, **changed: Any) -> Any:
    """Read one reading, some of its columns changed."""
    columns = {n: v if isinstance(v, (pa.Array, list)) else [v] for n, v in (READING | changed).items()}
    return room.read("meter_readings.parquet", packed(columns))


@pytest.mark.parametrize(
    "value",
    [
        pa.array([12.5], pa.float32()),
        pa.array([12.5], pa.float64()),
        pa.array([np.float16(12.5)], pa.float16()),
        pa.array([Decimal("12.5")], pa.decimal128(9, 2)),
        pa.array(["12.5"]),
        pa.array(["12.5"]).dictionary_encode(),
        pa.array(["12.5"], pa.large_string()),
        pa.array([b"12.5"], pa.binary()),
    ],
    ids=lambda value: str(value.type)[:30],
)
def test_a_number_is_read_from_any_type_that_holds_one(room: Any, value: pa.Array) -> None:
    """Wide, narrow or exact numbers, and text."""
    found = readings(room, value=value)
    assert ([row["value"] for row in found.taken], found.faults) == ([12.5], [])


def test_a_narrow_number_is_what_was_written(room: Any) -> None:
    """12.3 of four bytes is 12.3, not 12.300000190734863."""
    assert readings(room, value=pa.array([12.3], pa.float32())).rows[0]["value"] == 12.3


@pytest.mark.parametrize("kind", [pa.int8(), pa.int64(), pa.uint64()], ids=str)
def test_whole_numbers_are_numbers_and_ids(room: Any, kind: pa.DataType) -> None:
    """A meter's number is its id without a point."""
    found = readings(room, value=pa.array([12], kind), meter_id=pa.array([7], kind))
    assert [(row["value"], row["meter_id"]) for row in found.taken] == [(12, "7")]
    assert readings(room, meter_id=pa.array([265991234567.0])).rows[0]["meter_id"] == "265991234567"


def test_not_a_number_is_an_empty_cell_and_infinity_a_fault(room: Any) -> None:
    """Many tools write NaN for an empty cell; nobody means infinity."""
    columns = {
        "site_id": ["S1"] * 3,
        "logged_at": [MORNING] * 3,
        "flow_m3h": [float("nan"), float("inf"), 4.0],
    }
    found = room.read("telemetry.parquet", packed(columns))
    assert [row["flow_m3h"] for row in found.rows] == [None, None, 4.0]
    assert found.faults == [(2, "flow_m3h", "inf", "not_a_number", "flaw")]


@pytest.mark.parametrize("number", [float("nan"), float("inf"), -1.0])
def test_a_required_number_that_is_none_rejects_its_row(room: Any, number: float) -> None:
    """Empty, endless or below nothing."""
    assert not readings(room, value=number).taken


@pytest.mark.parametrize(
    ("written", "stored"),
    [
        (MORNING, (MORNING, False)),
        (datetime.fromisoformat("2026-03-01 00:00"), (datetime.fromisoformat("2026-03-01 00:00"), False)),
        (datetime(2026, 3, 1, 7, 30, tzinfo=UTC), (MORNING, True)),
        (date(2026, 3, 1), (datetime.fromisoformat("2026-03-01 12:00"), False)),
        ("2026-03-01T07:30", (MORNING, False)),
        (pa.array([MORNING], pa.timestamp("ns")), (MORNING, False)),
        (pa.array([MORNING], pa.timestamp("us", "Africa/Blantyre")), (MORNING, True)),
    ],
    ids=["naive", "midnight", "UTC", "day", "text", "nanoseconds", "zone"],
)
def test_a_moment_with_a_zone_is_an_instant_and_one_without_is_local(
    room: Any, written: Any, stored: tuple[datetime, bool]
) -> None:
    """A day alone is noon; midnight that was written stays midnight."""
    found = readings(room, read_at=written)
    assert [(row["read_at"], row["read_at__utc"]) for row in found.taken] == [stored]


def test_days_and_times_of_day_come_from_their_types(room: Any) -> None:
    """A timestamp at midnight is its day; a time is hours and minutes."""
    site = {
        "site_id": "S1",
        "name": "A",
        "latitude": 1,
        "longitude": 2,
        "commissioned_on": datetime.fromisoformat("2026-03-01"),
    }
    found = room.read("sites.parquet", packed({name: [value] for name, value in site.items()}))
    assert [row["commissioned_on"] for row in found.taken] == [date(2026, 3, 1)]
    crew = {"crew_id": "C1", "base_id": "B1", "day_start": time(7, 30)}
    found = room.read("crews.parquet", packed({name: [value] for name, value in crew.items()}))
    assert [row["day_start"] for row in found.taken] == ["07:30"]


def test_lists_are_their_parts(room: Any) -> None:
    """Catch cans as a list of numbers, skills as a list of words."""
    survey = {
        "survey_id": "V1",
        "site_id": "S1",
        "surveyed_on": date(2026, 3, 1),
        "catch_depths_mm": [4.5, 3.0],
    }
    found = room.read("surveys.parquet", packed({name: [value] for name, value in survey.items()}))
    assert [row["catch_depths_mm"] for row in found.taken] == [[4.5, 3.0]]


@pytest.mark.parametrize(
    "value",
    [
        pa.array([{"a": 1}]),
        pa.array([[{"a": 1}]]),
        pa.array([[("k", 1)]], pa.map_(pa.string(), pa.int64())),
        pa.array([True]),
        pa.array([None], pa.null()),
        pa.array([b"\xff\xfe"], pa.binary()),
        pa.array([b"abcd"], pa.binary(4)),
    ],
    ids=lambda value: str(value.type)[:20],
)
def test_a_type_that_is_no_number_rejects_its_row_and_names_the_cell(room: Any, value: pa.Array) -> None:
    """Structures, maps, truth values, bytes: told, never a crash."""
    found = readings(room, value=value)
    assert not found.taken
    assert found.faults[0][1] == "value"


@pytest.mark.parametrize(
    "value",
    [pa.array([{"a": 1}]), pa.array([b"\xff"], pa.binary()), pa.array([7.5]), pa.array([date(2026, 3, 1)])],
    ids=lambda value: str(value.type)[:20],
)
def test_an_odd_type_in_a_text_is_kept_as_text(room: Any, value: pa.Array) -> None:
    """Whoever read the meter may be a number in some office's file."""
    found = readings(room, reader=value)
    assert isinstance(found.taken[0]["reader"], str)


def test_a_column_that_stands_twice_is_kept_aside(room: Any) -> None:
    """The first counts, as in any file."""
    arrays = [pa.array(["W1"]), pa.array([MORNING]), pa.array([1.0]), pa.array([2.0])]
    sink = io.BytesIO()
    parquet.write_table(pa.Table.from_arrays(arrays, names=["meter_id", "read_at", "value", "value"]), sink)
    found = room.read("meter_readings.parquet", sink.getvalue())
    assert (found.rows[0]["value"], found.rows[0]["_extra"]) == (1.0, '{"value (4)":"2.0"}')


def test_a_file_without_rows_has_none(room: Any) -> None:
    """An empty export is no fault."""
    found = room.read(
        "calls.parquet",
        packed({"site_id": pa.array([], pa.string()), "called_at": pa.array([], pa.string())}),
    )
    assert (found.rows, found.faults) == ([], [])


def test_a_file_that_claims_rows_beyond_reason_is_refused_before_it_is_read(
    room: Any, monkeypatch: Any
) -> None:
    """A million equal values take a few bytes; how many there are is told."""
    monkeypatch.setattr(parquet_reader, "MOST_CELLS", 1_000_000)
    columns = {"site_id": np.full(600_000, "S1"), "called_at": np.full(600_000, "2026-03-01")}
    with pytest.raises(FileFault, match="600000 rows"):
        room.read("calls.parquet", packed(columns))


@pytest.mark.parametrize(
    "content",
    [b"PAR1", b"PAR1" + b"\x00" * 40 + b"PAR1", b"site_id,called_at\n", b"PAR1\xff\xff\xff\x7fPAR1"],
)
def test_what_is_no_parquet_file_is_refused(room: Any, content: bytes) -> None:
    """A torn download, or a CSV file under that ending."""
    with pytest.raises(FileFault, match=r"no Parquet file"):
        room.read("calls.parquet", content)
