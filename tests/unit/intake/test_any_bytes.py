"""Whatever bytes come under whatever name: never a crash, and no row comes in without going out."""

import csv
import io
import json
import tempfile
from pathlib import Path
from typing import Any

import geopandas
import openpyxl
import pyarrow as pa
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pyarrow import parquet

from pipeline.errors import SunrillError
from pipeline.intake import READERS, ReadOptions, Upload, read_file
from pipeline.intake import csv_reader as csv_room
from pipeline.tables import TABLES

FEW = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
FEWER = settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
CALLS = """Calls of March
site_id,called_at,answer
S1,2026-03-01 07:00,"all, and ""mostly"" well"
S2,2026-03-02,
S3,2026-03-03T08:00+02:00,x
"""
GEOJSON = json.dumps(
    {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"site_id": "S1", "block_id": block, "area_ha": 1.5},
                "geometry": {
                    "type": "Polygon",
                    "coordinates": [[[33, -13], [34, -13], [34, -12], [33, -13]]],
                },
            }
            for block in "AB"
        ],
    }
)
KML = (
    "<kml xmlns='http://www.opengis.net/kml/2.2'><Document><Placemark><name>N</name><ExtendedData><Data name='district'>"
    "<value>North</value></Data></ExtendedData><Polygon><outerBoundaryIs><LinearRing><coordinates>33,-13 34,-13 34,-12 33,-13"
    "</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Document></kml>"
)


def _workbook() -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "calls"
    for row in csv.reader(io.StringIO(CALLS)):
        sheet.append(row)
    sink = io.BytesIO()
    book.save(sink)
    return sink.getvalue()


def _parquet() -> bytes:
    sink = io.BytesIO()
    cells = {"site_id": ["S1", "S2"], "called_at": ["2026-03-01 07:00", "2026-03-02"], "answer": [None, "x"]}
    parquet.write_table(pa.table(cells), sink)
    return sink.getvalue()


def _package() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "blocks.gpkg"
        square = shapely.box(33, -13, 34, -12)
        rows = [{"site_id": "S1", "block_id": "A", "area_ha": 1.5}]
        geopandas.GeoDataFrame(rows, geometry=[square], crs=4326).to_file(path, layer="blocks")
        return path.read_bytes()


WHOLE = {
    "blocks.gpkg": _package(),
    "calls.csv": CALLS.encode(),
    "calls.xlsx": _workbook(),
    "calls.parquet": _parquet(),
    "blocks.geojson": GEOJSON.encode(),
    "districts.kml": KML.encode(),
}


def every_row_goes_out(room: Any, name: str, content: bytes, **said: Any) -> None:
    """Read a file: each sheet gives as many rows as it has, and a rejected one has a fault that says why."""
    path = room.put(name, content)
    found, refused = [], None
    try:
        found = room.sheets(path, **said)
    except SunrillError as error:
        refused = error.fault
    assert refused is None or (refused.what and refused.mend)
    for outcome in found:
        assert len(outcome.rows) == outcome.sheet.rows
        told = {line for line, _, _, _, fate in outcome.faults if fate == "rejected"}
        assert {row["_line"] for row in outcome.rows if row["_rejected"]} == told


@FEW
@given(
    table=st.sampled_from(["sites", "calls", "districts", "letters"]),
    ending=st.sampled_from([e for e in sorted(READERS) if e != ".xlsx"]),
    content=st.binary(min_size=1, max_size=300),
)
def test_any_bytes_under_any_ending_are_read_or_refused(
    room: Any, table: str, ending: str, content: bytes
) -> None:
    """Bytes that are no file of their kind are refused with a way out."""
    every_row_goes_out(room, table + ending, content)


@st.composite
def mutated(draw: st.DrawFn, whole: bytes) -> bytes:
    """Bytes of a good file with some changed, cut out or put in."""
    raw = bytearray(whole)
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, max(len(raw) - 1, 0)))
        put = draw(
            st.binary(max_size=4)
            | st.sampled_from([b'"', b"\r", b"\n", b",", b";", b"\xff", b"\x00", b"{", b"<"])
        )
        raw[at : at + draw(st.integers(0, 4))] = put
    return bytes(raw) or b" "


@pytest.mark.parametrize("name", sorted(set(WHOLE) - {"calls.xlsx"}))
@FEW
@given(data=st.data())
def test_a_damaged_file_is_read_or_refused(room: Any, name: str, data: st.DataObject) -> None:
    """A file with a few bytes changed, lost or added never ends the program, nor loses a row in silence."""
    every_row_goes_out(room, name, data.draw(mutated(WHOLE[name])))


@FEWER
@given(data=st.data())
def test_a_damaged_workbook_is_read_or_refused(room: Any, data: st.DataObject) -> None:
    """The child process may end as it will: its parent refuses the book."""
    every_row_goes_out(room, "calls.xlsx", data.draw(mutated(WHOLE["calls.xlsx"])))


CELL = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=6) | st.sampled_from(
    [
        "S1",
        "2026-03-01",
        "",
        " ",
        "\u00a0",
        "n/a",
        "clear",
        "1,5",
        "1.5",
        '"',
        "a\nb",
        "a\rb",
        "\x1c",
        "#REF!",
    ]
)


