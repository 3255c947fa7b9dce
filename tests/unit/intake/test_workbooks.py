"""Workbooks as people make them, and as somebody who means harm would."""

import io
import json
import zipfile
from collections.abc import Callable
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import openpyxl
import pyarrow as pa
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.styles import Font
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from pipeline.errors import FileFault
from pipeline.intake import xlsx_child, xlsx_reader

HEADING = ["site_id", "called_at", "answer"]


def test_a_date_cell_alone_is_noon_and_a_moment_at_midnight_is_midnight(room: Any) -> None:
    """What the cell shows decides: a day without a time is noon, 00:00 is the day's first moment."""
    path = room.book(
        "calls.xlsx",
        {"calls": [HEADING, ["S1", date(2026, 3, 1)], ["S2", datetime.fromisoformat("2026-03-01 00:00")]]},
    )
    (found,) = room.sheets(path)
    assert [row["called_at"] for row in found.rows] == [
        datetime.fromisoformat("2026-03-01 12:00"),
        datetime.fromisoformat("2026-03-01 00:00"),
    ]


@pytest.mark.parametrize(
    "cells",
    [
        [date(2026, 3, 1), date(2026, 3, 2)],
        [datetime.fromisoformat("2026-03-01 07:00"), datetime.fromisoformat("2026-03-02 00:00")],
    ],
)
def test_a_book_of_one_kind_of_date_cells_is_read_the_same(room: Any, cells: list[date]) -> None:
    """With days alone each is noon; with moments alone midnight stays midnight."""
    (found,) = room.sheets(room.book("calls.xlsx", {"calls": [HEADING, *(["S1", cell] for cell in cells)]}))
    alone = not isinstance(cells[0], datetime)
    expected = (
        [datetime.fromisoformat("2026-03-01 12:00"), datetime.fromisoformat("2026-03-02 12:00")]
        if alone
        else cells
    )
    assert [row["called_at"] for row in found.rows] == expected


@pytest.mark.parametrize("counts_from", [None, CALENDAR_MAC_1904])
def test_a_date_cell_is_its_day_whichever_year_the_book_counts_from(
    room: Any, counts_from: datetime | None
) -> None:
    """Excel for Windows counts days from 1900, older ones for the Mac from 1904."""
    book = openpyxl.Workbook()
    if counts_from:
        book.epoch = counts_from
    sheet = book.active
    sheet.title = "calls"
    sheet.append(HEADING)
    sheet.append(["S1", date(2026, 3, 1)])
    book.save(room.folder / "calls.xlsx")
    (found,) = room.sheets(room.folder / "calls.xlsx")
    assert found.rows[0]["called_at"] == datetime.fromisoformat("2026-03-01 12:00")


def test_a_time_cell_is_a_time_of_day(room: Any) -> None:
    """A crew's start may stand in a time cell."""
    rows = [["crew_id", "base_id", "day_start", "day_end"], ["C1", "B1", time(7, 30), time(16)]]
    (found,) = room.sheets(room.book("crews.xlsx", {"crews": rows}))
    assert (found.rows[0]["day_start"], found.rows[0]["day_end"]) == ("07:30", "16:00")


def test_a_number_is_no_date(room: Any) -> None:
    """46082 would be 1 March 2026 in one calendar and 2 March 2030 in the other: it is rejected."""
    (found,) = room.sheets(room.book("calls.xlsx", {"calls": [HEADING, ["S1", 46082]]}))
    assert found.rules == ["not_a_date"]


def test_a_whole_number_is_an_id_without_its_point(room: Any) -> None:
    """A meter number typed as a number is the same meter as in a text; letters keep their case."""
    rows = [
        ["meter_id", "site_id", "quantity"],
        [1207, "s1", "water"],
        ["1207", "S1", "water"],
        [" Mé1 ", "1.50", "Water"],
    ]
    (found,) = room.sheets(room.book("meters.xlsx", {"meters": rows}))
    assert [row["meter_id"] for row in found.rows] == ["1207", "1207", "Mé1"]
    assert [row["site_id"] for row in found.rows] == ["s1", "S1", "1.50"]


