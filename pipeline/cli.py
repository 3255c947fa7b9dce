"""The command `sunrill`: thin; every command asks the pipeline and prints."""

import json
import signal
import socket
import subprocess
import sys
from dataclasses import fields
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any, get_args

import click
import pyarrow as pa

from pipeline import tiles
from pipeline.columns import help_lines
from pipeline.commands import wall_sheets
from pipeline.commands.harvest import harvest_command
from pipeline.commands.options import PATH, PORT, Day, Told, store_option
from pipeline.commands.schedule import schedule
from pipeline.commands.sprays import sprays
from pipeline.commands.work import refresh, write_out
from pipeline.config import Settings, setting
from pipeline.errors import SunrillError, UnknownName
from pipeline.intake.templates import write_templates
from pipeline.measures import evidence as evidence_of
from pipeline.measures import figures
from pipeline.measures.explained import FIELDS, explain
from pipeline.measures.indicators import BY_NAME
from pipeline.measures.results import create_empty_missing
from pipeline.naming import site_of
from pipeline.outputs import Places, check_file, check_target, write_table
from pipeline.store import (
    FATES,
    SHA_LETTERS,
    LoadReport,
    Reader,
    ReadOptions,
    Step,
    Store,
    check,
    history,
    open_store,
    rebuild,
    status,
    undo,
)
from pipeline.terminal import bar, tell, tell_grid, warn
from pipeline.visits import change_columns, ranking
from pipeline.visits import changes as changes_of
from pipeline.words import say, say_n

MOST_WAITS = 20  # rows that have not come, shown by `status`
MOST_CORRECTIONS = 20  # corrected cells, shown by a preview
LONGEST_CELL = 60  # letters of one of them


@click.group(cls=Told, help=say("cli.help_main"))
@click.version_option(package_name="sunrill")
def main() -> None:
    """Tell whether water reaches the fields, and where somebody must go."""


