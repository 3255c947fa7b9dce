"""Read one workbook in a process of its own: a crafted file may abort it or fill its memory.

Run as `python xlsx_child.py BOOK OUT`, by its file, so it imports nothing of the package; writes one
Arrow file a sheet to OUT. What the library leaves out is read from the book's own parts: on which row a
sheet begins, which date cells show a day alone, and which cells are an error.
"""

import json
import re
import sys
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from xml.parsers import expat

if __name__ == "__main__":  # pyarrow does without numpy, whose import is most of the child's start
    sys.modules["numpy"] = None  # type: ignore[assignment]

import fastexcel
import pyarrow as pa
import pyarrow.compute as pc

MEMORY_BYTES = 3 * 2**30
SECONDS = 300
MIDNIGHT = " 00:00:00"
ERROR_CELL = b't="e"'
CHUNK_BYTES = 1 << 20
DATE_FORMATS = {14, 15, 16, 17, *range(27, 32), 36, *range(50, 59)}  # ECMA-376 part 1, 18.8.30
MOMENT_FORMATS = {22}
Place = tuple[int, int]  # row and column, from 0


@dataclass
class Styles:
    """Which of a book's cell styles show a day alone, and which a day with a time."""

    days: set[int] = field(default_factory=set)
    moments: set[int] = field(default_factory=set)


@dataclass
class Marks:
    """A sheet's first filled row and column, its cells that are a day alone, and those that are an error."""

    first: Place = (0, 0)
    days: list[Place] = field(default_factory=list)
    errors: dict[Place, str] = field(default_factory=dict)


def limit_this_process() -> None:
    """Bound memory and processor time, where the operating system can."""
    try:
        import resource  # noqa: PLC0415 - not on every operating system
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))


def read_book(path: Path, out: Path) -> None:
    """Write every sheet of the book into the folder `out`, with its name and the row it begins on."""
    reader = fastexcel.read_excel(path)
    with zipfile.ZipFile(path) as book:
        parts, styles = sheet_parts(book), styles_of(book)
        for i, name in enumerate(reader.sheet_names):
            cells = _cells(reader, i)
            first_row = 0
            if cells.num_rows and name in parts:
                cells, first_row = _marked(cells, book, parts[name], styles)
            with (
                pa.OSFile(str(out / f"{i}.arrow"), "wb") as sink,
                pa.ipc.new_file(sink, cells.schema) as writer,
            ):
                writer.write_table(cells)
            (out / f"{i}.json").write_text(json.dumps([name, first_row]))


def _cells(reader: fastexcel.ExcelReader, index: int) -> pa.Table:
    """Every cell as text; a date cell comes as its ISO text whatever day the book counts from."""
    batch = reader.load_sheet(index, header_row=None, dtypes="string").to_arrow()
    return pa.table({f"c{i}": column.cast(pa.string()) for i, column in enumerate(batch.columns)})


def _marked(cells: pa.Table, book: zipfile.ZipFile, part: str, styles: Styles) -> tuple[pa.Table, int]:
    """The cells with days alone and errors as such, and the row that they begin on."""
    midnights = any(pc.any(pc.ends_with(column, MIDNIGHT)).as_py() for column in cells.columns)
    mixed = midnights and bool(styles.days and styles.moments)
    whole = mixed or holds(book, part, ERROR_CELL)
    marks = marks_of(book, part, styles.days, whole=whole)
    if midnights and styles.days and not mixed:
        cells = pa.table([_without_midnight(column) for column in cells.columns], names=cells.column_names)
    days = [(place, "") for place in marks.days] if mixed else []
    return _rewritten(cells, marks.first, days + list(marks.errors.items())), marks.first[0]


def _without_midnight(column: pa.ChunkedArray) -> pa.ChunkedArray:
    return pc.replace_substring_regex(column, f"^([0-9-]{{10}}){MIDNIGHT}$", r"\1")


def _rewritten(cells: pa.Table, first: Place, changes: list[tuple[Place, str]]) -> pa.Table:
    """The cells with some replaced: by an error's text, or by their own without its midnight."""
    by_column: dict[int, list[tuple[int, str]]] = {}
    for (row, column), text in changes:
        by_column.setdefault(column - first[1], []).append((row - first[0], text))
    for column, found in by_column.items():
        values = cells.column(column).to_pylist()
        for row, text in found:
            values[row] = text or (values[row] or "").removesuffix(MIDNIGHT)
        cells = cells.set_column(column, f"c{column}", pa.array(values, pa.string()))
    return cells


