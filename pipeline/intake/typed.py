"""From a sheet's cells to typed rows and the faults that were found, in SQL made from the contract."""

from dataclasses import dataclass
from datetime import date
from functools import cache
from zoneinfo import available_timezones

import pyarrow as pa
import pyarrow.compute as pc
from duckdb import DuckDBPyConnection

from pipeline.intake.kinds import LARGEST_WHOLE, Writing, one_of, quoted, reading
from pipeline.intake.sheets import ReadOptions, Sheet
from pipeline.tables import CLEAR_WORD, EMPTY_WORDS, Column, Kind, Table


@dataclass(frozen=True)
class _Cell:
    """One contract column of a sheet: which cell it is read from."""

    column: Column
    source: str
    source_type: str

    @property
    def name(self) -> str:
        return f'"{self.column.name}"'

    @property
    def rule(self) -> str:
        return f'"{self.column.name}!"'


def type_sheet(sheet: Sheet, connection: DuckDBPyConnection, options: ReadOptions, *, today: date) -> None:
    """Leave the sheet's rows as the temporary tables `typed` and `faults`.

    Parameters
    ----------
    sheet : Sheet
        What a reader brought.
    connection : DuckDBPyConnection
        With the spatial extension loaded.
    options : ReadOptions
        Order of dates.
    today : date
        The load's day: what has happened lies no later than the day after.

    Notes
    -----
    `typed` has a row for each of the sheet's: _row (1 …), _line, _rejected, _extra (JSON of columns
    that the contract doesn't know), _cleared (columns whose cell says `clear`) and the contract's
    columns; a moment is the clock on the wall, or UTC where `<name>__utc`. `faults` has _row, line,
    column, value, rule, fate (`rejected`, `flaw`, `note`).
    """
    _stage(sheet, connection)
    if sheet.problem is not None or sheet.table is None:
        _reject_all(connection, "no_table" if sheet.table is None else "no_heading", "")
        return
    table = sheet.table
    if any(column.kind is Kind.TIMEZONE for column in table.columns):
        connection.execute(f"SET VARIABLE timezones = ({KNOWN_ZONES})", [_timezones()])
    cells = _cells(sheet, table, connection)
    there = {c.column.name for c in cells}
    missing = [name for name in table.required if name not in there]
    if missing:
        _reject_all(connection, "missing_column", ", ".join(missing))
        return
    _judge(connection, cells, Writing(sheet.decimal_comma, options.day_first, sheet.workbook), today)
    unknown = _unknown(sheet, table)
    _faults(connection, cells, unknown)
    _typed(table, connection, cells, unknown)


# only such as the database can reckon with too: `localtime` would end every later load of that site
KNOWN_ZONES = (
    "SELECT list(name ORDER BY name) FROM pg_timezone_names() WHERE list_contains(?::VARCHAR[], name)"
)


@cache
def _timezones() -> list[str]:
    return sorted(available_timezones())


def _stage(sheet: Sheet, connection: DuckDBPyConnection) -> None:
    numbers = pa.array(range(1, sheet.rows + 1), pa.int64())
    broken: pa.Array = pa.nulls(sheet.rows, pa.string())
    if sheet.broken_rows:
        broken = pa.array([sheet.broken_rows.get(i) for i in range(sheet.rows)], pa.string())
    staged = sheet.cells.append_column("_row", numbers).append_column("_line", sheet.lines)
    staged = staged.append_column("_broken", broken)
    for name in ("staged", "typed", "faults", "judged"):
        connection.execute(f"DROP TABLE IF EXISTS temp.{name}")
    connection.register("_staged_rows", staged)
    connection.execute("CREATE TEMP TABLE staged AS SELECT * FROM _staged_rows")
    connection.unregister("_staged_rows")


def _reject_all(connection: DuckDBPyConnection, rule: str, column: str) -> None:
    connection.execute(
        "CREATE TEMP TABLE typed AS SELECT _row, _line, true AS _rejected FROM staged ORDER BY _row"
    )
    connection.execute(
        """CREATE TEMP TABLE faults AS
           SELECT _row, _line AS line, ? AS "column", NULL::VARCHAR AS value, ? AS rule, 'rejected' AS fate
           FROM staged ORDER BY _row""",
        [column, rule],
    )


