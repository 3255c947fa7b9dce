"""Empty sheets for the field, made from the contract: they load back as they are."""

from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pipeline.intake.sheets import EXAMPLE_MARK
from pipeline.tables import EARLIEST_YEAR, TABLES, Column, Kind, Table
from pipeline.words import say

ROWS = 500  # that get lists and checks
LONGEST_LIST = 255  # letters that a drop-down list can hold
LONGEST_TITLE = 32  # letters of a message's title

EXAMPLES = MappingProxyType(
    {
        Kind.NUMBER: 12.5,
        Kind.WHOLE: 4,
        Kind.CLOCK: "07:30",
        Kind.NUMBERS: "4.1;3.8;5.0",
        Kind.TIMEZONE: "Africa/Blantyre",
        Kind.NAMES: "one;another",
        Kind.ID: "A1",
        Kind.TEXT: "…",
    }
)
SHAPES = MappingProxyType(
    {
        "POLYGON": "POLYGON ((33.80 -13.50, 33.81 -13.50, 33.81 -13.49, 33.80 -13.50))",
        "LINESTRING": "LINESTRING (33.80 -13.50, 33.81 -13.49)",
    }
)


def write_templates(out: Path) -> list[Path]:
    """Write a workbook for each table of the contract and return their paths.

    A heading cell tells in a comment what belongs there and in which unit; the row under it shows how
    to write and is ignored by the intake.
    """
    out.mkdir(parents=True, exist_ok=True)
    return [_write(table, out / f"{table.name}.xlsx") for table in TABLES.values()]


def write_template(name: str, out: Path) -> Path:
    """Write the workbook of one table into a folder and return its path."""
    return _write(TABLES[name], out / f"{name}.xlsx")


def _write(table: Table, path: Path) -> Path:
    import xlsxwriter  # noqa: PLC0415 - every command would wait for it

    book = xlsxwriter.Workbook(str(path))
    formats = {
        "required": book.add_format({"bold": True, "bottom": 1}),
        "optional": book.add_format({"bottom": 1}),
        "example": book.add_format({"italic": True, "font_color": "#6b6b6b"}),
        Kind.DATE: book.add_format({"num_format": "yyyy-mm-dd"}),
        Kind.INSTANT: book.add_format({"num_format": "yyyy-mm-dd hh:mm"}),
        Kind.ID: book.add_format({"num_format": "@"}),
    }
    sheet = book.add_worksheet(table.name)
    sheet.freeze_panes(1, 0)
    for position, column in enumerate(table.columns):
        _column(sheet, position, column, formats)
    book.close()
    return path


def _column(sheet: Any, position: int, column: Column, formats: dict[Any, Any]) -> None:
    sheet.write_string(0, position, column.name, formats["required" if column.required else "optional"])
    sheet.write_comment(0, position, _comment(column))
    sheet.set_column(position, position, max(12, len(column.name) + 2), formats.get(column.kind))
    example = str(_example(column))
    sheet.write_string(
        1, position, f"{EXAMPLE_MARK} {example}" if position == 0 else example, formats["example"]
    )
    check = _check(column)
    if check:
        shown = {"error_title": column.name[:LONGEST_TITLE], "error_message": _comment(column)[:LONGEST_LIST]}
        sheet.data_validation(2, position, ROWS, position, check | shown)


def _check(column: Column) -> dict[str, Any]:
    """What the spreadsheet minds while somebody types; a number out of range it only warns of."""
    if column.kind is Kind.CHOICE and len(",".join(column.choices)) <= LONGEST_LIST:
        return {"validate": "list", "source": list(column.choices)}
    if column.kind in {Kind.DATE, Kind.INSTANT}:
        return {"validate": "date", "criteria": ">=", "value": date(EARLIEST_YEAR, 1, 1)}
    if column.kind in {Kind.NUMBER, Kind.WHOLE} and column.low is not None:
        bounds: dict[str, Any] = {"criteria": ">=", "value": column.low}
        if column.high is not None:
            bounds = {"criteria": "between", "minimum": column.low, "maximum": column.high}
        return {"validate": "decimal", "error_type": "warning"} | bounds
    return {}


def _comment(column: Column) -> str:
    need = say("intake.template_required" if column.required else "intake.template_optional")
    unit = f" [{column.unit}]" if column.unit else ""
    choices = f"\n{'; '.join(column.choices)}" if column.choices else ""
    return f"{column.meaning}{unit}\n{need}{choices}"


def _example(column: Column) -> object:
    if column.choices:
        return column.choices[0]
    if column.kind is Kind.DATE:
        return date(2026, 3, 31)
    if column.kind is Kind.INSTANT:
        return "2026-03-31 07:30"
    if column.shapes:
        return SHAPES[column.shapes[0]]
    if column.kind is Kind.NUMBER and column.high is not None:
        return min(12.5, column.high / 2)
    return EXAMPLES[column.kind]