def test_each_sheet_is_its_own_table_and_its_lines_are_those_of_the_screen(room: Any) -> None:
    """Title rows, blank rows and an empty sheet are no rows; the line is the number beside the row."""
    sheets = {
        "sites north": [
            [],
            ["Sites"],
            [],
            ["site_id", "name", "latitude", "longitude"],
            [],
            ["S1", "A", 1, 2],
            ["S2"],
        ],
        "calls": [HEADING, ["S1", "2026-03-01"]],
        "Sheet3": [],
    }
    sites, calls = room.sheets(room.book("delivery.xlsx", sheets))
    assert [row["_line"] for row in sites.rows] == [6, 7]
    assert {fault[0] for fault in sites.faults} == {7}
    assert (sites.sheet.table.name, calls.sheet.table.name) == ("sites", "calls")


def test_a_sheet_that_is_named_for_no_table_is_of_the_table_of_its_file(room: Any) -> None:
    """A book with a single sheet, Sheet1, is named for its table by its file's name."""
    (found,) = room.sheets(room.book("calls_march.xlsx", {"Sheet1": [HEADING, ["S1", "2026-03-01"]]}))
    assert found.sheet.table.name == "calls"


def test_a_sheet_of_no_table_rejects_its_rows_and_says_so(room: Any) -> None:
    """Notes beside the tables are not lost: each row is rejected with the way to name its sheet."""
    (found,) = room.sheets(room.book("delivery.xlsx", {"notes": [["call the chief"], ["buy fuses"]]}))
    assert found.rules == ["no_table", "no_table"]


def test_the_value_of_a_formula_counts_and_its_failure_is_a_flaw(room: Any) -> None:
    """What the sheet showed when it was saved is read; #N/A and #DIV/0! are not empty cells."""
    parts = _parts(
        room.book("calls.xlsx", {"calls": [HEADING, ["S1", "2026-03-01", 1], ["S2", "2026-03-01", 2]]})
    )
    sheet = parts["xl/worksheets/sheet1.xml"].decode()
    sheet = sheet.replace('<c r="C2" t="n"><v>1</v>', '<c r="C2"><f>A9+1</f><v>41</v>')
    sheet = sheet.replace('<c r="C3" t="n"><v>2</v>', '<c r="C3" t="e"><f>1/0</f><v>#DIV/0!</v>')
    (found,) = room.sheets(_zipped(room, "calls.xlsx", parts | {"xl/worksheets/sheet1.xml": sheet.encode()}))
    assert [row["answer"] for row in found.rows] == ["41", None]
    assert found.faults == [(3, "answer", "#DIV/0!", "failed_formula", "flaw")]