def _cells(sheet: Sheet, table: Table, connection: DuckDBPyConnection) -> list[_Cell]:
    """The contract's columns that the sheet has, the first of a name that stands twice."""
    described = connection.execute("SELECT * FROM staged LIMIT 0").description or ()
    types = {name: str(kind) for name, kind, *_ in described}
    found: dict[str, _Cell] = {}
    for i, name in enumerate(sheet.heading):
        column = table.by_name.get(name)
        if column is not None and name not in found:
            found[name] = _Cell(column, f"c{i}", types[f"c{i}"])
    return list(found.values())


def _clean(cell: _Cell) -> str:
    """The cell trimmed; NULL where it is empty or says so, or asks to clear what is stored."""
    if cell.source_type == "BLOB" or (cell.source_type != "VARCHAR" and _takes_numbers(cell.column)):
        return cell.source
    if cell.source_type == "DOUBLE":  # an id or a telephone number that a typed file holds as a number
        whole = f"{cell.source} = floor({cell.source}) AND abs({cell.source}) < {LARGEST_WHOLE}"
        return f"CASE WHEN {whole} THEN {cell.source}::BIGINT::VARCHAR ELSE {cell.source}::VARCHAR END"
    if cell.source_type != "VARCHAR":
        return f"nullif(trim({cell.source}::VARCHAR), '')"
    trimmed = _trimmed(cell)
    words = (EMPTY_WORDS | {CLEAR_WORD, ""}) - set(cell.column.choices)  # no lift before is a lift of `none`
    return f"CASE WHEN {one_of(f'lower({trimmed})', sorted(words))} THEN NULL ELSE {trimmed} END"


def _trimmed(cell: _Cell) -> str:
    return f"trim({cell.source}, e' \\t\\r\\n' || chr(160))"


def _takes_numbers(column: Column) -> bool:
    return column.kind in {Kind.NUMBER, Kind.WHOLE}


def _judge(connection: DuckDBPyConnection, cells: list[_Cell], writing: Writing, today: date) -> None:
    """Make `judged`: for each cell its text, its value and the rule that it breaks."""
    clean = ", ".join(f'{_clean(c)} AS "{c.column.name}?"' for c in cells)
    values, rules = [], []
    for c in cells:
        text = f'"{c.column.name}?"'
        source_type = c.source_type if c.source_type == "BLOB" or _takes_numbers(c.column) else "VARCHAR"
        read = reading(c.column, text, source_type, writing)
        empty = "'required'" if c.column.required else "NULL"
        values.append(f"{read.value} AS {c.name}")
        rules.append(f"CASE WHEN {text} IS NULL THEN {empty} ELSE {read.rule} END AS {c.rule}")
        if c.column.kind is Kind.INSTANT:
            values.append(f'{read.utc} AS "{c.column.name}__utc"')
    statement = f"""CREATE TEMP TABLE judged AS
        WITH cleaned AS (SELECT _row, _line, _broken, {clean} FROM staged),
        valued AS (SELECT *, {", ".join(values)} FROM cleaned)
        SELECT *, {", ".join(rules)} FROM valued"""
    connection.execute(statement, {"today": today} if "$today" in statement else None)
    _judge_order(connection, cells, today)


def _judge_order(connection: DuckDBPyConnection, cells: list[_Cell], today: date) -> None:
    """A finish before its start breaks the finish; what has happened lies not in the future."""
    names = {c.column.name for c in cells}
    for c in cells:
        if c.column.finish_of in names:
            connection.execute(
                f"UPDATE judged SET {c.rule} = 'before_start' WHERE {c.rule} IS NULL AND {c.name} < \"{c.column.finish_of}\" "
                f'AND "{c.column.finish_of}!" IS NULL'
            )
        if c.column.kind is Kind.INSTANT and c.column.happened:
            connection.execute(
                f"UPDATE judged SET {c.rule} = 'in_future' WHERE {c.rule} IS NULL AND {c.name}::DATE > ?::DATE + 1",
                [today],
            )