@main.command(help=say("cli.help_load"))
@store_option
@click.argument("paths", nargs=-1, required=True, type=PATH)
@click.option("--table", default="", help=say("cli.help_table"))
@click.option("--decimal", type=click.Choice(["point"]), default=None, help=say("cli.help_decimal"))
@click.option("--day-first", is_flag=True, help=say("cli.help_day_first"))
@click.option("--restore", is_flag=True, help=say("cli.help_restore"))
@click.option("--arrived-on", type=Day(), default=None, help=say("cli.help_arrived_on"))
@click.option("--report", type=PATH, help=say("cli.help_report"))
@click.option("--rejects", type=PATH, help=say("cli.help_rejects"))
@click.option("--corrections", type=PATH, help=say("cli.help_corrections"))
@click.option("--preview", is_flag=True, help=say("cli.help_preview"))
def load(
    folder: Path,
    paths: tuple[Path, ...],
    report: Path | None,
    rejects: Path | None,
    corrections: Path | None,
    **said: Any,
) -> None:
    """Take files or folders in, and compute the figures that they touch."""
    store = open_store(folder, create=True)
    if report:
        check_file(report)
    for target in filter(None, (rejects, corrections)):
        check_target(target)
    arrived = said["arrived_on"]
    options = ReadOptions(said["table"], said["decimal"] or "", said["day_first"])
    missing = [path for path in paths if not path.exists()]
    for path in missing:
        warn(UnknownName(say("store.no_such_path"), where=str(path), mend=say("store.no_such_path_mend")))
    if len(missing) == len(paths):
        sys.exit(1)
    done = _load(
        store,
        [path for path in paths if path not in missing],
        options,
        datetime.combine(arrived, time(12), UTC) if arrived else None,
        restore=said["restore"],
        preview=said["preview"],
    )
    _print_report(done, paths, preview=said["preview"])
    if report:
        report.write_text(json.dumps(done.as_json(), indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    if rejects:
        rows = list(done.reject_rows())
        write_table(rows or REJECTS.empty_table(), rejects)
    if corrections:
        write_table(list(done.correction_rows()) or CORRECTIONS.empty_table(), corrections)
    if said["preview"]:
        tell(say("cli.preview_only"))
    else:
        refresh(store)
    if done.unreadable or missing:
        sys.exit(1)


def _load(
    store: Store,
    paths: list[Path],
    options: ReadOptions,
    arrived_at: datetime | None,
    *,
    restore: bool = False,
    preview: bool = False,
) -> LoadReport:
    with bar(say("cli.reading")) as (progress, task):

        def show(step: Step) -> None:
            progress.update(task, description=step.name, completed=step.rows, total=step.of_rows or None)

        work = store.preview if preview else store.load
        return work(paths, options, restore=restore, arrived_at=arrived_at, progress=show)


REJECTS = pa.schema(  # of a load without any
    [
        ("file", pa.string()), ("sheet", pa.string()), ("line", pa.int64()), ("column", pa.string()),
        ("value", pa.string()), ("fate", pa.string()), ("rule", pa.string()), ("how_to_mend", pa.string()),
    ]
)  # fmt: skip


CORRECTIONS = pa.schema(
    [
        (name, pa.int64() if name.endswith("line") else pa.string())
        for name in (
            "file", "sheet", "line", "table", "key", "column", "old", "new", "old_file", "old_sheet", "old_line"
        )
    ]
)  # fmt: skip


def _print_report(done: LoadReport, paths: tuple[Path, ...], *, preview: bool) -> None:
    counts = ("rows", *FATES, "flaws")
    lines = [
        (f"{f.file} · {f.sheet}" if f.sheet else f.file, *(getattr(f, name) for name in counts))
        for f in done.files
    ]
    if lines:
        tell_grid([say(f"cli.{name}") for name in ("file", *counts)], lines)
    elif not done.unreadable:
        warn(say("cli.no_files", paths=", ".join(map(str, paths))))
    for table, count in done.released.items():
        tell(say_n("cli.would_be_released" if preview else "cli.released", count, table=table))
    if preview:
        _print_corrections(done)
    for fault in (*done.notes, *done.unreadable):
        warn(fault.sentences())
    if any(line.rejected or line.flaws for line in done.files):
        tell(say("cli.see_rejects_first" if preview else "cli.see_rejects"))
    if any(line.held for line in done.files):
        tell(say("cli.see_waits"))


def _print_corrections(done: LoadReport) -> None:
    """The first corrected cells, before and after."""
    shown = done.corrections[:MOST_CORRECTIONS]
    for cell in shown:
        place = f"({cell.file}, {cell.line} ← {cell.old_file}, {cell.old_line})"
        tell(f"{cell.table} {cell.key}  {cell.column}  {_short(cell.old)} → {_short(cell.new)}  {place}")
    more = len(done.corrections) - len(shown)
    if more:
        tell(say_n("cli.more_corrections", more))
    if done.corrections_untold:
        tell(say_n("cli.corrections_untold", done.corrections_untold))


def _short(text: str | None) -> str:
    """A shape may be longer than a screen; an empty cell is a dash."""
    return "–" if text is None else f"{text[:LONGEST_CELL]} …" if len(text) > LONGEST_CELL else text


def _period(reader: Reader, from_day: date | None, to_day: date | None) -> tuple[date, date]:
    """The days asked for; empty: the whole of what is known."""
    known = _known_days(reader)
    first, last = from_day or known[0], to_day or known[1]
    if first is None or last is None:
        raise SunrillError(say("cli.no_days"), mend=say("cli.no_days_mend"))
    return first, last


def _known_days(reader: Reader) -> tuple[date | None, date | None]:
    create_empty_missing(reader.connection)
    row = reader.connection.execute("SELECT min(day), max(day) FROM site_days").fetchone()
    return row or (None, None)


def _tell_unknown_days(reader: Reader, from_day: date, to_day: date) -> None:
    """A year typed wrong gives a table of nothing, and a period that goes on past the data a low coverage."""
    first, last = _known_days(reader)
    if first is None or last is None:
        warn(say("cli.no_days_yet"))
    elif from_day < first or to_day > last:
        warn(say("cli.known_days", first=first, last=last))


def _places(reader: Reader, group: figures.Group = "site") -> Places | None:
    """Where a group's rows lie; None where they lie nowhere."""
    if group == "site":
        rows = reader.connection.execute("SELECT site_id, ST_AsGeoJSON(geom) FROM sites").fetchall()
        return Places("site_id", {name: json.loads(shape) for name, shape in rows})
    if group == "district":
        rows = reader.connection.execute("SELECT district, ST_AsGeoJSON(geometry) FROM districts").fetchall()
        return Places("district", {name: json.loads(shape) for name, shape in rows})
    return None


@main.command(help=say("cli.help_indicators"))
@store_option
@click.option("--from", "from_day", type=Day(), required=True, help=say("cli.help_from"))
@click.option("--to", "to_day", type=Day(), required=True, help=say("cli.help_to"))
@click.option("--by", type=click.Choice(["month"]), help=say("cli.help_by"))
@click.option(
    "--group",
    type=click.Choice(get_args(figures.Group)),
    default="site",
    show_default=True,
    help=say("cli.help_group"),
)
@click.option("--out", type=PATH, required=True, help=say("cli.help_out_places"))
def indicators(
    folder: Path, from_day: date, to_day: date, by: str | None, group: figures.Group, out: Path
) -> None:
    """Write the figures of a period, costs with their currency."""
    store = open_store(folder)
    check_target(out, places=group in {"site", "district"})
    refresh(store)
    with store.read() as reader:
        found = figures.indicators(reader, from_day, to_day, by_month=by == "month", group=group)
        currency = pa.array([reader.settings.currency] * found.num_rows, pa.string())
        write_out(found.append_column("currency", currency), out, _places(reader, group))
        _tell_unknown_days(reader, from_day, to_day)


@main.command(help=say("cli.help_visits"))
@store_option
@click.option("--as-of", type=Day(), required=True, help=say("cli.help_as_of"))
@click.option("--known", is_flag=True, help=say("cli.help_known"))
@click.option("--out", type=PATH, required=True, help=say("cli.help_out_places"))
def visits(folder: Path, as_of: date, known: bool, out: Path) -> None:  # noqa: FBT001 - a flag
    """Rank the sites by what a visit now is worth."""
    store = open_store(folder)
    check_target(out, places=True)
    refresh(store)
    with store.read() as reader:
        places = _places(reader)  # before the look back, which knows no geometry of a later day
        found = ranking.visits(reader, as_of, known=known)
        write_out(found, out, places)
    if not found.num_rows:
        warn(say("cli.nothing_to_rank", day=as_of))


@main.command(help=say("cli.help_changes"), epilog=help_lines(change_columns.COLUMNS))
@store_option
@click.option("--since", type=Day(), required=True, help=say("cli.help_since"))
@click.option("--to", "to_day", type=Day(), required=True, help=say("cli.help_changes_to"))
@click.option("--out", type=PATH, required=True, help=say("cli.help_out_places"))
def changes(folder: Path, since: date, to_day: date, out: Path) -> None:
    """Write what changed at each site between two days."""
    changes_of.check_days(since, to_day)
    store = open_store(folder)
    check_target(out, places=True)
    refresh(store)
    with store.read() as reader:
        before, now = (_seen(store, reader, day) for day in (since, to_day))
        found = change_columns.as_table(changes_of.changes(before, now, reader.settings))
        write_out(found, out, _places(reader))
        _tell_unknown_days(reader, since, to_day)
    if not found.num_rows:
        warn(say("cli.nothing_to_compare"))


def _seen(store: Store, reader: Reader, day: date) -> changes_of.Day:
    """A day of a version that is held: its ranking looks back in a connection of its own."""
    figures_then = figures.indicators(reader, *changes_of.window(day)).to_pylist()
    with store.read(number=reader.manifest.number) as then:
        return changes_of.Day(day, ranking.judged(then, day), figures_then)


@main.command(help=say("cli.help_evidence"))
@store_option
@click.argument("site")
@click.option("--from", "from_day", type=Day(), help=say("cli.help_from_all"))
@click.option("--to", "to_day", type=Day(), help=say("cli.help_to_all"))
@click.option("--out", type=PATH, help=say("cli.help_evidence_out"))
def evidence(folder: Path, site: str, from_day: date | None, to_day: date | None, out: Path | None) -> None:
    """Print each meter interval of a site, or write them."""
    store = open_store(folder)
    if out:
        check_target(out, places=True)
    refresh(store)
    with store.read() as reader:
        site_id = site_of(reader.connection, site)
        days = _period(reader, from_day, to_day)
        found = evidence_of.evidence(reader, site_id, *days)
        if out:
            everywhere = pa.array([site_id] * found.num_rows, pa.string())
            write_out(found.add_column(0, "site_id", everywhere), out, _places(reader))
            return
    for r in found.to_pylist():
        unit = "m³" if r["quantity"] == "water" else "kWh"
        amount = "–" if r["amount"] is None else f"{r['amount']:,.1f} {unit}"
        reason = f"  {r['reason']}" if r["reason"] else ""
        place = f"  ({r['to_file']}, {r['to_line']})" if r["to_file"] else ""
        tell(
            f"{r['meter_id']}  {r['from_at']} → {r['to_at'] or '–'}  {amount}  {r['verdict']}{reason}{place}"
        )
    if not found.num_rows:
        tell(say("cli.no_intervals", site=site_id, from_day=days[0], to_day=days[1]))


@main.command(name="explain", help=say("cli.help_explain"))
@store_option
@click.argument("figure", required=False)
def explain_figure(folder: Path, figure: str | None) -> None:
    """Print what a figure is and how it is made, with the settings in force; without one, all names."""
    found = open_store(folder).manifest()
    settings = found.settings if found else Settings()
    if figure is None:
        tell_grid(
            [say("cli.figure"), say("cli.label")],
            [(name, explain(name, settings).label) for name in BY_NAME],
        )
        return
    told = explain(figure, settings)
    row = told.as_row()
    tell(f"{told.label} ({told.name}) {told.unit}".rstrip(" –"))
    tell(told.definition)
    for field in FIELDS:
        tell(say("cli.field", name=say(f"explained.field_{field}"), text=row[field]))


@main.command(help=say("cli.help_templates"))
@click.option("--out", type=PATH, required=True, help=say("cli.help_templates_out"))
def templates(out: Path) -> None:
    """Write empty sheets for the field, one a table."""
    warn(say_n("cli.wrote_templates", len(write_templates(out)), out=out))


@main.command(name="history", help=say("cli.help_history"))
@store_option
@click.argument("table")
@click.argument("key", nargs=-1, required=True)
def show_history(folder: Path, table: str, key: tuple[str, ...]) -> None:
    """Show each version of a row and where it came from. KEY: its parts in order; times in UTC."""
    with open_store(folder).read() as reader:
        found = history(reader, table, key)
    if not found:
        tell(say("cli.no_version"))
    for version in found:
        cells = ", ".join(f"{k}={v}" for k, v in version.items() if v is not None)
        tell(cells)


@main.command(name="undo", help=say("cli.help_undo"))
@store_option
@click.argument("file")
@click.option("--why", required=True, help=say("cli.help_why"))
def take_back(folder: Path, file: str, why: str) -> None:
    """Take a file's load back, as if it had never come. FILE: its name, or its SHA-256."""
    store = open_store(folder)
    with bar(say("cli.replaying")) as (progress, task):
        count = undo(store, file, why, watch=lambda done, of: progress.update(task, completed=done, total=of))
    tell(say_n("cli.taken_back", count, file=file))
    refresh(store)


@main.command(name="rebuild", help=say("cli.help_rebuild"))
@store_option
def build_anew(folder: Path) -> None:
    """Make the store anew from the archived files and the ledger alone."""
    store = Store(folder)
    with bar(say("cli.replaying")) as (progress, task):
        count = rebuild(store, watch=lambda done, of: progress.update(task, completed=done, total=of))
    tell(say_n("cli.rebuilt", count))
    refresh(store)


@main.command(name="check", help=say("cli.help_check"))
@store_option
def read_through(folder: Path) -> None:
    """Read everything in the store, and say what is damaged."""
    found = check(open_store(folder))
    for sentence in found or [say("cli.sound")]:
        tell(sentence)
    if found:
        sys.exit(1)


@main.command(name="status", help=say("cli.help_status"))
@store_option
@click.option("--files", is_flag=True, help=say("cli.help_files"))
def show_status(folder: Path, files: bool) -> None:  # noqa: FBT001 - a flag
    """Say what is in the store, from when to when, and how fresh each district's data are."""
    with open_store(folder).read() as reader:
        tables = status.tables(reader)
        if not tables:
            tell(say("cli.nothing_loaded"))
        _print_rows([vars(t) for t in tables])
        waits = status.waits(reader)
        _print_rows(waits[:MOST_WAITS])
        if len(waits) > MOST_WAITS:
            tell(say_n("cli.more_waits", len(waits) - MOST_WAITS))
        _print_rows(status.freshness(reader))
        for place in status.misplaced(reader):
            key = "cli.outside" if place["found"] is None else "cli.elsewhere"
            tell(say(key, **place))
        if files:
            shortly = [
                row | {"loaded_at": f"{row['loaded_at']:%Y-%m-%d %H:%M}", "sha": row["sha"][:SHA_LETTERS]}
                for row in status.files(reader)
            ]
            _print_rows(shortly)


def _print_rows(rows: list[dict[str, Any]]) -> None:
    if rows:
        tell_grid([say(f"cli.{name}") for name in rows[0]], [tuple(row.values()) for row in rows])


@main.command(help=say("cli.help_settings"))
@store_option
@click.argument("name", required=False)
@click.argument("value", required=False)
def settings(folder: Path, name: str | None, value: str | None) -> None:
    """List the programme's settings, or set one."""
    store = open_store(folder, create=True)
    if name and value is not None:
        loaded = store.manifest()
        store.change_setting(name, value)
        if name == "timezone" and loaded and loaded.parts:
            warn(say("cli.earlier_times_keep_their_clock", before=loaded.settings.timezone))
        refresh(store)
        return
    found = store.manifest()
    now = found.settings if found else Settings()
    for of in [setting(name)] if name else fields(Settings):
        tell(f"{of.name} = {now.text_of(of.name)} {of.metadata['unit']}  {of.metadata['meaning']}")


@main.command(help=say("cli.help_demo"))
@store_option
@click.option("--sites", type=click.IntRange(1), default=60, show_default=True, help=say("cli.help_sites"))
@click.option("--days", type=click.IntRange(1), default=549, show_default=True, help=say("cli.help_days"))
@click.option("--seed", default=1, show_default=True, help=say("cli.help_seed"))
@click.option("--paper-only", is_flag=True, help=say("cli.help_paper_only"))
@click.option("--no-dashboard", is_flag=True, help=say("cli.help_no_dashboard"))
@click.option("--port", type=PORT, default=8501, show_default=True, help=say("cli.help_port"))
def demo(folder: Path, no_dashboard: bool, port: int, **said: Any) -> None:  # noqa: FBT001 - a flag
    """Lay an invented programme into a store, compute everything, and open the dashboard."""
    store, files = open_store(folder, create=True), folder / "demo"
    if store.manifest() is None:
        _simulate(files, said)
        store.change_setting("timezone", "Africa/Blantyre")
    elif not files.exists():
        warn(say("cli.demo_is_there", folder=folder))
    for delivery in _deliveries_to_come(store, files / "deliveries"):
        moment = datetime.combine(date.fromisoformat(delivery.name), time(12), UTC)
        done = _load(store, [delivery], ReadOptions(), moment)
        rows = sum(line.rows for line in done.files)
        warn(say("cli.delivery", day=delivery.name, files=len(done.files), rows=f"{rows:,}"))
    refresh(store)
    if not no_dashboard:
        _serve(folder, port, open_browser=True)


def _simulate(files: Path, said: dict[str, Any]) -> None:
    """Write the demo programme's files in a process of its own: the pipeline knows nothing of it."""
    warn(say("cli.simulating"))
    command = [sys.executable, "-m", "data_demo", "--out", str(files)]
    for name in ("sites", "days", "seed"):
        command += [f"--{name}", str(said[name])]
    made = subprocess.run(command + (["--paper-only"] if said["paper_only"] else []), check=False)  # noqa: S603 - our own module
    if made.returncode:
        raise SunrillError(say("cli.demo_failed"), where=str(files), mend=say("cli.demo_failed_mend"))


def _deliveries_to_come(store: Store, folder: Path) -> list[Path]:
    """The demo's deliveries that were not loaded yet: a kill may have come between two."""
    if not folder.exists():
        return []
    with store.read() as reader:
        days = reader.connection.execute("SELECT DISTINCT arrived_at::DATE::VARCHAR FROM loads").fetchall()
    loaded = {day for (day,) in days}
    return sorted(path for path in folder.iterdir() if path.name not in loaded)


@main.command(help=say("cli.help_dashboard"))
@store_option
@click.option("--port", type=PORT, default=8501, show_default=True, help=say("cli.help_port"))
@click.option("--no-browser", is_flag=True, help=say("cli.help_no_browser"))
@click.option("--basemap", type=PATH, help=say("cli.help_dashboard_basemap"))
def dashboard(folder: Path, port: int, no_browser: bool, basemap: Path | None) -> None:  # noqa: FBT001 - a flag
    """Serve the dashboard on this machine; what another edition of Sunrill computed is made anew first."""
    store = Store(folder)
    found = store.manifest()
    if found and found.is_of_another_edition:
        refresh(store)
    _serve(folder, port, open_browser=not no_browser, basemap=basemap)


@main.command(help=say("cli.help_basemap"))
@store_option
@click.argument("file", required=False, type=PATH)
@click.option("--remove", is_flag=True, help=say("cli.help_basemap_remove"))
def basemap(folder: Path, file: Path | None, remove: bool) -> None:  # noqa: FBT001 - a flag
    """Keep a background map with the store, drop it, or say which one is there."""
    if file and remove:
        raise click.UsageError(say("cli.basemap_or_remove"))
    if remove:
        tell(say("cli.basemap_removed" if tiles.remove(folder) else "cli.basemap_none"))
        return
    if file:
        with bar(say("cli.copying"), in_bytes=True) as (progress, task):
            tiles.keep(file, folder, lambda done, of: progress.update(task, completed=done, total=of))
    there = tiles.kept(folder)
    tell(_told(tiles.open_tiles(there)) if there else say("cli.basemap_none"))


def _told(found: tiles.TileFile) -> str:
    """What a background map covers, and whose work it is."""
    lines = [say("cli.basemap_kept", path=found.path, first=found.min_zoom, last=found.max_zoom)]
    if found.bounds:
        west, south, east, north = found.bounds
        lines.append(say("cli.basemap_bounds", west=west, south=south, east=east, north=north))
    if found.attribution:
        lines.append(say("tiles.attribution", text=found.attribution))
    return "\n".join(lines)


def _serve(folder: Path, port: int, *, open_browser: bool, basemap: Path | None = None) -> None:
    """Run the dashboard as a process of its own: the pipeline knows nothing of it."""
    if _is_taken(port):
        raise SunrillError(say("cli.port_taken", port=port), mend=say("cli.port_taken_mend", store=folder))
    command = [sys.executable, "-m", "dashboard.serve", "--store", str(folder.resolve()), "--port", str(port)]
    command += ["--basemap", str(basemap.resolve())] if basemap else []
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # who ends this ends the dashboard
    try:
        done = subprocess.run(command + ([] if open_browser else ["--no-browser"]), check=False)  # noqa: S603 - our own module
        sys.exit(done.returncode)
    except KeyboardInterrupt:
        sys.exit(0)


def _is_taken(port: int) -> bool:
    """Whether somebody answers there already."""
    with socket.socket() as caller:
        caller.settimeout(1)
        return caller.connect_ex(("127.0.0.1", port)) == 0


main.add_command(harvest_command)
main.add_command(sprays)
main.add_command(schedule)
main.add_command(wall_sheets.command)


if __name__ == "__main__":
    main()