def test_merged_cells_hold_their_value_in_the_first(room: Any) -> None:
    """A cell that a merge covers is empty: where it must be filled, its row is rejected, not guessed."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "calls"
    for row in (HEADING, ["S1", "2026-03-01", "a"], [None, "2026-03-02", "b"]):
        sheet.append(row)
    sheet.merge_cells("A2:A3")
    book.save(room.folder / "calls.xlsx")
    (found,) = room.sheets(room.folder / "calls.xlsx")
    assert [row["_rejected"] for row in found.rows] == [False, True]


def test_a_hidden_sheet_is_read_like_any_other(room: Any) -> None:
    """What somebody hid is still sent: its rows get a fate."""
    book = openpyxl.Workbook()
    book.active.append(["about"])
    sheet = book.create_sheet("calls")
    sheet.append(HEADING)
    sheet.append(["S1", "2026-03-01"])
    sheet.sheet_state = "hidden"
    book.save(room.folder / "delivery.xlsx")
    assert [found.sheet.sheet for found in room.sheets(room.folder / "delivery.xlsx")][1:] == ["calls"]


def test_cells_beside_the_heading_are_kept_and_told_of(room: Any) -> None:
    """A remark right of the last column has no name; it is kept with the row under its place."""
    (found,) = room.sheets(
        room.book("calls.xlsx", {"calls": [HEADING, ["S1", "2026-03-01", "a", None, "see photo"]]})
    )
    assert found.rows[0]["_extra"] == '{"(5)":"see photo"}'
    assert [(column, rule, fate) for _, column, _, rule, fate in found.faults] == [
        ("(5)", "unknown_column", "note")
    ]


def _parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


def _zipped(room: Any, name: str, parts: dict[str, bytes]) -> Path:
    sink = io.BytesIO()
    with zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED) as book:
        for part, content in parts.items():
            book.writestr(part, content)
    return room.put(name, sink.getvalue())


def _with_entities(sheet: bytes) -> bytes:
    entities = b"".join(
        b"<!ENTITY e%d '%s'>" % (i, b"&e%d;" % (i - 1) * 50 if i else b"x" * 50) for i in range(8)
    )
    head, _, rest = sheet.partition(b"<worksheet")
    return head + b"<!DOCTYPE worksheet [" + entities + b"]><worksheet" + rest.replace(b"all well", b"&e7;")


def _with_secret(secret: Path) -> Callable[[bytes], bytes]:
    def change(sheet: bytes) -> bytes:
        head, _, rest = sheet.partition(b"<worksheet")
        doctype = f'<!DOCTYPE worksheet [<!ENTITY e SYSTEM "{secret.as_uri()}">]>'.encode()
        return head + doctype + b"<worksheet" + rest.replace(b"all well", b"&e;")

    return change


def _hostile(room: Any, change: Callable[[bytes], bytes]) -> Path:
    parts = _parts(room.book("calls.xlsx", {"calls": [HEADING, ["S1", "2026-03-01", "all well"]]}))
    name = "xl/worksheets/sheet1.xml"
    return _zipped(room, "calls.xlsx", parts | {name: change(parts[name])})


def _shown(room: Any, path: Path) -> str:
    """All that reading a book tells: its rows, or why it was refused."""
    try:
        return str([found.rows for found in room.sheets(path)])
    except FileFault as error:
        return str(error)


def test_entities_that_swell_are_not_expanded(room: Any) -> None:
    """Eight entities of fifty of the one before would fill any memory."""
    assert "xxx" not in _shown(room, _hostile(room, _with_entities))


def test_an_entity_that_names_a_file_of_the_machine_shows_nothing_of_it(room: Any, tmp_path: Path) -> None:
    """What was not uploaded is not read."""
    secret = tmp_path / "secret.txt"
    secret.write_text("HIDDEN", encoding="utf-8")
    assert "HIDDEN" not in _shown(room, _hostile(room, _with_secret(secret)))


def test_a_link_to_another_book_shows_the_value_that_was_saved(room: Any) -> None:
    """No other file is opened: the linked cell's last value is in the sheet itself."""
    path = _hostile(
        room,
        lambda sheet: sheet.replace(
            b'<c r="C2" t="inlineStr"><is><t>all well</t></is></c>',
            b'<c r="C2"><f>[1]other!A1</f><v>7</v></c>',
        ),
    )
    (found,) = room.sheets(path)
    assert found.rows[0]["answer"] == "7"


def test_a_book_that_unpacks_beyond_reason_is_refused_before_it_is_unpacked(
    room: Any, monkeypatch: Any
) -> None:
    """A few kilobytes may claim gigabytes; how much is told."""
    monkeypatch.setattr(xlsx_reader, "LARGEST_UNPACKED_BYTES", 1_000_000)
    path = _zipped(room, "calls.xlsx", {"xl/worksheets/sheet1.xml": b" " * 60_000_000})
    with pytest.raises(FileFault, match=r"It would take 0\.1 GB once unpacked"):
        room.sheets(path)


def test_a_million_styled_but_empty_rows_are_no_rows(room: Any) -> None:
    """A column coloured to the end of the sheet (1,048,576 rows) holds nothing more than its two rows."""
    last = b'<row r="1048576"><c r="A1048576" s="0"/></row></sheetData>'
    path = _hostile(room, lambda sheet: sheet.replace(b"</sheetData>", last))
    (found,) = room.sheets(path)
    assert [row["site_id"] for row in found.rows] == ["S1"]


