"""Workbooks: one table a sheet. The book is opened by a child process with limits of its own."""

import json
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

import pyarrow as pa
import pyarrow.compute as pc

from pipeline.errors import FileFault
from pipeline.intake.csv_reader import no_heading, no_table
from pipeline.intake.headings import HEADING_WITHIN, heading_position, table_of
from pipeline.intake.sheets import ReadOptions, Sheet, Upload, example_rows
from pipeline.words import say

LARGEST_UNPACKED_BYTES = 1_500_000_000
SECONDS = 360


def read_xlsx(upload: Upload, options: ReadOptions) -> list[Sheet]:
    """Return the book's sheets that have any cell.

    Raises
    ------
    FileFault
        Where the file is no workbook, is too large once unpacked, or breaks the reader.
    """
    _refuse_bombs(upload)
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        _run_child(upload, out)
        sheets = []
        for path in sorted(out.glob("*.arrow"), key=lambda p: int(p.stem)):
            label, first_row = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
            with pa.OSFile(str(path), "rb") as source:
                cells = pa.ipc.open_file(source).read_all()
            sheets.append((label, first_row, cells))
    return [_sheet(upload.name, *found, options) for found in sheets if found[-1].num_rows]


def _refuse_bombs(upload: Upload) -> None:
    try:
        with zipfile.ZipFile(upload.path) as book:
            unpacked = sum(part.file_size for part in book.infolist())
    except zipfile.BadZipFile as error:
        raise _unreadable(upload.name, say("intake.no_workbook_why")) from error
    if unpacked > LARGEST_UNPACKED_BYTES:
        raise _unreadable(upload.name, say("intake.too_large_why", gigabytes=round(unpacked / 1e9, 1)))


def _run_child(upload: Upload, out: Path) -> None:
    # by its file, not as a module: importing the package would take the child ten times as long
    child = Path(__file__).with_name("xlsx_child.py")
    command = [sys.executable, str(child), str(upload.path.resolve()), str(out)]
    try:
        done = subprocess.run(command, capture_output=True, timeout=SECONDS, check=False)  # noqa: S603 - our own module
    except subprocess.TimeoutExpired as error:
        raise _unreadable(upload.name, say("intake.too_slow_why")) from error
    if done.returncode:
        ended = done.returncode < 0 or b"MemoryError" in done.stderr  # by a signal, or its limits
        raise _unreadable(upload.name, say("intake.too_much_why" if ended else "intake.no_workbook_why"))


def _unreadable(name: str, why: str) -> FileFault:
    return FileFault(say("intake.no_workbook"), where=name, why=why, mend=say("intake.save_as_xlsx"))


def _sheet(file: str, label: str, first_row: int, cells: pa.Table, options: ReadOptions) -> Sheet:
    filled = _filled_rows(cells)
    lines = pa.array(range(first_row + 1, first_row + cells.num_rows + 1), pa.int64())
    table = table_of(file, label, options.table)
    head = _head(cells)
    if table is None or (position := heading_position(head, table)) is None:
        problem = no_table(file, label) if table is None else no_heading(table, file, label)
        return Sheet(
            file,
            label,
            table,
            (),
            cells.filter(filled),
            lines.filter(filled),
            problem=problem,
        )
    heading = tuple(cell.strip() for cell in head[position])
    below = pc.greater(lines, first_row + position + 1)
    keep = pc.and_(pc.and_(filled, below), pc.invert(example_rows(cells, heading, table)))
    used = [i for i, column in enumerate(cells.columns) if heading[i] or pc.any(_holds(column)).as_py()]
    kept = cells.select(used).rename_columns([f"c{i}" for i in range(len(used))]).filter(keep)
    named = tuple(heading[i] or f"({i + 1})" for i in used)
    return Sheet(file, label, table, named, kept, lines.filter(keep), workbook=True)


def _head(cells: pa.Table) -> list[list[str]]:
    rows = cells.slice(0, HEADING_WITHIN).to_pylist()
    return [[value or "" for value in row.values()] for row in rows]


def _filled_rows(cells: pa.Table) -> pa.ChunkedArray:
    filled = pa.chunked_array([pa.array([False] * cells.num_rows)])
    for column in cells.columns:
        filled = pc.or_(filled, _holds(column))
    return filled


def _holds(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Tell which cells hold more than blanks."""
    return pc.fill_null(pc.not_equal(pc.utf8_trim_whitespace(column), ""), fill_value=False)