def sheet_parts(book: zipfile.ZipFile) -> dict[str, str]:
    """Return the part of the zip in which each sheet lies, by the sheet's name."""
    targets: dict[str, str] = {}
    parts: dict[str, str] = {}

    def relation(name: str, given: dict[str, str]) -> None:
        if name == "Relationship":
            targets[given.get("Id", "")] = given.get("Target", "")

    def sheet(name: str, given: dict[str, str]) -> None:
        if name == "sheet":
            target = targets.get(given.get("id", ""), "")
            parts[given.get("name", "")] = target.lstrip("/") if target.startswith("/") else f"xl/{target}"

    _parse(book, "xl/_rels/workbook.xml.rels", relation)
    _parse(book, "xl/workbook.xml", sheet)
    return parts


def styles_of(book: zipfile.ZipFile) -> Styles:
    """Return what the book's styles show of a date."""
    found = Styles()
    codes: dict[int, str] = {}
    inside = count = 0

    def style(name: str, given: dict[str, str]) -> None:
        nonlocal inside, count
        if name == "numFmt":
            codes[int(given["numFmtId"])] = given.get("formatCode", "")
        elif name == "cellXfs":
            inside = 1
        elif name == "cellStyles":
            inside = 0
        elif name == "xf" and inside:
            shown = _shown(int(given.get("numFmtId", 0)), codes)
            (found.days if shown == "day" else found.moments if shown == "moment" else set()).add(count)
            count += 1

    if "xl/styles.xml" in book.namelist():
        _parse(book, "xl/styles.xml", style)
    return found


def _shown(number: int, codes: dict[int, str]) -> str:
    code = codes.get(number)
    if code is None:
        return "day" if number in DATE_FORMATS else "moment" if number in MOMENT_FORMATS else ""
    bare = re.sub(r'"[^"]*"|\\.|\[(?!h|m|s)[^\]]*\]', "", code.lower())
    timed = bool(re.search("[hs]", bare))
    dated = bool(re.search("[yd]", bare)) or ("m" in bare and not timed)
    return ("moment" if timed else "day") if dated else ""


def marks_of(book: zipfile.ZipFile, part: str, days: set[int], *, whole: bool) -> Marks:
    """Return the marks of a sheet; only where it begins, unless the `whole` of it is asked for."""
    found = Marks()
    row = column = -1
    kind, style, inside, filled = "", 0, False, False
    left, top, text = -1, -1, ""

    def start(name: str, given: dict[str, str]) -> None:
        nonlocal row, column, kind, style, inside, filled, text
        if name == "row":
            row, column = int(given.get("r", row + 2)) - 1, -1
        elif name == "c":
            column = _column(given["r"]) if "r" in given else column + 1
            kind, style, filled, text = given.get("t", "n"), int(given.get("s", 0)), False, ""
        inside = name in {"v", "is", "t"}  # a formula without its value is an empty cell

    def end(name: str) -> bool:
        nonlocal left, top, inside
        inside = False
        if name != "c" or not filled:
            return False
        top = row if top < 0 else top
        left = column if left < 0 else min(left, column)
        if kind == "e":
            found.errors[row, column] = text
        elif kind == "n" and style in days:
            found.days.append((row, column))
        return not whole

    def letters(data: str) -> None:
        nonlocal text, filled
        filled = filled or inside
        if inside and kind == "e":
            text += data

    _parse(book, part, start, end, letters)
    found.first = max(top, 0), max(left, 0)
    return found


def _column(place: str) -> int:
    number = 0
    for letter in place.rstrip("0123456789"):
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1


def holds(book: zipfile.ZipFile, part: str, bytes_sought: bytes) -> bool:
    """Tell whether some bytes stand in a part of the book."""
    tail = b""
    with book.open(part) as stream:
        while chunk := stream.read(CHUNK_BYTES):
            if bytes_sought in tail + chunk:
                return True
            tail = chunk[-len(bytes_sought) :]
    return False


def _parse(
    book: zipfile.ZipFile,
    part: str,
    start: Callable[[str, dict[str, str]], None],
    end: Callable[[str], bool] = lambda _name: False,
    letters: Callable[[str], None] = lambda _data: None,
) -> None:
    """Read a part element by element, names without their prefix, until `end` says that it is enough."""
    parser = expat.ParserCreate()
    enough = False

    def ended(name: str) -> None:
        nonlocal enough
        enough = end(name.rpartition(":")[2]) or enough

    parser.StartElementHandler = lambda name, given: start(
        name.rpartition(":")[2], {key.rpartition(":")[2]: value for key, value in given.items()}
    )
    parser.EndElementHandler = ended
    parser.CharacterDataHandler = letters
    with book.open(part) as stream:
        while not enough and (chunk := stream.read(CHUNK_BYTES)):
            parser.Parse(chunk, False)  # noqa: FBT003 - expat's own signature


if __name__ == "__main__":
    limit_this_process()
    read_book(Path(sys.argv[1]), Path(sys.argv[2]))