def _faults(connection: DuckDBPyConnection, cells: list[_Cell], unknown: dict[str, int]) -> None:
    """Make `faults`, every one of a row at once; a column that the contract doesn't know is a note."""
    selects = [
        """SELECT _row, _line AS line, '' AS "column", NULL::VARCHAR AS value, _broken AS rule, 'rejected' AS fate
           FROM judged WHERE _broken IS NOT NULL"""
    ]
    for c in cells:
        fate = "rejected" if c.column.required else "flaw"
        text = f'left("{c.column.name}?"::VARCHAR, 200)' if c.source_type != "BLOB" else "NULL"
        selects.append(
            f"SELECT _row, _line, {quoted(c.column.name)}, {text}, {c.rule}, {quoted(fate)} FROM judged WHERE {c.rule} IS NOT NULL"
        )
    connection.execute(
        f"CREATE TEMP TABLE faults AS SELECT * FROM ({' UNION ALL '.join(selects)}) ORDER BY _row"
    )
    for name in unknown:
        connection.execute(
            "INSERT INTO faults VALUES (NULL, NULL, ?, NULL, 'unknown_column', 'note')", [name]
        )


def _unknown(sheet: Sheet, table: Table) -> dict[str, int]:
    """Columns that the contract doesn't know, that stand twice or have no name, with their place."""
    seen: set[str] = set()
    found = {}
    for i, name in enumerate(sheet.heading):
        if name in table.by_name and name not in seen:
            seen.add(name)
        elif name or _filled(sheet.cells.column(i)):
            found[f"{name} ({i + 1})".strip() if name in seen or not name else name] = i
            seen.add(name)
    return found


def _filled(column: pa.ChunkedArray) -> bool:
    """Tell whether any cell of a column holds more than blanks."""
    if not pa.types.is_string(column.type):
        return bool(column.null_count < len(column))
    return bool(pc.any(pc.not_equal(pc.utf8_trim_whitespace(column), "")).as_py())


def _typed(table: Table, connection: DuckDBPyConnection, cells: list[_Cell], unknown: dict[str, int]) -> None:
    by_name = {c.column.name: c for c in cells}
    columns = []
    for column in table.columns:
        cell = by_name.get(column.name)
        value = f"CASE WHEN {cell.rule} IS NULL THEN {cell.name} END" if cell else "NULL"
        columns.append(f'({value})::{column.sql_type} AS "{column.name}"')
        if column.kind is Kind.INSTANT:
            utc = f'"{column.name}__utc"' if cell else "false"
            columns.append(f'{utc} AS "{column.name}__utc"')
    required = " OR ".join(f"{c.rule} IS NOT NULL" for c in cells if c.column.required)
    clears = [
        c for c in cells if not c.column.required and c.source_type == "VARCHAR"
    ]  # a required one can't
    if not _any_cleared(connection, clears):
        clears = []
    # the cells as they were written are rarely needed again
    rows = "judged JOIN staged USING (_row, _line) ORDER BY _row" if unknown or clears else "judged"
    connection.execute(f"""CREATE TEMP TABLE typed AS
        SELECT _row, _line, judged._broken IS NOT NULL OR {required or "false"} AS _rejected, {_extra(unknown)} AS _extra,
               {_cleared(clears)} AS _cleared, {", ".join(columns)}
        FROM {rows}""")
    connection.execute("DROP TABLE staged")
    connection.execute("DROP TABLE judged")


def _extra(found: dict[str, int]) -> str:
    if not found:
        return "NULL::VARCHAR"
    pairs = ", ".join(f"{quoted(name)}, c{i}::VARCHAR" for name, i in found.items())
    filled = " OR ".join(f"nullif(trim(c{i}::VARCHAR), '') IS NOT NULL" for i in found.values())
    return f"CASE WHEN {filled} THEN json_object({pairs})::VARCHAR END"


def _says_clear(cell: _Cell) -> str:
    return f"lower({_trimmed(cell)}) = '{CLEAR_WORD}'"


def _any_cleared(connection: DuckDBPyConnection, cells: list[_Cell]) -> bool:
    """Whether the word stands in any cell; what it means there is told row by row."""
    anywhere = " OR ".join(f"contains(lower({c.source}), '{CLEAR_WORD}')" for c in cells) or "false"
    return connection.execute(f"SELECT 1 FROM staged WHERE {anywhere} LIMIT 1").fetchone() is not None


def _cleared(cells: list[_Cell]) -> str:
    """Columns whose cell says that the stored value is to go."""
    if not cells:
        return "NULL::VARCHAR[]"
    parts = ", ".join(f"CASE WHEN {_says_clear(c)} THEN {quoted(c.column.name)} END" for c in cells)
    return f"nullif(list_filter([{parts}], lambda name: name IS NOT NULL), []::VARCHAR[])"
