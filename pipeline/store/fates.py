"""Taken, unchanged or corrected: what becomes of each settled row.

Rows of one key count from top to bottom, so they are met in turns: the first of every key at once,
then the second of those that have one. Most sheets have a single turn.
"""

from dataclasses import dataclass

from duckdb import DuckDBPyConnection

from pipeline.store import corrections, schema
from pipeline.tables import Column, Kind, Table


@dataclass(frozen=True)
class Places:
    """Where a table's rows in force and its earlier versions lie while a sheet is met."""

    force: str
    past: str


def meet(
    connection: DuckDBPyConnection, table: Table, places: Places, load_no: int, *, restore: bool
) -> None:
    """Meet `settled` with what is stored; leave `fates` (_arrival, fate).

    A fate is `taken`, `unchanged`, `earlier` (unchanged: it equals an earlier version than the one
    in force) or `corrected`. `early_finishes` has the cells that would end before they begin,
    `changed_cells` those that are corrected.
    """
    connection.execute("CREATE OR REPLACE TEMP TABLE fates (_arrival BIGINT, fate VARCHAR)")
    connection.execute(
        'CREATE OR REPLACE TEMP TABLE early_finishes (_source INTEGER, _line BIGINT, "column" VARCHAR, value VARCHAR)'
    )
    corrections.begin(connection)
    if _one_a_key(connection, table):
        _meet_one_turn(connection, table, places, load_no, "settled", restore=restore)
        return
    _take_turns(connection, table)
    (turns,) = connection.execute("SELECT coalesce(max(_turn), 0) FROM turns").fetchone() or (0,)
    for turn in range(1, turns + 1):
        connection.execute(
            "CREATE OR REPLACE TEMP TABLE met AS SELECT * EXCLUDE (_turn, _again) FROM turns WHERE _turn = ?",
            [turn],
        )
        _meet_one_turn(connection, table, places, load_no, "met", restore=restore)


def _one_a_key(connection: DuckDBPyConnection, table: Table) -> bool:
    key = ", ".join(schema.key_parts(table, "s"))
    found = connection.execute(f"SELECT count(DISTINCT ({key})) = count(*) FROM settled s").fetchone()
    return bool(found and found[0])


def _take_turns(connection: DuckDBPyConnection, table: Table) -> None:
    """Number the rows of each key; a row that repeats the one before it needs no turn."""
    key = ", ".join(schema.key_parts(table, "s"))
    cells = ", ".join(
        f'ST_AsWKB("{c.name}")' if c.kind is Kind.GEOMETRY else f'"{c.name}"' for c in table.columns
    )
    connection.execute(f"""
        CREATE OR REPLACE TEMP TABLE turns AS
        WITH marked AS (
            SELECT *, row({cells}, _cleared, _extra) AS _cells FROM settled
        ),
        numbered AS (
            SELECT s.*, coalesce(_cells = lag(_cells) OVER one_key, false) AS _again FROM marked s
            WINDOW one_key AS (PARTITION BY {key} ORDER BY _arrival)
        )
        SELECT * EXCLUDE (_cells),
               CASE WHEN NOT _again THEN row_number() OVER (PARTITION BY {key}, _again ORDER BY _arrival) END AS _turn
        FROM numbered s""")
    connection.execute("INSERT INTO fates SELECT _arrival, 'unchanged' FROM turns WHERE _again")


def _same(table: Table, stored: str, *, cleared: bool) -> str:
    """SQL: every cell that the row gives equals the stored one, and nothing is to be cleared."""
    conditions = [f"(s._extra IS NULL OR s._extra IS NOT DISTINCT FROM {stored}._extra)"]
    for c in table.columns:
        if c.name in table.key and c.required:
            continue
        ours, theirs = f's."{c.name}"', f'{stored}."{c.name}"'
        if c.kind is Kind.GEOMETRY:
            conditions.append(f"({ours} IS NULL OR ST_AsWKB({ours}) IS NOT DISTINCT FROM ST_AsWKB({theirs}))")
        else:
            conditions.append(f"({ours} IS NULL OR {ours} IS NOT DISTINCT FROM {theirs})")
        if cleared and not c.required:
            conditions.append(f"NOT ({_is_cleared(c.name)} AND {theirs} IS NOT NULL)")
    return " AND ".join(conditions)


def _is_cleared(name: str) -> str:
    return f"coalesce(list_contains(s._cleared, '{name}'), false)"


def _any_cleared(connection: DuckDBPyConnection, met: str) -> bool:
    return (
        connection.execute(f"SELECT 1 FROM {met} WHERE _cleared IS NOT NULL LIMIT 1").fetchone() is not None
    )


