"""What is in the store, from when to when, what still waits, and how fresh each district's data are."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from pipeline.store.flaws import MISPLACED
from pipeline.store.reader import Reader
from pipeline.tables import TABLES, Kind, Parent, Table


@dataclass(frozen=True)
class TableStatus:
    """One table: its rows, the days from and to, and the rows that wait for a parent."""

    table: str
    rows: int
    first: date | None
    last: date | None
    held: int


def tables(reader: Reader) -> list[TableStatus]:
    """Return the tables that have a row in force or waiting."""
    found = [_one(reader, table) for table in TABLES.values()]
    return [status for status in found if status.rows or status.held]


def _day(table: Table) -> str:
    if not table.happens:
        return "NULL"
    column = table.by_name[table.happens]
    return f'"{column.day_name}"' if column.kind is Kind.INSTANT else f'"{column.name}"'


def _one(reader: Reader, table: Table) -> TableStatus:
    day = _day(table)
    row = reader.connection.execute(
        f'SELECT count(*), min({day})::DATE, max({day})::DATE, (SELECT count(*) FROM store."{table.name}_held") FROM "{table.name}"'
    ).fetchone()
    rows, first, last, held = row or (0, None, None, 0)
    return TableStatus(table.name, rows, first, last, held)


def waits(reader: Reader) -> list[dict[str, Any]]:
    """Return what the held rows wait for, the most wanted first: table, its rows, and the parent by its key."""
    found = [
        {"table": table.name, "rows": rows, "waits_for": f"{parent.table}: {key}"}
        for table in TABLES.values()
        for parent in table.parents
        for key, rows in _lacking(reader, table, parent)
    ]
    return sorted(found, key=lambda row: -row["rows"])


def _lacking(reader: Reader, table: Table, parent: Parent) -> list[tuple[str, int]]:
    """The keys of one parent that have not come, each with the rows that wait for it."""
    ours = [f'h."{own}"' for own, _ in parent.columns]
    pairs = " AND ".join(f'p."{theirs}" = h."{own}"' for own, theirs in parent.columns)
    return reader.connection.execute(f"""
        SELECT concat_ws(', ', {", ".join(ours)}) AS wanted, count(*) FROM store."{table.name}_held" h
        WHERE {" AND ".join(f"{cell} IS NOT NULL" for cell in ours)}
          AND NOT EXISTS (SELECT 1 FROM "{parent.table}" p WHERE {pairs})
        GROUP BY wanted ORDER BY wanted""").fetchall()


def freshness(reader: Reader) -> list[dict[str, Any]]:
    """Return for each district its sites and the newest day of readings, logs and surveys."""
    return reader.rows("""
        WITH newest AS (
            SELECT site_id, max(read_day) AS reading, NULL::DATE AS log, NULL::DATE AS survey FROM meter_readings GROUP BY ALL
            UNION ALL SELECT site_id, NULL, max(logged_day), NULL FROM telemetry GROUP BY ALL
            UNION ALL SELECT site_id, NULL, NULL, max(surveyed_on) FROM surveys GROUP BY ALL
        )
        SELECT coalesce(district, '–') AS district, count(DISTINCT s.site_id) AS sites,
               max(reading) AS newest_reading, max(log) AS newest_log, max(survey) AS newest_survey
        FROM sites s LEFT JOIN newest USING (site_id) GROUP BY 1 ORDER BY 1""")


def misplaced(reader: Reader) -> list[dict[str, Any]]:
    """Return the sites that lie outside every district, or in another than their row says."""
    return reader.rows(
        f"SELECT site_id, name, coalesce(said, '–') AS said, found FROM ({MISPLACED}) ORDER BY site_id"
    )


def files(reader: Reader) -> list[dict[str, Any]]:
    """Return the files in force with the sheet's table, when they came and who brought them."""
    return reader.rows("""
        SELECT file, sheet, table_name AS "table", row_count AS rows, l.arrived_at AS loaded_at, l.who, s.sha
        FROM sources s JOIN loads l USING (load_no) ORDER BY s.source_id""")
