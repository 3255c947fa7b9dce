"""What to say of a file that comes a second time: it changes nothing, but its rejected rows want mending."""

from duckdb import DuckDBPyConnection

from pipeline.errors import Fault
from pipeline.store.report import RowFault
from pipeline.tables import TABLES
from pipeline.words import say, say_n

RULES_TOLD = 3  # of the rejected rows, one example each


def note(connection: DuckDBPyConnection, file: str, sha: str, options: str) -> list[Fault]:
    """Return what became of a known file's rows, where some were not taken; nothing where all were.

    Parameters
    ----------
    file : str
        The name under which it comes now.
    options : str
        As they stand with the store's sources.
    """
    sources = connection.execute(
        """SELECT source_id, s.sheet, table_name, row_count, strftime(l.arrived_at, '%Y-%m-%d')
           FROM sources s JOIN loads l USING (load_no) WHERE sha = ? AND options = ?
           QUALIFY rank() OVER (ORDER BY load_no) = 1 ORDER BY source_id""",
        [sha, options],
    ).fetchall()
    found = [
        _of_sheet(connection, file, *source[:-1], day=source[-1])  # the first load told of its flaws, too
        for source in sources
    ]
    return [fault for fault in found if fault is not None]


def _of_sheet(
    connection: DuckDBPyConnection, file: str, source: int, sheet: str, table: str, rows: int, *, day: str
) -> Fault | None:
    rejected = _rejected(connection, source)
    waiting = _waiting(connection, source, table)
    if not rejected and not waiting:
        return None
    why, mend = [], []
    if rejected:
        why.append(say_n("store.known_rejected", rejected, rows=rows))
        for fault in _examples(connection, source, file, sheet, table):
            why.append(f"{fault.where}: {fault.what} {fault.why}")
            mend.append(fault.mend)
        mend.append(say("store.known_rejected_mend"))
    if waiting:
        why.append(say_n("store.known_waiting", waiting))
        mend.append(say("store.known_waiting_mend"))
    where = f"{file}, {sheet}" if sheet else file
    return Fault(say("store.known", day=day), where, " ".join(why), " ".join(dict.fromkeys(mend)))


def _rejected(connection: DuckDBPyConnection, source: int) -> int:
    (count,) = connection.execute(
        "SELECT count(DISTINCT line) FROM kept_faults WHERE source_id = ? AND fate = 'rejected'", [source]
    ).fetchone() or (0,)
    return int(count)


def _waiting(connection: DuckDBPyConnection, source: int, table: str) -> int:
    if table not in TABLES:
        return 0
    (count,) = connection.execute(
        f'SELECT count(*) FROM "{table}_held" WHERE _source = ?', [source]
    ).fetchone() or (0,)
    return int(count)


def _examples(connection: DuckDBPyConnection, source: int, file: str, sheet: str, table: str) -> list[Fault]:
    """The first row that broke each rule."""
    found = connection.execute(
        """SELECT line, "column", value, rule, fate FROM kept_faults
           WHERE source_id = ? AND fate = 'rejected'
           QUALIFY row_number() OVER (PARTITION BY rule ORDER BY line, "column") = 1
           ORDER BY line, "column" LIMIT ?""",
        [source, RULES_TOLD],
    ).fetchall()
    return [RowFault(file, sheet, table, *row).words() for row in found]
