"""Comma- and semicolon-separated files.

A structurally clean file (no quotes, the same number of delimiters in each line) is read by Arrow;
any other by the csv module, which knows the line of each record. Both give the same sheet.
"""

import csv
import io
from collections.abc import Iterator
from itertools import islice

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from pyarrow import csv as arrow_csv

from pipeline.errors import Fault, FileFault
from pipeline.intake.decode import decoded
from pipeline.intake.headings import HEADING_WITHIN, heading_position, known_cells, table_of
from pipeline.intake.sheets import EXAMPLE_MARK, ReadOptions, Sheet, Upload, example_rows, text_sheet_cells
from pipeline.tables import Table
from pipeline.words import say

Record = tuple[int, list[str]]  # line, cells

MOST_OPEN_QUOTES = 20  # of one file: each is looked for to the end

csv.field_size_limit(10_000_000)  # a block's outline as WKT is longer than the module's default


def read_csv(upload: Upload, options: ReadOptions) -> list[Sheet]:
    """Return the file's one sheet.

    Raises
    ------
    FileFault
        Where the bytes are no text, or a record can't be told apart.
    """
    text = decoded(upload.path.read_bytes(), upload.name)
    table = table_of(upload.name, "", options.table)
    if table is None:
        return [_unnamed(text, upload.name)]
    delimiter = _delimiter(text, table, upload.name)
    head = _first_records(text, delimiter, upload.name)
    position = heading_position([cells for _, cells in head], table)
    if position is None:
        return [_without_heading(text, table, delimiter, upload.name)]
    line, cells = head[position]
    heading = tuple(_without_trailing_empty([cell.strip() for cell in cells]))
    comma = delimiter == ";" and options.decimal != "point"
    found = _clean_body(text, line, delimiter, len(cells))
    if found is not None and _regular(found, len(heading)):
        body = found.select(range(len(heading)))
        lines = pa.array(np.arange(line + 1, line + 1 + len(body)))
        examples = example_rows(body, heading, table)
        if pc.any(examples).as_py():
            body, lines = body.filter(pc.invert(examples)), lines.filter(pc.invert(examples).combine_chunks())
        return [Sheet(upload.name, "", table, heading, body, lines, decimal_comma=comma)]
    return [_careful_sheet(text, delimiter, line, heading, table, upload.name, comma=comma)]


def _careful_sheet(
    text: str,
    delimiter: str,
    heading_line: int,
    heading: tuple[str, ...],
    table: Table,
    name: str,
    *,
    comma: bool,
) -> Sheet:
    records, unclosed = _records(text, delimiter, name)
    first = heading.index(table.columns[0].name) if table.columns[0].name in heading else 0
    records = [r for r in records if r[0] > heading_line and not _is_example(r, first)]
    broken = {i: "open_quote" for i, (line, _) in enumerate(records) if line in unclosed} | {
        i: "too_many_cells" for i, (_, cells) in enumerate(records) if _filled(cells[len(heading) :])
    }
    return Sheet(
        name,
        "",
        table,
        heading,
        text_sheet_cells([cells for _, cells in records], len(heading)),
        pa.array([line for line, _ in records], pa.int64()),
        decimal_comma=comma,
        broken_rows=broken,
    )


def _is_example(record: Record, position: int) -> bool:
    cells = record[1]
    return position < len(cells) and cells[position].lstrip().startswith(EXAMPLE_MARK)


def _filled(cells: list[str]) -> bool:
    return any(cell.strip() for cell in cells)


def _records(text: str, delimiter: str, name: str) -> tuple[list[Record], set[int]]:
    """Every record that is not blank, with the line on which it begins, and the lines of open quotes.

    A quote that nothing closes would swallow all lines to the end of the file: its line is a record of
    its own, and reading goes on below it.
    """
    found: list[Record] = []
    unclosed: set[int] = set()
    lines = list(io.StringIO(text, newline=""))
    at = 0
    while at < len(lines):
        records, swallowed = _until_open_quote(lines, at, delimiter, name)
        found += records
        if swallowed is None:
            break
        unclosed.add(swallowed)
        if len(unclosed) > MOST_OPEN_QUOTES:
            raise _broken_record(name, swallowed, say("intake.open_quotes"))
        found.append((swallowed, lines[swallowed - 1].rstrip("\r\n").split(delimiter)))
        at = swallowed
    return found, unclosed


def _until_open_quote(
    lines: list[str], start: int, delimiter: str, name: str
) -> tuple[list[Record], int | None]:
    """The records from a line on; where the last one's quote stays open, its line instead of it."""
    ended = False

    def fed() -> Iterator[str]:
        nonlocal ended
        yield from islice(lines, start, None)
        ended = True

    reader = csv.reader(fed(), delimiter=delimiter)
    found: list[Record] = []
    begins = start + 1
    try:
        for cells in reader:
            if ended:  # the reader asked for a further line to end this record
                return found, begins
            if _filled(cells):
                found.append((begins, cells))
            begins = start + reader.line_num + 1
    except csv.Error as error:
        raise _broken_record(name, begins, say("intake.endless_cell")) from error
    return found, None


