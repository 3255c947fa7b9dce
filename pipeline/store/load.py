"""The load: every row of every file gets one of five fates, and nothing is lost.

Parents go before their children, whatever the order of the files; rows that waited are taken before
the new rows of their table.
"""

import json
import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Any

from pipeline.errors import FileFault, SunrillError
from pipeline.intake import ReadOptions, Sheet, Upload, read_file, type_sheet
from pipeline.store import corrections, fates, flaws, parts, settle
from pipeline.store import known as known_file
from pipeline.store.report import FATES, LoadReport, RowFault, SheetReport
from pipeline.store.session import Session
from pipeline.tables import TABLES, Table

READ_AT_ONCE = min(4, os.cpu_count() or 1)
HELD_BYTES = 500_000_000  # of the cells of a load's files, while they wait for their turn
NO_SHEET = 0  # sources are numbered from 1
KEPT_FAULTS = 5_000  # of one sheet in the store; the rejects file has them all


@dataclass(frozen=True)
class Arrival:
    """A file of a load: its archived bytes, its name and its digest."""

    upload: Upload
    sha: str


@dataclass(frozen=True)
class Step:
    """How far a load has come; `of_rows` is 0 until every file was read."""

    name: str
    rows: int
    of_rows: int


Progress = Callable[[Step], None]


def nobody_watches(_step: Step) -> None:
    """Show nothing."""


def load_into(
    session: Session,
    arrivals: Iterable[Arrival],
    options: ReadOptions,
    *,
    restore: bool = False,
    progress: Progress = nobody_watches,
) -> LoadReport:
    """Take files into a session.

    Parameters
    ----------
    session : Session
        With its load number, the moment of arrival and the day that counts as today.
    arrivals : iterable of Arrival
        In the order in which they count.
    options : ReadOptions
        What the user says about the files.
    restore : bool
        Take rows that equal an earlier version than the one in force.

    Returns
    -------
    LoadReport
        Its five fates sum to the rows of each sheet.
    """
    report = LoadReport(session.load_no)
    read = list(arrivals)
    sheets = _sheets(session, read, options, report, restore=restore, progress=progress)
    done, total = 0, sum(sheet.rows for _, sheet in sheets)
    for table in TABLES.values():
        _release(session, table, report)
        for arrival, sheet in sheets:
            if sheet.table is table:
                progress(Step(sheet.file, done, total))
                _take(session, arrival, sheet, options, report, restore=restore)
                done += sheet.rows
    for arrival, sheet in sheets:
        if sheet.table is None:
            _take(session, arrival, sheet, options, report, restore=restore)
    named = {(s.file, s.sheet): i for i, (_, s) in enumerate(sheets)}
    report.files.sort(key=lambda line: named.get((line.file, line.sheet), -1))
    return report


def _sheets(
    session: Session,
    arrivals: list[Arrival],
    options: ReadOptions,
    report: LoadReport,
    *,
    restore: bool,
    progress: Progress,
) -> list[tuple[Arrival, Sheet]]:
    """Every sheet that is not known byte for byte; files that can't be read are told of.

    Cells beyond `HELD_BYTES` are let go, and read again when their turn comes.
    """
    anew = []
    for arrival in arrivals:
        known = [] if restore else _loaded_before(session, arrival, options)
        report.files += known
        if known:
            report.notes += known_file.note(
                session.connection, arrival.upload.name, arrival.sha, _options_text(options)
            )
        else:
            anew.append(arrival)
    found, held = [], 0
    for arrival, reading in _read_ahead(anew, options):
        progress(Step(arrival.upload.name, 0, 0))
        try:
            sheets = reading.result()
        except FileFault as error:
            report.unreadable.append(error.fault)
            continue
        for sheet in sheets:
            held += sheet.cells.nbytes
            found.append((arrival, sheet if held <= HELD_BYTES else _without_cells(sheet)))
    return found


def _read_ahead(
    arrivals: list[Arrival], options: ReadOptions
) -> Iterator[tuple[Arrival, Future[list[Sheet]]]]:
    """Read a few files side by side, for a workbook's child takes its time to start; they count in order."""
    waiting: deque[tuple[Arrival, Future[list[Sheet]]]] = deque()
    with ThreadPoolExecutor(READ_AT_ONCE) as pool:
        for arrival in arrivals:
            waiting.append((arrival, pool.submit(read_file, arrival.upload, options)))
            if len(waiting) > READ_AT_ONCE:
                yield waiting.popleft()
        while waiting:
            yield waiting.popleft()


def _without_cells(sheet: Sheet) -> Sheet:
    return replace(sheet, cells=sheet.cells.schema.empty_table())


def _with_cells(arrival: Arrival, sheet: Sheet, options: ReadOptions) -> Sheet:
    if sheet.cells.num_rows == sheet.rows:
        return sheet
    return next(again for again in read_file(arrival.upload, options) if again.sheet == sheet.sheet)


def _options_text(options: ReadOptions) -> str:
    return json.dumps(options.as_record(), sort_keys=True)


