"""Look back: the store as it could have been seen on a day.

Rows whose first time is later don't exist, cells with a later time are empty, and what a job found is
empty until it was restored. With `known`, versions that arrived later don't exist either: the one
that was in force then stands in their place, and a row whose parent had not come waits for it.
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from pipeline.store import Reader
from pipeline.tables import TABLES, Column, Kind, Parent, Table

UNTIL_RESTORED = ("cause", "action", "parts_used", "cost", "technician")
# An end that is agreed or planned is known before it comes.
LOOK_FORWARD = frozenset({"abstraction_limits", "agreements", "crew_absences", "stock", "targets"})
# What a row tells lies before its stamp: one of midnight belongs to the day that ends there.
STAMPED_AT_THE_END = frozenset({"meter_readings", "telemetry"})
PLANNED = frozenset({("components", "warranty_until"), ("forecasts", "day")})


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
    if known:
        _leave_known_loads(reader, as_of)
    _leave_day_ends(reader, as_of)
    for table in TABLES.values():
        rows = _known_rows(table) if known else f'SELECT * FROM memory.main."{table.name}"'  # noqa: S608 - a name of the contract
        replaced = ", ".join(_emptied(table, as_of))
        view = f"""SELECT * {f"REPLACE ({replaced})" if replaced else ""} FROM ({rows}) t
                   WHERE {_exists(table, as_of)}"""  # noqa: S608 - names of the contract, a date
        if table.name in STAMPED_AT_THE_END:  # apart: in one condition it costs ten times the scan
            view += f" UNION ALL SELECT t.* FROM ({rows}) t SEMI JOIN day_ends ON {_ends_the_day(table)}"  # noqa: S608 - the same
        reader.connection.execute(f'CREATE OR REPLACE TEMP VIEW "{table.name}" AS {view}')


def nothing_is_later(reader: Reader, as_of: date) -> bool:
    """Tell whether no row or cell of the store lies after a day, so that the published results hold."""
    _leave_day_ends(reader, as_of)
    for table in TABLES.values():
        later = [f"{_day(column)} > DATE '{as_of}'" for column in _timed(table)]
        if table.happens and table.name not in LOOK_FORWARD:
            row = f"{_day(table.by_name[table.happens])} > DATE '{as_of}'"
            if table.name in STAMPED_AT_THE_END:
                row += f" AND NOT EXISTS (FROM day_ends WHERE {_ends_the_day(table)})"
            later.append(row)
        query = f'SELECT 1 FROM memory.main."{table.name}" t WHERE {" OR ".join(later)} LIMIT 1'  # noqa: S608 - names of the contract, a date
        if later and reader.connection.execute(query).fetchone():
            return False
    return True


def _day(column: Column) -> str:
    return f't."{column.day_name}"' if column.kind is Kind.INSTANT else f't."{column.name}"'


def _exists(table: Table, as_of: date) -> str:
    if not table.happens or table.name in LOOK_FORWARD:
        return "true"
    day = _day(table.by_name[table.happens])
    return f"({day} IS NULL OR {day} <= DATE '{as_of}')"


def _leave_day_ends(reader: Reader, as_of: date) -> None:
    """Leave day_ends: the instant at which the day ends at each site."""
    reader.connection.execute(
        """CREATE OR REPLACE TEMP TABLE day_ends AS
           SELECT site_id, timezone('UTC', timezone(zone, ?::TIMESTAMP)) AS end_at FROM memory.main.sites""",
        [as_of + timedelta(days=1)],
    )


def _ends_the_day(table: Table) -> str:
    """SQL of whether a row is stamped with the end of the day."""
    return f"day_ends.site_id = t.site_id AND day_ends.end_at = t.{table.happens}"


def _timed(table: Table) -> list[Column]:
    """The columns whose cells could not have been written before their day, beside the row's first time."""
    if table.name in LOOK_FORWARD:
        return []
    return [
        c
        for c in table.columns
        if c.kind in {Kind.DATE, Kind.INSTANT}
        and c.name != table.happens
        and not c.required
        and (table.name, c.name) not in PLANNED
    ]


def _emptied(table: Table, as_of: date) -> list[str]:
    """SQL of the cells that nobody could have written yet, each with the local day beside it."""
    cells = []
    for column in _timed(table):
        names = (column.name, column.day_name) if column.kind is Kind.INSTANT else (column.name,)
        cells += [f'CASE WHEN {_day(column)} <= DATE \'{as_of}\' THEN t."{n}" END AS "{n}"' for n in names]
    if table.name == "maintenance":
        restored = f"t.restored_day <= DATE '{as_of}'"
        cells += [f'CASE WHEN {restored} THEN t."{n}" END AS "{n}"' for n in UNTIL_RESTORED]
        cells.append(f"CASE WHEN t.restored_day > DATE '{as_of}' THEN 'open' ELSE t.status END AS status")
    return cells


def _leave_known_loads(reader: Reader, as_of: date) -> None:
    """Leave known_loads: what had arrived by the end of the day on the programme's clock."""
    zone = ZoneInfo(reader.settings.timezone)
    end = datetime.combine(as_of + timedelta(days=1), time(), zone).astimezone(UTC).replace(tzinfo=None)
    reader.connection.execute(
        """CREATE OR REPLACE TEMP TABLE known_loads AS
           SELECT load_no FROM memory.main.loads WHERE arrived_at < ?""",
        [end],
    )


def _known_rows(table: Table) -> str:
    """SQL of each key's version in force among the known loads, its parents known as well.

    A load that was entered late with an earlier day of arrival may have been followed by one with a
    later day: of what is left, the newest version counts.
    """
    name, arrived = table.name, "(SELECT load_no FROM known_loads)"
    same = " AND ".join(f'n."{c}" IS NOT DISTINCT FROM p."{c}"' for c in table.key if c != "geometry")
    newer = f'EXISTS (SELECT 1 FROM memory.main."{name}" n WHERE {same or "false"} AND n._load IN {arrived})'  # noqa: S608 - names of the contract
    keys = ", ".join(f'p."{c}"' for c in table.key)
    parents = " AND ".join(_has_come(parent) for parent in table.parents) or "true"
    return f"""
        SELECT * FROM (
            SELECT * FROM memory.main."{name}" WHERE _load IN {arrived}
            UNION ALL BY NAME
            SELECT * EXCLUDE (_until_load) FROM memory.main."{name}_past" p
            WHERE _load IN {arrived} AND _until_load NOT IN {arrived} AND NOT {newer}
            QUALIFY row_number() OVER (PARTITION BY {keys} ORDER BY _load DESC) = 1
        ) c WHERE {parents}"""  # noqa: S608 - names of the contract


def _has_come(parent: Parent) -> str:
    """SQL of whether a row's parent was there; TABLES keeps parents first, so its view is made."""
    pairs = " AND ".join(f'p."{theirs}" = c."{own}"' for own, theirs in parent.columns)
    ours = " OR ".join(f'c."{own}" IS NULL' for own, _ in parent.columns)
    return f'({ours} OR EXISTS (SELECT 1 FROM "{parent.table}" p WHERE {pairs}))'  # noqa: S608 - names of the contract