def _broken_record(name: str, line: int, why: str) -> FileFault:
    return FileFault(
        say("intake.broken_record"),
        where=f"{name}, {say('intake.line', line=line)}",
        why=why,
        mend=say("intake.save_as_csv"),
    )


def _first_records(text: str, delimiter: str, name: str) -> list[Record]:
    head = "".join(islice(io.StringIO(text, newline=""), HEADING_WITHIN * 2))
    return _records(head, delimiter, name)[0]


def _delimiter(text: str, table: Table, name: str) -> str:
    """The mark that splits more column names apart; a comma where both find as many."""

    def best(mark: str) -> int:
        return max((known_cells(cells, table) for _, cells in _first_records(text, mark, name)), default=0)

    return ";" if best(";") > best(",") else ","


def _clean_body(text: str, heading_line: int, delimiter: str, width: int) -> pa.Table | None:
    """The rows below the heading, where every line has the heading's number of cells and no quote."""
    if "\r" in text.replace("\r\n", ""):
        return None  # such line ends count too, and title rows may have them
    body = _below(text, heading_line).rstrip("\n\r").encode()
    if not body or width < 2 or b'"' in body:  # noqa: PLR2004 - one column has no delimiter to count
        return None
    if not _even(body, delimiter, width):
        return None
    names = [f"c{i}" for i in range(width)]
    try:
        return arrow_csv.read_csv(
            io.BytesIO(body),
            arrow_csv.ReadOptions(column_names=names),
            arrow_csv.ParseOptions(delimiter=delimiter, quote_char=False, newlines_in_values=False),
            arrow_csv.ConvertOptions(
                column_types=dict.fromkeys(names, pa.string()), strings_can_be_null=False
            ),
        ).combine_chunks()
    except pa.ArrowInvalid:  # a line longer than Arrow's blocks, such as a boundary's outline
        return None


def _even(body: bytes, delimiter: str, width: int) -> bool:
    """Tell whether each line has `width - 1` delimiters and none is made of nothing else."""
    data = np.frombuffer(body, np.uint8)
    ends = np.append(np.flatnonzero(data == ord("\n")), len(data))
    marks = np.flatnonzero(data == ord(delimiter))
    counts = np.diff(np.searchsorted(marks, ends), prepend=0)
    lengths = np.diff(ends, prepend=-1)
    shortest_filled = width + 1  # delimiters, one character, the line's end
    return bool((counts == width - 1).all() and (lengths > shortest_filled).all())


def _regular(body: pa.Table, width: int) -> bool:
    """Tell whether no row is blank and none has more filled cells than the heading."""
    if any(_filled(column.to_pylist()) for column in body.columns[width:]):
        return False
    blank = None
    for column in body.columns[:width]:
        empty = pc.equal(pc.utf8_trim_whitespace(column), "")
        blank = empty if blank is None else pc.and_(blank, empty)
        if not pc.any(blank).as_py():
            return True
    return False


def _below(text: str, line: int) -> str:
    at = 0
    for _ in range(line):
        at = text.find("\n", at) + 1
        if at == 0:
            return ""
    return text[at:]


def _without_trailing_empty(cells: list[str]) -> list[str]:
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _rows_only(records: list[Record], table: Table | None, name: str, problem: Fault) -> Sheet:
    width = max((len(cells) for _, cells in records), default=0)
    return Sheet(
        name,
        "",
        table,
        (),
        text_sheet_cells([cells for _, cells in records], width),
        pa.array([line for line, _ in records], pa.int64()),
        problem=problem,
    )


def _without_heading(text: str, table: Table, delimiter: str, name: str) -> Sheet:
    return _rows_only(_records(text, delimiter, name)[0], table, name, no_heading(table, name))


def _unnamed(text: str, name: str) -> Sheet:
    return _rows_only(_records(text, ",", name)[0], None, name, no_table(name))


def no_heading(table: Table, name: str, sheet: str = "") -> Fault:
    """Return the fault of a sheet in which no row holds a column name."""
    return Fault(
        say("intake.no_heading"),
        where=f"{name}, {sheet}" if sheet else name,
        why=say("intake.no_heading_why", table=table.name),
        mend=say("intake.no_heading_mend", columns=", ".join(table.required)),
    )


def no_table(name: str, sheet: str = "") -> Fault:
    """Return the fault of a sheet that no table's name begins."""
    return Fault(
        say("intake.no_table"),
        where=f"{name}, {sheet}" if sheet else name,
        why=say("intake.no_table_why"),
        mend=say("intake.no_table_mend"),
    )