def _loaded_before(session: Session, arrival: Arrival, options: ReadOptions) -> list[SheetReport]:
    """The lines of a file that was loaded before, byte for byte and read the same way."""
    rows = session.connection.execute(
        """SELECT DISTINCT sheet, table_name, row_count FROM sources
           WHERE sha = ? AND options = ? AND file = ? ORDER BY ALL""",
        [arrival.sha, _options_text(options), arrival.upload.name],
    ).fetchall()
    if not rows:  # another name for the same bytes is the same file, where it is of the same table
        rows = _under_another_name(session, arrival, options)
    return [
        SheetReport(arrival.upload.name, sheet, table, count, unchanged=count) for sheet, table, count in rows
    ]


def _under_another_name(session: Session, arrival: Arrival, options: ReadOptions) -> list[Any]:
    rows = session.connection.execute(
        """SELECT DISTINCT sheet, table_name, row_count FROM sources
           WHERE sha = ? AND options = ? ORDER BY ALL""",
        [arrival.sha, _options_text(options)],
    ).fetchall()
    if not rows:
        return []
    try:
        sheets = read_file(arrival.upload, options)
    except SunrillError:
        return []
    now = sorted((s.sheet, s.table.name if s.table else "", s.rows) for s in sheets)
    return rows if now == sorted(rows) else []


def _source(session: Session, arrival: Arrival, sheet: Sheet, options: ReadOptions) -> int:
    (number,) = session.connection.execute(
        "SELECT coalesce(max(source_id), 0) + 1 FROM sources"
    ).fetchone() or (1,)
    session.connection.execute(
        "INSERT INTO sources VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        [
            number,
            session.load_no,
            arrival.sha,
            sheet.file,
            sheet.sheet,
            sheet.table.name if sheet.table else "",
            _options_text(options),
            sheet.rows,
        ],
    )
    return int(number)


def _take(
    session: Session,
    arrival: Arrival,
    sheet: Sheet,
    options: ReadOptions,
    report: LoadReport,
    *,
    restore: bool,
) -> None:
    """Give every row of a sheet its fate."""
    connection = session.connection
    connection.execute("USE memory")  # the sheet's own tables are temporary
    type_sheet(_with_cells(arrival, sheet, options), connection, options, today=session.today)
    connection.execute("USE store")
    line = SheetReport(sheet.file, sheet.sheet, sheet.table.name if sheet.table else "", sheet.rows)
    source = _source(session, arrival, sheet, options)
    (line.rejected,) = connection.execute("SELECT count(*) FROM typed WHERE _rejected").fetchone() or (0,)
    if sheet.table is not None and line.rejected < sheet.rows:
        connection.execute(f"""
            CREATE OR REPLACE TEMP TABLE arrivals AS
            SELECT * EXCLUDE (_row, _rejected), {source} AS _source, {session.load_no} AS _load, _row AS _arrival
            FROM typed WHERE NOT _rejected""")
        settle.resolve_sites(connection, sheet.table)
        line.held, line.unchanged = settle.hold(connection, sheet.table)
        _count(line, _meet(session, sheet.table, restore=restore))
        corrections.tell(connection, sheet.table, report)
        _look_across(session, sheet.table, report, source)
    _keep_faults(session, source, sheet, line, report)
    fated = sum(getattr(line, fate) for fate in FATES)
    if fated != line.rows:
        raise AssertionError(f"{line.file}: {line.rows} rows came in and {fated} have a fate")
    report.files.append(line)


def _count(line: SheetReport, counts: dict[str, int]) -> None:
    line.taken += counts.get("taken", 0)
    line.corrected += counts.get("corrected", 0)
    line.unchanged += counts.get("unchanged", 0) + counts.get("earlier", 0)


def _release(session: Session, table: Table, report: LoadReport) -> None:
    """Take the rows that waited for a parent which has come."""
    if not table.parents:
        return
    count = settle.release(session.connection, table)
    if count:
        _meet(session, table, restore=False)
        corrections.tell(session.connection, table, report)
        flaws.look(session.connection, table)
        _tell_of_earlier_files(session, report, NO_SHEET)
        report.released[table.name] = report.released.get(table.name, 0) + count


def _meet(session: Session, table: Table, *, restore: bool) -> dict[str, int]:
    """Settle the arrivals and meet them with what is stored; return the count of each fate."""
    connection = session.connection
    settle.settle(connection, table, session.settings.timezone)
    if table.parted:
        _number_meters(session, table)
        places = parts.bring(connection, session.folder, table, session.parts)
        fates.meet(connection, table, places, session.load_no, restore=restore)
        session.parts = parts.put_back(
            connection, session.folder, table, session.parts, _slice_sql(session, table)
        )
    else:
        places = fates.Places(f'"{table.name}"', f'"{table.name}_past"')
        fates.meet(connection, table, places, session.load_no, restore=restore)
    if table.name == "sites":
        _number_sites(session)
    _mark_dirty(session, table)
    return dict(connection.execute("SELECT fate, count(*) FROM fates GROUP BY fate").fetchall())


