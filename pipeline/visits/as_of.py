"""Look back: the store as it could have been seen on a day.

Rows whose first time is later don't exist, cells with a later time are empty, and what a job found is
empty until it was restored. With `known`, versions that arrived later don't exist either: the one
that was in force then stands in their place.
"""

from datetime import date

from pipeline.store import Reader
from pipeline.tables import TABLES, Column, Kind, Table

LOOK_FORWARD = frozenset({"agreements", "crew_absences", "forecasts"})  # known before they begin
UNTIL_RESTORED = ("cause", "action", "parts_used", "cost", "technician")


def look_back(reader: Reader, as_of: date, *, known: bool) -> None:
    """Put temporary views over the contract's tables that end on a day.

    Parameters
    ----------
    reader
        Its connection's unqualified table names mean the views from then on.
    as_of
        The last local day that exists.
    known
        Whether to leave out versions that arrived after that day.
    """
    for table in TABLES.values():
        everything = f'SELECT * FROM memory.main."{table.name}"'  # noqa: S608 - a name of the contract
        rows = _known_rows(table, as_of) if known else everything
        cells = ", ".join(
            _cell(table, column, as_of) for column in table.columns if _cell(table, column, as_of)
        )
        replaced = f"REPLACE ({cells})" if cells else ""
        reader.connection.execute(
            f'CREATE OR REPLACE TEMP VIEW "{table.name}" AS SELECT * {replaced} FROM ({rows}) t WHERE {_exists(table, as_of)}'  # noqa: S608 - names of the contract, a date
        )


def _day(column: Column) -> str:
    return f't."{column.day_name}"' if column.kind is Kind.INSTANT else f't."{column.name}"'


def _exists(table: Table, as_of: date) -> str:
    if not table.happens:
        return "true"
    day = _day(table.by_name[table.happens])
    if table.name in LOOK_FORWARD - {"forecasts"}:
        return "true"
    return f"({day} IS NULL OR {day} <= DATE '{as_of}')"


def _cell(table: Table, column: Column, as_of: date) -> str:
    """SQL that empties a cell which nobody could have written yet; empty where none is to be."""
    if table.name == "maintenance" and column.name in UNTIL_RESTORED:
        return f'CASE WHEN t.restored_day <= DATE \'{as_of}\' THEN t."{column.name}" END AS "{column.name}"'
    if table.name == "maintenance" and column.name == "status":
        return f"CASE WHEN t.restored_day > DATE '{as_of}' THEN 'open' ELSE t.status END AS status"
    timed = column.kind in {Kind.DATE, Kind.INSTANT} and not column.required and column.name != table.happens
    if not timed or table.name in {"agreements", "abstraction_limits", "stock", "crew_absences"}:
        return ""  # these look forward: a permit's end is known before it comes
    return f'CASE WHEN {_day(column)} <= DATE \'{as_of}\' THEN t."{column.name}" END AS "{column.name}"'


def _known_rows(table: Table, as_of: date) -> str:
    """SQL of each key's version in force at the end of a day."""
    day_end = f"TIMESTAMP '{as_of} 23:59:59.999999'"
    arrived = f"(SELECT load_no FROM memory.main.loads WHERE arrived_at <= {day_end})"  # noqa: S608 - a date
    return f"""
        SELECT * FROM memory.main."{table.name}" WHERE _load IN {arrived}
        UNION ALL BY NAME
        SELECT * EXCLUDE (_until_load) FROM memory.main."{table.name}_past"
        WHERE _load IN {arrived} AND _until_load NOT IN {arrived}"""  # noqa: S608 - names of the contract, a date


def nothing_is_later(reader: Reader, as_of: date) -> bool:
    """Tell whether no row of the store lies after a day, so that the published results hold."""
    for table in TABLES.values():
        if not table.happens or table.name in LOOK_FORWARD:
            continue
        day = _day(table.by_name[table.happens])
        later = f"SELECT 1 FROM \"{table.name}\" t WHERE {day} > DATE '{as_of}' LIMIT 1"  # noqa: S608 - names of the contract, a date
        if reader.connection.execute(later).fetchone():
            return False
    return True
