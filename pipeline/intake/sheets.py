"""What a reader hands on: one table of one file, its cells as they were written."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pyarrow as pa
import pyarrow.compute as pc

from pipeline.errors import Fault
from pipeline.tables import Table

EXAMPLE_MARK = "example:"  # our own templates show one row that is nobody's


@dataclass(frozen=True)
class ReadOptions:
    """What the user says about the files: their table, decimal mark and order of dates."""

    table: str = ""
    decimal: str = ""  # "point": a semicolon file writes 12.5
    day_first: bool = False

    def as_record(self) -> dict[str, object]:
        """Return the options as they stand in the ledger."""
        return {"table": self.table, "decimal": self.decimal, "day_first": self.day_first}


@dataclass(frozen=True)
class Upload:
    """A file to read: where its bytes lie, and the name that the user knows it by."""

    path: Path
    name: str


@dataclass(frozen=True)
class Sheet:
    """One table of one file.

    `cells` has a column for each heading cell, c0, c1, …: text as written, or a type of its own where
    the file has types. `lines` are the line (or feature) numbers of its rows. `broken_rows` are the
    positions of rows that are no record of the sheet, with the rule that each breaks. With a `problem`
    every row is rejected.
    """

    file: str
    sheet: str
    table: Table | None
    heading: tuple[str, ...]
    cells: pa.Table
    lines: pa.Array
    decimal_comma: bool = False
    workbook: bool = False
    broken_rows: Mapping[int, str] = field(default_factory=dict)
    problem: Fault | None = None

    @property
    def rows(self) -> int:
        """Count of the rows that have to get a fate."""
        return len(self.lines)


def plain_text(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Return a column as text: a list as its parts apart by `;`, bytes as the text that they are."""
    kind = column.type
    if isinstance(kind, pa.BaseExtensionType):
        return plain_text(column.cast(kind.storage_type))
    if pa.types.is_nested(kind) or pa.types.is_binary(kind) or pa.types.is_large_binary(kind):
        texts = [_plain_text(value) for value in column.to_pylist()]
        return pa.chunked_array([pa.array(texts, pa.string())])
    text = column.cast(pa.string())
    try:
        text.validate(full=True)
    except pa.ArrowInvalid:  # not every writer of typed files sees to it that its text is UTF-8
        return plain_text(pa.chunked_array([chunk.view(pa.binary()) for chunk in text.chunks]))
    return text


def _plain_text(value: object) -> str | None:
    if isinstance(value, bytes):
        return value.decode("utf-8", errors="replace")
    if isinstance(value, list) and not any(isinstance(part, (list, dict, bytes)) for part in value):
        return ";".join("" if part is None else str(part) for part in value)
    return None if value is None else str(value)


def example_rows(cells: pa.Table, heading: Sequence[str], table: Table) -> pa.ChunkedArray:
    """Tell which rows are that of a template which shows how to write.

    Its mark stands in the table's first column, wherever that one was moved to.
    """
    first = table.columns[0].name
    marked = cells.column(heading.index(first) if first in heading else 0)
    return pc.fill_null(pc.starts_with(pc.utf8_ltrim_whitespace(marked), EXAMPLE_MARK), fill_value=False)


def text_sheet_cells(records: list[list[str]], width: int) -> pa.Table:
    """Return records as a table of text, short ones filled with empty cells, long ones cut."""
    columns = {}
    for i in range(width):
        columns[f"c{i}"] = pa.array([r[i] if i < len(r) else None for r in records], pa.string())
    return pa.table(columns)