def _number_sites(session: Session) -> None:
    """Give new sites the next numbers: slices of sites grow, and none is ever dealt anew."""
    session.connection.execute("""
        INSERT INTO site_numbers
        SELECT site_id, (SELECT coalesce(max(site_no), 0) FROM site_numbers) + row_number() OVER (ORDER BY site_id)
        FROM sites ANTI JOIN site_numbers USING (site_id)""")


def _number_meters(session: Session, table: Table) -> None:
    """Keep a meter's readings in the slice where its site was at first, should the meter move."""
    if table.name != "meter_readings":
        return
    session.connection.execute(f"""
        INSERT INTO meter_slices
        SELECT m.meter_id, (n.site_no - 1) // {session.settings.slice_sites}
        FROM meters m JOIN site_numbers n USING (site_id) ANTI JOIN meter_slices k ON k.meter_id = m.meter_id""")


def _slice_sql(session: Session, table: Table) -> tuple[str, str]:
    if table.name == "meter_readings":
        return "k.slice_no", "JOIN meter_slices k ON k.meter_id = r.meter_id"
    return (
        f"(n.site_no - 1) // {session.settings.slice_sites}",
        "JOIN site_numbers n ON n.site_id = r.site_id",
    )


NO_FIGURE = frozenset(
    [
        "districts",
        "roads",
        "bases",
        "crews",
        "crew_absences",
        "stock",
        "part_needs",
        "agreements",
        "agreement_sites",
        "targets",
        "forecasts",
        "decisions",
        "contacts",
        "hazards",
        "site_aliases",
    ]
)  # tables that no site's stored results are made from


def _mark_dirty(session: Session, table: Table) -> None:
    """Note the sites whose figures the sheet changes."""
    if table.name in NO_FIGURE:
        return
    changed = "(SELECT s.* FROM settled s JOIN fates USING (_arrival) WHERE fate IN ('taken', 'corrected'))"
    if table.name == "meter_readings":
        sites = f"SELECT site_id FROM {changed} JOIN meters USING (meter_id)"
    elif "site_id" in table.by_name:
        sites = f"SELECT site_id FROM {changed}"
        if not table.parted:  # a correction may have moved the row from another site
            moved = f'SELECT site_id FROM "{table.name}_past" WHERE _until_load = {session.load_no}'
            sites = f"{sites} UNION {moved}"
        if (
            table.name == "sites"
        ):  # a station without an elevation takes the nearest site's: any site's weather
            sites = f"{sites} UNION {_lent_elevations(changed)}"
    else:
        sites = f"SELECT site_id FROM sites WHERE EXISTS (SELECT 1 FROM {changed})"
    session.connection.execute(
        f"INSERT OR IGNORE INTO dirty SELECT DISTINCT site_id FROM ({sites}) WHERE site_id IS NOT NULL"
    )


def _lent_elevations(changed: str) -> str:
    """SQL of every site, where a site has changed and a station takes its elevation from one."""
    return f"""SELECT site_id FROM sites
        WHERE EXISTS (SELECT 1 FROM {changed})
          AND EXISTS (SELECT 1 FROM weather GROUP BY station_id HAVING count(elevation_m) = 0)"""


def _look_across(session: Session, table: Table, report: LoadReport, source: int) -> None:
    """Note what other rows and tables show of a sheet's rows, and of rows that came before it."""
    flaws.look(session.connection, table)
    stored = [p for p in session.parts if p.table == "meter_readings"]
    if table.name == "meters" and stored:
        flaws.look_at_readings(session.connection, parts.source(session.folder, stored), session.load_no)
    session.connection.execute(
        """INSERT INTO faults SELECT _line, _line, "column", value, rule, fate FROM crossed
           WHERE _source = ?""",
        [source],
    )
    _tell_of_earlier_files(session, report, source)


def _tell_of_earlier_files(session: Session, report: LoadReport, source: int) -> None:
    """Report what `crossed` holds of other files than a sheet's own."""
    found = session.connection.execute(
        """SELECT s.file, s.sheet, s.table_name, _line, "column", value, rule, fate
           FROM crossed JOIN sources s ON s.source_id = _source WHERE _source <> ?
           ORDER BY _source, _line, "column" """,
        [source],
    ).fetchall()
    report.faults += [RowFault(*row) for row in found]
    session.connection.execute(
        """INSERT INTO kept_faults SELECT _source, _line, "column", value, rule, fate FROM crossed
           WHERE _source <> ? ORDER BY _source, _line LIMIT ?""",
        [source, KEPT_FAULTS],
    )


def _keep_faults(session: Session, source: int, sheet: Sheet, line: SheetReport, report: LoadReport) -> None:
    found = session.connection.execute(
        'SELECT line, "column", value, rule, fate FROM faults ORDER BY line NULLS FIRST, "column"'
    ).fetchall()
    table = sheet.table.name if sheet.table else ""
    report.faults += [RowFault(sheet.file, sheet.sheet, table, *row) for row in found]
    line.flaws = sum(1 for row in found if row[-1] == "flaw")
    session.connection.execute(
        f"""INSERT INTO kept_faults SELECT {source}, line, "column", value, rule, fate FROM faults
            ORDER BY line LIMIT {KEPT_FAULTS}"""
    )
