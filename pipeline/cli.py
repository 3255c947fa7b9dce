"""The command `sunrill`: thin; every command asks the pipeline and prints."""

import json
import subprocess
import sys
import webbrowser
from collections.abc import Callable
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn, TimeRemainingColumn
from rich.table import Table as Grid

from pipeline.errors import SunrillError
from pipeline.intake.templates import write_templates
from pipeline.measures import evidence as evidence_of
from pipeline.measures import figures, run
from pipeline.outputs import write_table
from pipeline.store import (
    LoadReport,
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


class Day(click.ParamType):
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


def store_option(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the option --store."""
    return click.option(
        "--store",
        "folder",
        type=click.Path(path_type=Path),
        default=Path("store"),
        envvar="SUNRILL_STORE",
        show_default=True,
        help="Folder of the programme's store.",
    )(command)


class Told(click.Group):
    """A group whose commands tell an error in its own words, without a trace."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; an error that the user can act on ends it with 1."""
        try:
            return super().invoke(ctx)
        except SunrillError as error:
            console.print(str(error), style="bold", markup=False, highlight=False)
            ctx.exit(1)


@click.group(cls=Told)
@click.version_option(package_name="sunrill")
def main() -> None:
    """Sunrill: does water reach the fields, and where must somebody go?"""


@main.command()
@store_option
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--table", default="", help="The table that the files are of, where their names don't say it.")
@click.option("--decimal", type=click.Choice(["point"]), default=None, help="A semicolon file writes 12.5.")
@click.option("--day-first", is_flag=True, help="Dates are written day first: 31/03/2026.")
@click.option("--restore", is_flag=True, help="Take rows that repeat a value from before a correction.")
@click.option(
    "--arrived-on", type=Day(), default=None, help="The day on which the files came, if it was not today."
)
@click.option("--report", type=click.Path(path_type=Path), help="Write the fates as JSON.")
@click.option(
    "--rejects", type=click.Path(path_type=Path), help="Write rejected rows and flaws: CSV, XLSX or Parquet."
)
@click.option(
    "--figures/--no-figures", default=True, show_default=True, help="Compute the touched sites' figures."
)
def load(  # noqa: PLR0917 - one parameter an option
    folder: Path,
    paths: tuple[Path, ...],
    table: str,
    decimal: str | None,
    day_first: bool,  # noqa: FBT001 - click passes flags so
    restore: bool,  # noqa: FBT001
    arrived_on: date | None,
    report: Path | None,
    rejects: Path | None,
    figures: bool,  # noqa: FBT001
) -> None:
    """Take files or folders in."""
    store = open_store(folder, create=True)
    arrived_at = datetime.combine(arrived_on, time(12), UTC) if arrived_on else None
    options = ReadOptions(table, decimal or "", day_first)
    with _bar(say("cli.loading")) as (bar, task):

        def show(step: Step) -> None:
            bar.update(task, completed=step.rows, total=step.of_rows or None, description=step.name)

        done = store.load(list(paths), options, restore=restore, arrived_at=arrived_at, progress=show)
    _print_report(done)
    if report:
        report.write_text(json.dumps(done.as_json(), indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    if rejects:
        write_table(list(done.reject_rows()), rejects)
    if figures:
        _refresh(store)
    if done.unreadable:
        sys.exit(1)


class _bar:  # noqa: N801 - used as a context, like a function
    """A progress bar with rows a second and the time left; silent where nobody watches."""

    def __init__(self, what: str) -> None:
        self.progress = Progress(
            TextColumn("{task.description}", markup=False),
            BarColumn(),
            TextColumn("{task.completed:,.0f}"),
            TextColumn("{task.speed:,.0f}/s", justify="right") if False else _Speed(),  # noqa: SIM210
            TimeElapsedColumn(),
            TimeRemainingColumn(),
            console=console,
            transient=True,
            disable=not console.is_terminal,
        )
        self.what = what

    def __enter__(self) -> tuple[Progress, Any]:
        self.progress.start()
        return self.progress, self.progress.add_task(self.what, total=None)

    def __exit__(self, *_: object) -> None:
        self.progress.stop()
