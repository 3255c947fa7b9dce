"""Each version of a row, and where it came from."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

from pipeline.errors import UnknownName
from pipeline.store import schema
from pipeline.store.reader import Reader
from pipeline.tables import TABLES, Kind, Table
from pipeline.words import say


def history(reader: Reader, table_name: str, key: tuple[str, ...]) -> list[dict[str, Any]]:
    """Return every version of a row, the oldest first.

    Parameters
    ----------
    table_name : str
        A table of the contract.
    key : tuple of str
        The key's parts in the order of the contract; moments in UTC, or with their offset.

    Raises
    ------
    UnknownName
        Where there is no such table, or the key has another number of parts.
    """
    if table_name not in TABLES:
        raise UnknownName(
            say("store.no_such_table", table=table_name),
            mend=say("store.tables_are", names=", ".join(TABLES)),
        )
    table = TABLES[table_name]
    if len(key) != len(table.key):
        raise UnknownName(
            say("store.key_parts", table=table_name), mend=say("store.key_is", parts=", ".join(table.key))
        )
    condition = " AND ".join(f"{part}::VARCHAR = ?" for part in schema.key_parts(table, "t"))
    cells = ", ".join(
        f't."{c.name}"' if c.name != "geometry" else "ST_AsText(t.geometry) AS geometry"
        for c in table.columns
    )
    return reader.rows(
        f"""
        WITH versions AS (
            SELECT t.* EXCLUDE (_until_load), _until_load FROM "{table.name}_past" t WHERE {condition}
            UNION ALL BY NAME
            SELECT t.*, NULL AS _until_load FROM "{table.name}" t WHERE {condition}
        )
        SELECT {cells}, s.file, s.sheet, t._line AS line, l.arrived_at, l.who, t._until_load IS NULL AS in_force
        FROM versions t LEFT JOIN sources s ON s.source_id = t._source LEFT JOIN loads l ON l.load_no = t._load
        ORDER BY t._until_load NULLS LAST, l.load_no""",
        [*_as_stored(table, key)] * 2,
    )


def _as_stored(table: Table, key: tuple[str, ...]) -> Iterator[str]:
    """The key's parts as the store writes them; a moment may be written in any way that ISO 8601 has."""
    for name, part in zip(table.key, key, strict=True):
        yield _utc(part) if table.by_name[name].kind is Kind.INSTANT else part


def _utc(written: str) -> str:
    try:
        moment = datetime.fromisoformat(written)
    except ValueError:
        return written  # no moment: there is no such row, and that is said
    stored = moment.astimezone(UTC).replace(tzinfo=None) if moment.tzinfo else moment
    return str(stored).rstrip("0") if stored.microsecond else str(stored)
