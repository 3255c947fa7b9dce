"""The large tables: immutable Parquet parts by month and slice of sites.

A load adds parts for what is new and rewrites only those whose rows it corrects; a part is named by
its content.
"""

import uuid
from dataclasses import replace
from pathlib import Path

from duckdb import DuckDBPyConnection

from pipeline.store import schema
from pipeline.store.fates import Places
from pipeline.store.files import flush, sha256_of
from pipeline.store.manifest import Part
from pipeline.tables import Table

MOST_PARTS = 12  # of one month and slice, before they are made one


def write_part(
    connection: DuckDBPyConnection, folder: Path, query: str, part: Part, at: str = ""
) -> Part | None:
    """Write a query's rows as a part; None where it has none.

    Parameters
    ----------
    folder : Path
        The store.
    query : str
        SQL of the rows, in their order.
    part : Part
        Table, month and slice; the rest is filled in.
    at : str
        Name of the moment whose bounds the part keeps.
    """
    place = folder / ("parts" if part.month else "results") / part.table
    place.mkdir(parents=True, exist_ok=True)
    aside = place / f".{uuid.uuid4().hex}.parquet"
    connection.execute(f"COPY ({query}) TO '{_literal(aside)}' (FORMAT parquet, COMPRESSION zstd)")
    bounds = f'min("{at}")::VARCHAR, max("{at}")::VARCHAR' if at else "'', ''"
    found = connection.execute(f"SELECT count(*), {bounds} FROM read_parquet('{_literal(aside)}')").fetchone()
    if found is None or not found[0]:
        aside.unlink()
        return None
    flush(aside)
    name = f"{part.month or 'all'}-{part.slice_no:04d}-{sha256_of(aside)[:20]}.parquet"
    if (place / name).exists():
        aside.unlink()
    else:
        aside.rename(place / name)
    file = (place / name).relative_to(folder).as_posix()
    return replace(part, file=file, rows=found[0], first=found[1] or "", last=found[2] or "")


def is_sound(path: Path) -> bool:
    """Whether a part's bytes are still those that its name tells of."""
    return sha256_of(path).startswith(path.stem.rpartition("-")[2])


def _literal(path: Path) -> str:
    return str(path).replace("'", "''")


def source(folder: Path, parts: tuple[Part, ...] | list[Part]) -> str:
    """Return SQL that reads parts, in their columns' own names."""
    files = ", ".join(f"'{_literal(folder / p.file)}'" for p in parts)
    return f"read_parquet([{files}], union_by_name = true)"


def bring(connection: DuckDBPyConnection, folder: Path, table: Table, parts: list[Part]) -> Places:
    """Make temporary tables of the stored rows whose keys `settled` has: only parts that may hold them are read."""
    connection.execute(f"CREATE OR REPLACE TEMP TABLE in_force ({schema.definition(table)}, _part INTEGER)")
    connection.execute(
        f"CREATE OR REPLACE TEMP TABLE in_past ({schema.definition(table)}, _until_load INTEGER, _part INTEGER)"
    )
    at = table.happens
    bounds = connection.execute(f'SELECT min("{at}")::VARCHAR, max("{at}")::VARCHAR FROM settled').fetchone()
    for position, part in enumerate(parts):
        if bounds is None or bounds[0] is None or part.first > bounds[1] or part.last < bounds[0]:
            continue
        into = {table.name: "in_force", f"{table.name}_past": "in_past"}.get(part.table)
        if into is None:
            continue
        connection.execute(f"""
            INSERT INTO {into} BY NAME
            SELECT f.*, {position} AS _part FROM {source(folder, [part])} f
            SEMI JOIN settled s ON {schema.same_key(table, "f", "s")}""")
    return Places("in_force", "in_past")


def put_back(
    connection: DuckDBPyConnection, folder: Path, table: Table, parts: list[Part], slice_sql: tuple[str, str]
) -> list[Part]:
    """Write what a sheet brought: new parts for new rows, the parts of corrected ones anew.

    Parameters
    ----------
    slice_sql : tuple of str
        SQL of a row's slice, and of the join that it takes; the rows are `r`.
    """
    kept = _without_corrected(connection, folder, table, parts)
    for name, rows in ((table.name, "in_force"), (f"{table.name}_past", "in_past")):
        kept += _new_parts(connection, folder, table, name, rows, slice_sql)
    return _merged(connection, folder, table, kept)


def _without_corrected(
    connection: DuckDBPyConnection, folder: Path, table: Table, parts: list[Part]
) -> list[Part]:
    """The parts, those that held a corrected row written anew without it."""
    touched = connection.execute("SELECT 1 FROM in_past WHERE _part IS NULL LIMIT 1").fetchone()
    if touched is None:
        return list(parts)
    kept = []
    corrected = "(SELECT * FROM in_past WHERE _part IS NULL)"
    at = table.happens
    bounds = connection.execute(
        f'SELECT min("{at}")::VARCHAR, max("{at}")::VARCHAR FROM {corrected}'
    ).fetchone()
    for part in parts:
        apart = bounds is None or part.table != table.name or part.first > bounds[1] or part.last < bounds[0]
        if apart:
            kept.append(part)
            continue
        query = f"SELECT f.* FROM {source(folder, [part])} f ANTI JOIN {corrected} c ON {schema.same_key(table, 'f', 'c')}"
        rewritten = write_part(connection, folder, query, part, at)
        if rewritten is not None:
            kept.append(part if rewritten.rows == part.rows else rewritten)
    return kept


def _new_parts(
    connection: DuckDBPyConnection,
    folder: Path,
    table: Table,
    name: str,
    rows: str,
    slice_sql: tuple[str, str],
) -> list[Part]:
    day = table.by_name[table.happens].day_name
    slice_no, join = slice_sql
    connection.execute(f"""
        CREATE OR REPLACE TEMP TABLE arrived AS
        SELECT r.* EXCLUDE (_part), strftime(r."{day}", '%Y-%m') AS _month, {slice_no} AS _slice
        FROM {rows} r {join} WHERE r._part IS NULL""")
    groups = connection.execute("SELECT DISTINCT _month, _slice FROM arrived ORDER BY ALL").fetchall()
    order = ", ".join(f'"{k}"' for k in table.key)
    found = []
    for month, slice_number in groups:
        query = f"""SELECT * EXCLUDE (_month, _slice) FROM arrived
                    WHERE _month = '{month}' AND _slice = {slice_number} ORDER BY {order}, _load"""
        part = write_part(connection, folder, query, Part(name, month, slice_number, "", 0), table.happens)
        if part is not None:
            found.append(part)
    return found


def _merged(connection: DuckDBPyConnection, folder: Path, table: Table, parts: list[Part]) -> list[Part]:
    """The parts, the many of one month and slice made one."""
    groups: dict[tuple[str, str, int], list[Part]] = {}
    for part in parts:
        groups.setdefault((part.table, part.month, part.slice_no), []).append(part)
    kept = []
    order = ", ".join(f'"{k}"' for k in table.key)
    for group in groups.values():
        if len(group) <= MOST_PARTS or group[0].table not in (table.name, f"{table.name}_past"):
            kept += group
            continue
        query = f"SELECT * FROM {source(folder, group)} ORDER BY {order}, _load"
        one = write_part(connection, folder, query, group[0], table.happens)
        kept += [one] if one is not None else []
    return kept