def _meet_one_turn(
    connection: DuckDBPyConnection, table: Table, places: Places, load_no: int, met: str, *, restore: bool
) -> None:
    _leave_early_finishes_out(connection, table, places, met)
    cleared = _any_cleared(connection, met)
    connection.execute(f"""
        CREATE OR REPLACE TEMP TABLE verdicts AS
        SELECT s._arrival, CASE WHEN f._source IS NULL THEN 'taken'
                                WHEN {_same(table, "f", cleared=cleared)} THEN 'unchanged'
                                ELSE 'corrected' END AS fate
        FROM {met} s LEFT JOIN {places.force} f ON {schema.same_key(table, "s", "f")}""")
    if not restore:
        connection.execute(f"""
            UPDATE verdicts SET fate = 'earlier' WHERE fate = 'corrected' AND _arrival IN (
                SELECT s._arrival FROM {met} s JOIN {places.past} p ON {schema.same_key(table, "s", "p")}
                WHERE {_same(table, "p", cleared=cleared)})""")
    connection.execute("INSERT INTO fates SELECT * FROM verdicts")
    _insert(connection, table, places, met)
    if connection.execute("SELECT 1 FROM verdicts WHERE fate = 'corrected' LIMIT 1").fetchone():
        _correct(connection, table, places, load_no, met)


def _finishes(table: Table) -> list[Column]:
    """The columns that may not precede another one; parted tables have none."""
    return [c for c in table.columns if c.finish_of]


def _leave_early_finishes_out(connection: DuckDBPyConnection, table: Table, places: Places, met: str) -> None:
    """A sheet without the start brings a finish that lies before the stored start: the cell is empty."""
    for c in _finishes(table):
        if table.by_name[c.finish_of].required:
            continue  # it stands in the same row, and was compared there
        finish, start = f's."{c.name}"', f'"{c.finish_of}"'
        early = f"""{schema.same_key(table, "s", "f")} AND {finish} < f.{start}
                    AND s.{start} IS NULL AND NOT {_is_cleared(c.finish_of)}"""
        _note_early(connection, c, f"{met} s JOIN {places.force} f ON {early}", "s")
        connection.execute(f'UPDATE {met} s SET "{c.name}" = NULL FROM {places.force} f WHERE {early}')


def _empty_finishes_that_became_early(connection: DuckDBPyConnection, table: Table) -> None:
    """A start was corrected to lie after the stored finish: nobody knows the finish then."""
    for c in _finishes(table):
        early = f'"{c.name}" < "{c.finish_of}"'
        _note_early(connection, c, f"merged m WHERE {early}", "m")
        day = f', "{c.day_name}" = NULL' if c.kind is Kind.INSTANT else ""
        connection.execute(f'UPDATE merged SET "{c.name}" = NULL{day} WHERE {early}')


def _note_early(connection: DuckDBPyConnection, column: Column, rows: str, alias: str) -> None:
    connection.execute(f"""
        INSERT INTO early_finishes
        SELECT {alias}._source, {alias}._line, '{column.name}', {alias}."{column.name}"::VARCHAR FROM {rows}""")


def _insert(connection: DuckDBPyConnection, table: Table, places: Places, met: str) -> None:
    names = ", ".join(f'"{n}"' for n in schema.names(table))
    connection.execute(f"""
        INSERT INTO {places.force} ({names})
        SELECT {names} FROM {met} JOIN verdicts USING (_arrival) WHERE fate = 'taken' ORDER BY _arrival""")


def _correct(connection: DuckDBPyConnection, table: Table, places: Places, load_no: int, met: str) -> None:
    """Move the version in force to the past, and put the merged one in its place."""
    names = schema.names(table)
    listed = ", ".join(f'"{n}"' for n in names)
    same_key = schema.same_key(table, "s", "f")
    corrected = f"(SELECT {met}.* FROM {met} JOIN verdicts USING (_arrival) WHERE fate = 'corrected')"
    connection.execute(f"""
        CREATE OR REPLACE TEMP TABLE merged AS
        SELECT {", ".join(_merged(table, name) for name in names)} FROM {corrected} s JOIN {places.force} f ON {same_key}""")
    _empty_finishes_that_became_early(connection, table)
    corrections.note(connection, table, places.force, corrected)
    connection.execute(f"""
        INSERT INTO {places.past} ({listed}, _until_load)
        SELECT {", ".join(f'f."{n}"' for n in names)}, {int(load_no)} FROM {places.force} f JOIN {corrected} s ON {same_key}""")
    connection.execute(f"DELETE FROM {places.force} f USING {corrected} s WHERE {same_key}")
    connection.execute(f"INSERT INTO {places.force} ({listed}) SELECT {listed} FROM merged")


def _merged(table: Table, name: str) -> str:
    """SQL of one cell: an empty one leaves the stored value, `clear` empties it."""
    if name in ("_source", "_line", "_load"):
        return f"s.{name}"
    column = table.by_name.get(name) or next((c for c in table.instants if c.day_name == name), None)
    kept = f'coalesce(s."{name}", f."{name}")'
    if column is None or column.required:
        return f'{kept} AS "{name}"'
    return f'CASE WHEN {_is_cleared(column.name)} THEN NULL ELSE {kept} END AS "{name}"'
