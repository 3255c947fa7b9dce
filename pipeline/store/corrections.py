"""Corrected cells, before and after: noted while a sheet is met, so that a person sees what changes."""

from duckdb import DuckDBPyConnection

from pipeline.store import schema
from pipeline.store.report import Correction, LoadReport
from pipeline.tables import Column, Kind, Table

TOLD_ROWS = 5_000  # of one sheet; the others are counted, and `sunrill history` has every one
EXTRA = "_extra"  # cells of columns that the contract doesn't know
MINUTE = "%Y-%m-%d %H:%M:%S"


def begin(connection: DuckDBPyConnection) -> None:
    """Make the empty table of the cells that a sheet changes."""
    connection.execute("""
        CREATE OR REPLACE TEMP TABLE changed_cells (
            _arrival BIGINT, source INTEGER, line BIGINT, old_source INTEGER, old_line BIGINT,
            key VARCHAR, place INTEGER, "column" VARCHAR, old VARCHAR, new VARCHAR)""")


def note(connection: DuckDBPyConnection, table: Table, force: str, corrected: str) -> None:
    """Add the cells in which `merged` differs from the rows in force that it will replace.

    Parameters
    ----------
    force : str
        Where the rows in force lie; they still hold the old values.
    corrected : str
        SQL of the arrivals that correct something.
    """
    (left,) = connection.execute(f"SELECT {TOLD_ROWS} - count(DISTINCT _arrival) FROM changed_cells").fetchone() or (0,)  # fmt: skip
    if left <= 0:
        return
    zone = "LEFT JOIN zoned z ON z._arrival = s._arrival" if table.instants else ""
    key = ", ".join(f"coalesce({_text(table.by_name[name], 'm')}, '')" for name in table.key)
    connection.execute(f"""
        INSERT INTO changed_cells
        WITH told AS (SELECT * FROM {corrected} ORDER BY _arrival LIMIT {int(left)}),
        cells AS (
            SELECT s._arrival, m._source AS source, m._line AS line, f._source AS old_source, f._line AS old_line,
                   concat_ws(', ', {key}) AS key, unnest([{_pairs(table)}]) AS cell
            FROM told s JOIN merged m ON {schema.same_key(table, "m", "s")}
            JOIN {force} f ON {schema.same_key(table, "f", "s")} {zone}
        )
        SELECT _arrival, source, line, old_source, old_line, key, cell.place, cell.name, cell.old, cell.new
        FROM cells WHERE cell IS NOT NULL""")


def _pairs(table: Table) -> str:
    """SQL: of each column that is no part of the key, its name, old and new text where they differ."""
    columns = [c for c in table.columns if c.name not in table.key]
    found = [_pair(n, c.name, _differ(c), _text(c, "f"), _text(c, "m")) for n, c in enumerate(columns)]
    extra = _pair(len(columns), EXTRA, "f._extra IS DISTINCT FROM m._extra", "f._extra", "m._extra")
    return ", ".join([*found, extra])


def _pair(place: int, name: str, differ: str, old: str, new: str) -> str:
    return f"CASE WHEN {differ} THEN {{'place': {place}, 'name': '{name}', 'old': {old}, 'new': {new}}} END"


def _differ(column: Column) -> str:
    cells = [f'{alias}."{column.name}"' for alias in ("f", "m")]
    if column.kind is Kind.GEOMETRY:
        cells = [f"ST_AsWKB({cell})" for cell in cells]
    return " IS DISTINCT FROM ".join(cells)


def _text(column: Column, alias: str) -> str:
    """SQL of a cell as people write it: a moment on the row's own clock, a whole number without decimals."""
    cell = f'{alias}."{column.name}"'
    if column.kind is Kind.GEOMETRY:
        return f"ST_AsText({cell})"
    if column.kind is Kind.INSTANT:
        local = f"strftime(timezone(z.zone, timezone('UTC', {cell})), '{MINUTE}')"
        return f"regexp_replace({local}, ':00$', '')"
    if column.kind is Kind.NUMBERS:
        return f"array_to_string({cell}, ';')"
    if column.kind is Kind.NUMBER:
        return f"regexp_replace({cell}::VARCHAR, '\\.0$', '')"
    return f"{cell}::VARCHAR"


def tell(connection: DuckDBPyConnection, table: Table, report: LoadReport) -> None:
    """Add the changed cells to a report, and count the corrected rows that it can't show."""
    (rows,) = connection.execute("SELECT count(*) FROM fates WHERE fate = 'corrected'").fetchone() or (0,)
    if not rows:
        return
    found = connection.execute("""
        SELECT s.file, s.sheet, line, key, "column", old, new, coalesce(o.file, ''), coalesce(o.sheet, ''), old_line,
               _arrival
        FROM changed_cells JOIN sources s ON s.source_id = source LEFT JOIN sources o ON o.source_id = old_source
        ORDER BY _arrival, place""").fetchall()
    report.corrections += [
        Correction(file, sheet, line, table.name, *cells) for file, sheet, line, *cells, _ in found
    ]
    report.corrections_untold += rows - len({row[-1] for row in found})