def test_a_row_at_the_end_of_the_sheet_is_read_with_its_number(room: Any) -> None:
    """What somebody typed at the very bottom gets a fate too."""
    last = b'<row r="1048576"><c r="A1048576" t="inlineStr"><is><t>S9</t></is></c></row></sheetData>'
    path = _hostile(room, lambda sheet: sheet.replace(b"</sheetData>", last))
    (found,) = room.sheets(path)
    assert [row["_line"] for row in found.rows] == [2, 1048576]


@pytest.mark.parametrize(
    "content", [b"PK\x03\x04 torn", b"site_id,called_at\nS1,2026-03-01\n", b"\xd0\xcf\x11\xe0 old"]
)
def test_what_is_no_workbook_is_refused_with_the_way_out(room: Any, content: bytes) -> None:
    """A torn book, a CSV file or an old XLS under the name of an XLSX file."""
    with pytest.raises(FileFault, match="save it anew as XLSX"):
        room.sheets(room.put("calls.xlsx", content))


def test_a_zip_that_is_no_workbook_writes_no_file_outside(room: Any, tmp_path: Path) -> None:
    """A part named to climb out of its folder is never unpacked."""
    path = _zipped(room, "calls.xlsx", {"../../climbed.txt": b"out", "xl/workbook.xml": b"<workbook/>"})
    with pytest.raises(FileFault):
        room.sheets(path)
    assert not list(tmp_path.parent.glob("climbed*"))


CELLS = {
    "nothing": (None, None),
    "coloured": ("coloured", None),
    "blank": ("", None),
    "uncomputed": ("=A1", None),
    "word": ("x", "x"),
    "digits": ("007", "007"),
    "number": (2.5, "2.5"),
    "truth": (True, "true"),
    "day": (date(2026, 3, 1), "2026-03-01"),
    "midnight": (datetime.fromisoformat("2026-03-01 00:00"), "2026-03-01 00:00:00"),
    "moment": (datetime.fromisoformat("2026-03-01 07:30"), "2026-03-01 07:30:00"),
    "failed": ("#N/A", "#N/A"),
}


def _sparse(path: Path, grid: list[list[str]], top: int, left: int) -> dict[tuple[int, int], str]:
    """Write a sheet that begins somewhere; return what stands where."""
    book, there = openpyxl.Workbook(), {}
    for i, names in enumerate(grid):
        for j, name in enumerate(names):
            cell = book.active.cell(top + i, left + j)
            written, shown = CELLS[name]
            if written == "coloured":
                cell.font = Font(bold=True)
            elif written is not None:
                cell.value = written
            if name == "failed":
                cell.data_type = "e"
            if shown is not None:
                there[top + i, left + j] = shown
    book.save(path)
    return there


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    grid=st.lists(st.lists(st.sampled_from(sorted(CELLS)), min_size=1, max_size=5), min_size=1, max_size=6),
    top=st.integers(1, 4),
    left=st.integers(1, 4),
)
def test_each_cell_keeps_its_place_wherever_the_sheet_begins(
    tmp_path: Path, grid: list[list[str]], top: int, left: int
) -> None:
    """Coloured, blank and uncomputed cells shift no row, no error and no date."""
    there = _sparse(tmp_path / "book.xlsx", grid, top, left)
    xlsx_child.read_book(tmp_path / "book.xlsx", tmp_path)
    _, first_row = json.loads((tmp_path / "0.json").read_text(encoding="utf-8"))
    with pa.OSFile(str(tmp_path / "0.arrow")) as source:
        rows = [list(row.values()) for row in pa.ipc.open_file(source).read_all().to_pylist()]
    found = {
        (first_row + 1 + i, j): value for i, row in enumerate(rows) for j, value in enumerate(row) if value
    }
    first_column = min((column for _, column in there), default=0) - min(
        (column for _, column in found), default=0
    )
    assert {(row, column + first_column): value for (row, column), value in found.items()} == there
