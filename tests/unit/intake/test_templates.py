"""The empty sheets for the field: they load back as they are, and a filled one is taken."""

import csv
import io
import re
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from pipeline.intake import xlsx_reader
from pipeline.intake.templates import write_templates
from pipeline.intake.xlsx_child import read_book
from pipeline.tables import TABLES, Column, Kind


@pytest.fixture(scope="module")
def templates(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a template of each table."""
    folder = tmp_path_factory.mktemp("templates")
    write_templates(folder)
    return folder


@pytest.fixture
def here(monkeypatch: Any) -> None:
    """Read workbooks in this process: seventy children would take a minute."""
    monkeypatch.setattr(xlsx_reader, "_run_child", lambda upload, out: read_book(upload.path, out))


def test_there_is_a_template_for_each_table(templates: Path) -> None:
    """One workbook a table, named for it."""
    assert {path.name for path in templates.iterdir()} == {f"{name}.xlsx" for name in TABLES}


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("name", TABLES)
def test_an_empty_template_loads_back_without_a_row_or_a_fault(room: Any, templates: Path, name: str) -> None:
    """The row that shows how to write is nobody's; nothing else stands there."""
    (found,) = room.sheets(templates / f"{name}.xlsx")
    assert (found.sheet.table.name, found.rows, found.faults) == (name, [], [])


def test_an_empty_template_loads_back_through_the_child_too(room: Any, templates: Path) -> None:
    """The same in the process of its own that a load uses."""
    (found,) = room.sheets(templates / "sites.xlsx")
    assert (found.rows, found.faults) == ([], [])


def as_typed(column: Column, text: str) -> Any:
    """What a spreadsheet makes of a cell that somebody types."""
    if column.kind is Kind.DATE:
        return date.fromisoformat(text)
    if column.kind is Kind.INSTANT:
        return datetime.fromisoformat(text)
    return float(text) if column.kind in {Kind.NUMBER, Kind.WHOLE} else text


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("name", TABLES)
def test_a_template_with_one_good_row_is_one_row_taken(
    room: Any, templates: Path, good: Any, name: str
) -> None:
    """Filled below the example, with date cells and numbers as the spreadsheet keeps them."""
    book = openpyxl.load_workbook(templates / f"{name}.xlsx")
    sheet = book[name]
    heading = [cell.value for cell in sheet[1]]
    for column, text in good[name].items():
        sheet.cell(3, heading.index(column) + 1, as_typed(TABLES[name].by_name[column], text))
    book.save(room.folder / f"{name}.xlsx")
    (found,) = room.sheets(room.folder / f"{name}.xlsx")
    assert [(row["_line"], row["_rejected"]) for row in found.rows] == [(3, False)]
    assert found.faults == []
    assert all(found.rows[0][column] is not None for column in good[name])


@pytest.mark.parametrize("mark", [",", ";"])
@pytest.mark.parametrize("note", ["plain", 'with a "quote", and a comma; too'])
def test_a_template_that_was_saved_as_csv_keeps_its_example_out_too(
    room: Any, templates: Path, mark: str, note: str
) -> None:
    """Saved from the spreadsheet in the office's own CSV, in clean files and in others."""
    rows = [
        [cell.value for cell in row]
        for row in openpyxl.load_workbook(templates / "hazards.xlsx")["hazards"]["A1:D2"]
    ]
    sink = io.StringIO()
    csv.writer(sink, delimiter=mark).writerows([*rows, ["S1", "well", note, "2026-03-01"]])
    found = room.read("hazards.csv", sink.getvalue())
    assert [(row["_line"], row["site_id"]) for row in found.rows] == [(3, "S1")]
    assert found.faults == []


@pytest.mark.usefixtures("here")
def test_the_example_is_known_where_columns_were_moved(room: Any, templates: Path) -> None:
    """The order of columns is free in a template as well."""
    sheet = openpyxl.load_workbook(templates / "calls.xlsx")["calls"]
    rows = [[cell.value for cell in row][::-1] for row in sheet["A1:D2"]]
    (found,) = room.sheets(room.book("calls.xlsx", {"calls": rows}))
    assert found.rows == []


@pytest.mark.parametrize("name", TABLES)
def test_a_template_offers_each_list_and_checks_dates_and_bounds(templates: Path, name: str) -> None:
    """A word of a list is chosen, a day is a date cell since 1990, a number out of range is warned of."""
    sheet = openpyxl.load_workbook(templates / f"{name}.xlsx")[name]
    checks = {str(v.sqref).split(":")[0]: v for v in sheet.data_validations.dataValidation}
    for position, column in enumerate(TABLES[name].columns, 1):
        check = checks.get(sheet.cell(3, position).coordinate)
        if column.kind is Kind.CHOICE:
            assert check.type == "list"
            assert check.formula1 == f'"{",".join(column.choices)}"'
        if column.kind in {Kind.DATE, Kind.INSTANT}:
            assert (check.type, check.operator) == ("date", "greaterThanOrEqual")
            (style,) = {
                d.number_format for d in sheet.column_dimensions.values() if d.min <= position <= d.max
            }
            assert style == ("yyyy-mm-dd" if column.kind is Kind.DATE else "yyyy-mm-dd hh:mm")
        if column.kind in {Kind.NUMBER, Kind.WHOLE} and column.low is not None:
            assert (check.type, check.errorStyle) == ("decimal", "warning")


@pytest.mark.parametrize("name", TABLES)
def test_a_heading_cell_tells_what_belongs_there_and_in_which_unit(templates: Path, name: str) -> None:
    """Each comment has the meaning, the unit, whether the cell must be filled, and the list's words."""
    sheet = openpyxl.load_workbook(templates / f"{name}.xlsx")[name]
    for cell, column in zip(sheet[1], TABLES[name].columns, strict=True):
        assert column.meaning in cell.comment.text
        assert f"[{column.unit}]" in cell.comment.text or not column.unit
        assert ("must be filled" in cell.comment.text) is column.required
        assert all(choice in cell.comment.text for choice in column.choices)
        assert cell.font.bold is column.required


@pytest.mark.parametrize("name", TABLES)
def test_the_example_row_shows_cells_that_would_be_taken(room: Any, templates: Path, name: str) -> None:
    """Without its mark the example is a good row."""
    sheet = openpyxl.load_workbook(templates / f"{name}.xlsx")[name]
    heading, example = ([str(cell.value) for cell in sheet[i]] for i in (1, 2))
    assert example[0].startswith("example:")
    example[0] = re.sub("^example: ?", "", example[0])
    sink = io.StringIO()
    csv.writer(sink).writerows([heading, example])
    found = room.read(f"{name}.csv", sink.getvalue())
    assert found.faults == []
    assert not found.rows[0]["_rejected"]
