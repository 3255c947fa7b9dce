"""The command `sunrill`: thin; every command asks the pipeline and prints."""

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any, get_args

import click
from rich.console import Console
from rich.progress import BarColumn, Progress, ProgressColumn, Task, TaskID, TextColumn, TimeRemainingColumn
from rich.table import Table as Grid
from rich.text import Text

from pipeline.config import Settings
from pipeline.errors import SunrillError
from pipeline.intake.templates import write_templates
from pipeline.measures import evidence as evidence_of
from pipeline.measures import figures, run
from pipeline.outputs import write_table
from pipeline.store import (
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
from pipeline.visits import ranking
from pipeline.words import say, say_n

console = Console(stderr=True)
screen = Console()


class Day(click.ParamType[date]):
    """A day as an option: ISO 8601."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Return the day, or say how to write one."""
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(value)
        except ValueError:
            self.fail(say("cli.not_a_day", value=value), param, ctx)


class Told(click.Group):
    """A group whose commands tell an error in its own words, without a trace."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; an error that the user can act on ends it with 1."""
        try:
            return super().invoke(ctx)
        except SunrillError as error:
            console.print(str(error), markup=False, highlight=False)
            ctx.exit(1)


PATH = click.Path(path_type=Path)
store_option = click.option(
    "--store",
    "folder",
    type=PATH,
    default=Path("store"),
    envvar="SUNRILL_STORE",
    show_default=True,
    help="Folder of the store.",
)


class Speed(ProgressColumn):
    """Rows a second."""

    def render(self, task: Task) -> Text:
        """Return the speed so far."""
        return Text(say("cli.rows_a_second", speed=f"{task.speed:,.0f}") if task.speed else "")


@contextmanager
def bar(what: str) -> Iterator[tuple[Progress, TaskID]]:
    """Show a bar with rows a second and the time left, where somebody watches."""
    columns = (
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TextColumn("{task.completed:,.0f}"),
        Speed(),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as progress:
        yield progress, progress.add_task(what, total=None)


@click.group(cls=Told)
@click.version_option(package_name="sunrill")
def main() -> None:
    """Tell whether water reaches the fields, and where somebody must go."""


@main.command()
@store_option
@click.argument("paths", nargs=-1, required=True, type=PATH)
@click.option("--table", default="", help="The table that the files are of, where their names don't say it.")
@click.option("--decimal", type=click.Choice(["point"]), default=None, help="A semicolon file writes 12.5.")
@click.option("--day-first", is_flag=True, help="Dates are written day first: 31/03/2026.")
@click.option("--restore", is_flag=True, help="Take rows that repeat a value from before a correction.")
@click.option(
    "--arrived-on", type=Day(), default=None, help="The day on which the files came, if it was not today."
)
@click.option("--report", type=PATH, help="Write the fates as JSON.")
@click.option("--rejects", type=PATH, help="Write rejected rows and flaws: CSV, XLSX or Parquet.")
def load(
    folder: Path, paths: tuple[Path, ...], report: Path | None, rejects: Path | None, **said: Any
) -> None:
    """Take files or folders in, and compute the figures that they touch."""
    store = open_store(folder, create=True)
    arrived = said["arrived_on"]
    options = ReadOptions(said["table"], said["decimal"] or "", said["day_first"])
    done = _load(
        store,
        list(paths),
        options,
        datetime.combine(arrived, time(12), UTC) if arrived else None,
        restore=said["restore"],
    )
    _print_report(done)
    if report:
        report.write_text(json.dumps(done.as_json(), indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    if rejects:
        write_table(list(done.reject_rows()), rejects)
    _refresh(store)
    if done.unreadable:
        sys.exit(1)


def _load(
    store: Store,
    paths: list[Path],
    options: ReadOptions,
    arrived_at: datetime | None,
    *,
    restore: bool = False,
) -> LoadReport:
    with bar(say("cli.reading")) as (progress, task):

        def show(step: Step) -> None:
            progress.update(task, description=step.name, completed=step.rows, total=step.of_rows or None)

        return store.load(paths, options, restore=restore, arrived_at=arrived_at, progress=show)


def _refresh(store: Store) -> None:
    with bar(say("cli.computing")) as (progress, task):
        run.refresh(store, lambda done, of: progress.update(task, completed=done, total=of))


FATES = ("taken", "unchanged", "corrected", "held", "rejected")


def _print_report(done: LoadReport) -> None:
    grid = Grid(box=None, pad_edge=False)
    grid.add_column(say("cli.file"), overflow="fold")
    for name in ("rows", *FATES, "flaws"):
        grid.add_column(say(f"cli.{name}"), justify="right")
    for line in done.files:
        label = f"{line.file} · {line.sheet}" if line.sheet else line.file
        grid.add_row(Text(label), *(f"{getattr(line, name):,}" for name in ("rows", *FATES, "flaws")))
    if done.files:
        screen.print(grid)
    for table, count in done.released.items():
        screen.print(say_n("cli.released", count, table=table), markup=False)
    for fault in done.unreadable:
        console.print(fault.sentences(), markup=False, highlight=False)
    if any(line.rejected or line.flaws for line in done.files):
        screen.print(say("cli.see_rejects"), markup=False)


def _period(reader: Reader, from_day: date | None, to_day: date | None) -> tuple[date, date]:
    """The days asked for; empty: the whole of what is known."""
    row = reader.connection.execute("SELECT min(day), max(day) FROM site_days").fetchone() or (None, None)
    first, last = from_day or row[0], to_day or row[1]
    if first is None or last is None:
        raise SunrillError(say("cli.no_days"), mend=say("cli.no_days_mend"))
    return first, last


def _write(records: list[dict[str, Any]], out: Path, reader: Reader) -> None:
    places = reader.connection.execute("SELECT site_id, longitude, latitude FROM sites").fetchall()
    write_table(records, out, {site: (x, y) for site, x, y in places})
    console.print(say_n("cli.wrote", len(records), out=out), markup=False)


@main.command()
@store_option
@click.option("--from", "from_day", type=Day(), required=True, help="First local day.")
@click.option("--to", "to_day", type=Day(), required=True, help="Last local day, included.")
@click.option("--by", type=click.Choice(["month"]), help="A row for each month.")
@click.option("--group", type=click.Choice(get_args(figures.Group)), default="site", show_default=True)
@click.option("--out", type=PATH, required=True, help="CSV, XLSX, Parquet, GeoJSON or GeoPackage.")
def indicators(
    folder: Path, from_day: date, to_day: date, by: str | None, group: figures.Group, out: Path
) -> None:
    """Write the figures of a period."""
    store = open_store(folder)
    _refresh(store)
    with store.read() as reader:
        found = figures.indicators(reader, from_day, to_day, by_month=by == "month", group=group)
        _write(found.to_pylist(), out, reader)


@main.command()
@store_option
@click.option("--as-of", type=Day(), required=True, help="Nothing later exists for the ranking.")
@click.option("--known", is_flag=True, help="Leave out what arrived later, too.")
@click.option("--out", type=PATH, required=True, help="CSV, XLSX, Parquet, GeoJSON or GeoPackage.")
def visits(folder: Path, as_of: date, known: bool, out: Path) -> None:  # noqa: FBT001 - a flag
    """Rank the sites by what a visit now is worth."""
    store = open_store(folder)
    _refresh(store)
    with store.read() as reader:
        _write(ranking.visits(reader, as_of, known=known).to_pylist(), out, reader)


@main.command()
@store_option
@click.argument("site")
@click.option("--from", "from_day", type=Day(), help="First local day; empty: all.")
@click.option("--to", "to_day", type=Day(), help="Last local day, included; empty: all.")
@click.option("--out", type=PATH, help="Write it as a table instead of printing it.")
def evidence(folder: Path, site: str, from_day: date | None, to_day: date | None, out: Path | None) -> None:
    """Print each meter interval of a site with its verdict, its reason and where its readings stand."""
    store = open_store(folder)
    _refresh(store)
    with store.read() as reader:
        records = evidence_of.evidence(reader, site, *_period(reader, from_day, to_day)).to_pylist()
        if out:
            _write(records, out, reader)
            return
    for r in records:
        amount = "–" if r["amount"] is None else f"{r['amount']:,.1f}"
        reason = f"  {r['reason']}" if r["reason"] else ""
        where = f"  ({r['to_file']}, {r['to_line']})" if r["to_file"] else ""
        screen.print(f"{r['meter_id']}  {r['from_at']} → {r['to_at'] or '…'}  {amount}  {r['verdict']}{reason}{where}", markup=False, highlight=False, soft_wrap=True)  # fmt: skip


@main.command()
@click.option("--out", type=PATH, required=True, help="Folder for the workbooks.")
def templates(out: Path) -> None:
    """Write empty sheets for the field, one a table."""
    console.print(say_n("cli.wrote_templates", len(write_templates(out)), out=out), markup=False)


@main.command(name="history")
@store_option
@click.argument("table")
@click.argument("key", nargs=-1, required=True)
def show_history(folder: Path, table: str, key: tuple[str, ...]) -> None:
    """Show each version of a row and where it came from. KEY: its parts in order; times in UTC."""
    with open_store(folder).read() as reader:
        found = history(reader, table, key)
    if not found:
        screen.print(say("cli.no_version"), markup=False)
    for version in found:
        cells = ", ".join(f"{k}={v}" for k, v in version.items() if v is not None)
        screen.print(cells, markup=False, highlight=False, soft_wrap=True)


@main.command(name="undo")
@store_option
@click.argument("file")
@click.option("--why", required=True, help="The reason; it stays on record.")
def take_back(folder: Path, file: str, why: str) -> None:
    """Take a file's load back, as if it had never come. FILE: its name, or its SHA-256."""
    store = open_store(folder)
    with bar(say("cli.replaying")) as (progress, task):
        count = undo(store, file, why, watch=lambda done, of: progress.update(task, completed=done, total=of))
    screen.print(say_n("cli.taken_back", count, file=file), markup=False)
    _refresh(store)


@main.command(name="rebuild")
@store_option
def build_anew(folder: Path) -> None:
    """Make the store anew from the archived files and the ledger alone."""
    store = Store(folder)
    with bar(say("cli.replaying")) as (progress, task):
        count = rebuild(store, watch=lambda done, of: progress.update(task, completed=done, total=of))
    screen.print(say_n("cli.rebuilt", count), markup=False)
    _refresh(store)


@main.command(name="check")
@store_option
def read_through(folder: Path) -> None:
    """Read everything in the store, and say what is damaged."""
    found = check(open_store(folder))
    for sentence in found or [say("cli.sound")]:
        screen.print(sentence, markup=False, highlight=False)
    if found:
        sys.exit(1)


@main.command(name="status")
@store_option
@click.option("--files", is_flag=True, help="List the files that were loaded, too.")
def show_status(folder: Path, files: bool) -> None:  # noqa: FBT001 - a flag
    """Say what is in the store, from when to when, and how fresh each district's data are."""
    with open_store(folder).read() as reader:
        _print_rows([vars(t) for t in status.tables(reader)])
        _print_rows(status.freshness(reader))
        for place in status.misplaced(reader):
            key = "cli.outside" if place["found"] is None else "cli.elsewhere"
            screen.print(say(key, **place), markup=False)
        if files:
            _print_rows(status.files(reader))


def _print_rows(rows: list[dict[str, Any]]) -> None:
    grid = Grid(box=None, pad_edge=False)
    for name in rows[0] if rows else ():
        grid.add_column(say(f"cli.{name}"))
    for row in rows:
        grid.add_row(
            *(Text("–" if v is None else f"{v:,}" if isinstance(v, int) else str(v)) for v in row.values())
        )
    screen.print(grid)


@main.command()
@store_option
@click.argument("name", required=False)
@click.argument("value", required=False)
def settings(folder: Path, name: str | None, value: str | None) -> None:
    """List the programme's settings, or set one."""
    store = open_store(folder, create=True)
    if name and value is not None:
        store.change_setting(name, value)
        _refresh(store)
        return
    found = store.manifest()
    now = (found.settings if found else Settings()).as_parameters()
    for field in Settings.__dataclass_fields__.values():
        if name in (None, field.name):
            screen.print(f"{field.name} = {now[field.name]} {field.metadata['unit']}  {field.metadata['meaning']}", markup=False, highlight=False)  # fmt: skip


@main.command()
@store_option
@click.option("--sites", default=60, show_default=True)
@click.option("--days", default=549, show_default=True)
@click.option("--seed", default=1, show_default=True)
@click.option(
    "--paper-only", is_flag=True, help="What most offices have: no logs, no outlines, few block meters."
)
@click.option("--no-dashboard", is_flag=True, help="Stop before the dashboard opens.")
@click.option("--port", default=8501, show_default=True)
def demo(folder: Path, no_dashboard: bool, port: int, **said: Any) -> None:  # noqa: FBT001 - a flag
    """Lay an invented programme into a store, compute everything, and open the dashboard."""
    store = open_store(folder, create=True)
    if store.manifest() is None:
        files = folder / "demo"
        command = [sys.executable, "-m", "data_demo", "--out", str(files), "--sites", str(said["sites"]), "--days", str(said["days"]), "--seed", str(said["seed"])]  # fmt: skip
        console.print(say("cli.simulating"), markup=False)
        subprocess.run(command + (["--paper-only"] if said["paper_only"] else []), check=True)  # noqa: S603 - our own module
        store.change_setting("timezone", "Africa/Blantyre")
        for delivery in sorted((files / "deliveries").iterdir()):
            moment = datetime.combine(date.fromisoformat(delivery.name), time(12), UTC)
            done = _load(store, [delivery], ReadOptions(), moment)
            rows = sum(line.rows for line in done.files)
            console.print(
                say("cli.delivery", day=delivery.name, files=len(done.files), rows=f"{rows:,}"), markup=False
            )
    else:
        console.print(say("cli.demo_is_there", folder=folder), markup=False)
    _refresh(store)
    if not no_dashboard:
        _serve(folder, port, open_browser=True)


@main.command()
@store_option
@click.option("--port", default=8501, show_default=True)
@click.option("--no-browser", is_flag=True, help="Serve, and open no browser.")
def dashboard(folder: Path, port: int, no_browser: bool) -> None:  # noqa: FBT001 - a flag
    """Serve the dashboard on this machine."""
    _serve(folder, port, open_browser=not no_browser)


def _serve(folder: Path, port: int, *, open_browser: bool) -> None:
    """Run the dashboard as a process of its own: the pipeline knows nothing of it."""
    command = [sys.executable, "-m", "dashboard.serve", "--store", str(folder.resolve()), "--port", str(port)]
    done = subprocess.run(command + ([] if open_browser else ["--no-browser"]), check=False)  # noqa: S603 - our own module
    sys.exit(done.returncode)


if __name__ == "__main__":
    main()