@FEW
@given(
    rows=st.lists(st.lists(CELL, min_size=1, max_size=5), max_size=6),
    mark=st.sampled_from(",;"),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    extra=st.sampled_from([[], ["note"], ["", ""], ["answer"]]),
)
def test_a_written_record_is_a_row(
    room: Any, rows: list[list[str]], mark: str, end: str, extra: list[str]
) -> None:
    """As many records as a writer of CSV wrote below the heading, blank ones aside, get a fate."""
    sink = io.StringIO(newline="")
    bare = any(
        set(cell) & set("\r\n") for row in rows for cell in row
    )  # the writer quotes none of those by itself
    writer = csv.writer(
        sink, quoting=csv.QUOTE_ALL if bare else csv.QUOTE_MINIMAL, delimiter=mark, lineterminator=end
    )
    writer.writerow(["site_id", "called_at", "answer", *extra])
    writer.writerows(rows)
    found = room.read("calls.csv", sink.getvalue().encode())
    assert len(found.rows) == sum(any(cell.strip() for cell in row) for row in rows)


LINE = st.text(st.sampled_from("aS1,;\t \u00a0\u2028\x0c\x1c.-2é"), max_size=14)


@FEW
@given(
    lines=st.lists(LINE | st.sampled_from(["S1,2026-03-01,x", "S2,2026-03-02,", " , , ", ",,"]), max_size=8),
    end=st.sampled_from(["\n", "\r\n"]),
    title=st.sampled_from(["", "Calls\n", "Calls\rof March\n", ",,\n"]),
    heading=st.sampled_from(
        ["site_id,called_at,answer", "site_id,called_at,answer,,", "site_id,called_at,x,answer"]
    ),
)
def test_the_fast_way_gives_the_same_sheet_as_the_careful_way(
    tmp_path: Path, lines: list[str], end: str, title: str, heading: str
) -> None:
    """A structurally clean file is read faster, and to the same cells, lines and faults."""
    path = tmp_path / "calls.csv"
    path.write_bytes((title + heading + end + end.join(lines)).encode())
    fast = csv_room.read_csv(Upload(path, "calls.csv"), ReadOptions())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(csv_room, "_clean_body", lambda *_: None)
        careful = csv_room.read_csv(Upload(path, "calls.csv"), ReadOptions())
    for left, right in zip(fast, careful, strict=True):
        assert left.heading == right.heading
        assert left.lines.to_pylist() == right.lines.to_pylist()
        assert left.broken_rows == right.broken_rows
        assert [[v or "" for v in row.values()] for row in left.cells.to_pylist()] == [
            [v or "" for v in row.values()] for row in right.cells.to_pylist()
        ]


ANY_CELL = st.text(max_size=12).map(lambda text: text.replace("\x00", "")) | st.sampled_from(
    [
        "2026-03-01 07:30", "2026-03-01T00:00+14:00", "9999-12-31", "0001-01-01", "294247-01-10", "24:00", "1e308", "9" * 400,
        "-" + "9" * 30, "1,234.5", ";;", "a;b", "1;2;x", "POLYGON EMPTY", "POINT (1 2)", "POLYGON ((0 0, 1 0, 1 1, 0 0))",
        "MULTIPOLYGON (((nan 0, 1 0, 1 1, nan 0)))", "Africa/Blantyre", "clear", "none", "#N/A", "'", "\\", "{}", "%s", "$today",
    ]
)  # fmt: skip
ANY_VALUE = (
    st.lists(ANY_CELL | st.none(), min_size=2, max_size=2)
    | st.lists(st.floats() | st.none(), min_size=2, max_size=2)
    | st.lists(st.integers(-(2**63), 2**63 - 1), min_size=2, max_size=2)
    | st.lists(st.binary(max_size=30), min_size=2, max_size=2)
    | st.lists(st.dates() | st.none(), min_size=2, max_size=2)
    | st.lists(st.datetimes(), min_size=2, max_size=2)
    | st.lists(st.lists(st.floats(), max_size=3), min_size=2, max_size=2)
    | st.lists(st.booleans(), min_size=2, max_size=2)
)


@FEW
@given(
    data=st.data(), name=st.sampled_from(sorted(TABLES)), mark=st.sampled_from(",;"), day_first=st.booleans()
)
def test_any_text_in_any_column_is_taken_or_told_of(
    room: Any, data: st.DataObject, name: str, mark: str, *, day_first: bool
) -> None:
    """Whatever somebody writes into whichever column of whichever table."""
    names = [column.name for column in TABLES[name].columns]
    sink = io.StringIO(newline="")
    writer = csv.writer(sink, delimiter=mark, quoting=csv.QUOTE_ALL)
    writer.writerow(names)
    writer.writerow([data.draw(ANY_CELL) for _ in names])
    every_row_goes_out(room, f"{name}.csv", sink.getvalue().encode("utf-8", "replace"), day_first=day_first)


@FEW
@given(data=st.data(), name=st.sampled_from(sorted(TABLES)))
def test_any_type_in_any_column_is_taken_or_told_of(room: Any, data: st.DataObject, name: str) -> None:
    """Whatever type some program gives to whichever column."""
    sink = io.BytesIO()
    columns = {column.name: data.draw(ANY_VALUE) for column in TABLES[name].columns}
    parquet.write_table(pa.table(columns), sink)
    every_row_goes_out(room, f"{name}.parquet", sink.getvalue())


def test_an_unknown_ending_is_refused_with_the_endings_that_are_read(room: Any) -> None:
    """An archive, an old workbook or a picture is no table: what can be read is named."""
    ways = {
        ".zip": "Unpack it, and load the folder",
        ".xls": "save it as XLSX",
        ".ods": "save it as XLSX",
        ".pdf": "",
        "": "",
    }
    for ending, way in ways.items():
        path = room.put(f"sites{ending}", b"PK\x03\x04")
        with pytest.raises(SunrillError, match=rf"{way}.*Sunrill reads: \.csv"):
            read_file(Upload(path, path.name), ReadOptions())
