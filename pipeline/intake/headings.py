"""Which table a sheet is of, and which of its rows is the heading."""

from collections.abc import Iterable, Sequence
from pathlib import PurePath

from pipeline.errors import UnknownName
from pipeline.tables import TABLES, Table, tables_named
from pipeline.words import say

HEADING_WITHIN = 60  # rows: title rows, logos and addresses stand above it


def table_of(file: str, sheet: str, wanted: str) -> Table | None:
    """Return the table that the user, the sheet or the file names; None where nobody does.

    Raises
    ------
    UnknownName
        Where the user named a table that the contract doesn't have.
    """
    if wanted:
        if wanted not in TABLES:
            raise UnknownName(
                say("intake.no_such_table", table=wanted),
                where=file,
                mend=say("intake.tables_are", names=", ".join(TABLES)),
            )
        return TABLES[wanted]
    for name in (sheet, PurePath(file).name):
        found = next(tables_named(name), None)
        if found is not None:
            return found
    return None


def known_cells(cells: Iterable[str], table: Table) -> int:
    """Count the cells that are column names of the table."""
    return len({cell.strip() for cell in cells} & table.by_name.keys())


def heading_position(rows: Sequence[Sequence[str]], table: Table) -> int | None:
    """Return the position of the row with the most column names; None where no row has any.

    A title may hold one column's name by chance (`Alias`), so the fullest row counts, not the first.
    """
    scores = [known_cells(row, table) for row in rows[:HEADING_WITHIN]]
    best = max(scores, default=0)
    return scores.index(best) if best else None
