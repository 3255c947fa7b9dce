"""Empty sheets for the field, made from the contract: they load back as they are."""

from datetime import date
from pathlib import Path
from typing import Any

import xlsxwriter

from pipeline.intake.xlsx_reader import EXAMPLE_MARK
from pipeline.tables import TABLES, Column, Kind, Table
from pipeline.words import say

ROWS = 500  # that get lists and formats
LONGEST_LIST = 255  # letters that a drop-down list can hold

EXAMPLES = {
    Kind.NUMBER: 12.5,
    Kind.WHOLE: 4,
    Kind.CLOCK: "07:30",
    Kind.NUMBERS: "4.1;3.8;5.0",
    Kind.TIMEZONE: "Africa/Blantyre",
    Kind.GEOMETRY: "POLYGON ((33.80 -13.50, 33.81 -13.50, 33.81 -13.49, 33.80 -13.50))",
    Kind.NAMES: "one;another",
    Kind.ID: "A1",
    Kind.TEXT: "…",
}


def write_templates(out: Path) -> list[Path]:
    """Write a workbook for each table of the contract and return their paths.

    A heading cell tells in a comment what belongs there and in which unit; the row under it shows how
    to write and is ignored by the intake.
    """
    out.mkdir(parents=True, exist_ok=True)
    return [_write(table, out / f"{table.name}.xlsx") for table in TABLES.values()]


def _write(table: Table, path: Path) -> Path:
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
    choices = ",".join(column.choices)
    if column.kind is Kind.CHOICE and len(choices) <= LONGEST_LIST:
        sheet.data_validation(
            2, position, ROWS, position, {"validate": "list", "source": list(column.choices)}
        )


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
    return EXAMPLES[column.kind]
