"""`sunrill schedule`: the farmers' week at one site."""

from datetime import date
from pathlib import Path
from typing import get_args

import click

from pipeline.commands.options import PATH, Day, store_option
from pipeline.commands.work import refresh, write_out
from pipeline.naming import site_of
from pipeline.outputs import check_target
from pipeline.scheduling import week_of
from pipeline.scheduling.standing import Standing
from pipeline.scheduling.table import as_table
from pipeline.store import open_store
from pipeline.terminal import tell
from pipeline.words import say


@click.command(help=say("cli.help_schedule"))
@store_option
@click.option("--site", required=True, help=say("cli.help_schedule_site"))
@click.option("--week", type=Day(), required=True, help=say("cli.help_schedule_week"))
@click.option("--standing", type=click.Choice(get_args(Standing)), help=say("cli.help_schedule_standing"))
@click.option("--out", type=PATH, required=True, help=say("cli.help_schedule_out"))
def schedule(folder: Path, site: str, week: date, standing: Standing | None, out: Path) -> None:
    """Write which valve is open when, and say how far the water goes."""
    store = open_store(folder)
    check_target(out)
    refresh(store)
    with store.read() as reader:
        found = week_of(reader, site_of(reader.connection, site), week, standing=standing)
    write_out(as_table([found]), out)
    for sentence in found.said:
        tell(sentence)
