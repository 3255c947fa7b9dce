"""`sunrill harvest`: what plantings gave against the water that they got."""

from datetime import date
from pathlib import Path
from typing import get_args

import click
import pyarrow as pa

from pipeline.columns import help_lines
from pipeline.commands.options import PATH, Day, store_option
from pipeline.commands.work import refresh, write_out
from pipeline.measures.harvest import By, harvest
from pipeline.measures.harvest_columns import GROUP_COLUMNS, PLANTING_COLUMNS
from pipeline.outputs import check_target
from pipeline.store import open_store
from pipeline.terminal import warn
from pipeline.words import say


def _columns() -> str:
    """A line for each column of a planting, then of a group."""
    return "\n\n".join(
        help_lines(columns, say(f"cli.harvest_by_{by}"))
        for by, columns in (("planting", PLANTING_COLUMNS), ("group", GROUP_COLUMNS))
    )


@click.command(name="harvest", help=say("cli.help_harvest"), epilog=_columns())
@store_option
@click.option("--from", "from_day", type=Day(), required=True, help=say("cli.help_from"))
@click.option("--to", "to_day", type=Day(), required=True, help=say("cli.help_to"))
@click.option(
    "--by", type=click.Choice(get_args(By)), default="planting", show_default=True, help=say("cli.help_harvest_by")
)  # fmt: skip
@click.option("--out", type=PATH, required=True, help=say("cli.help_harvest_out"))
def harvest_command(folder: Path, from_day: date, to_day: date, by: By, out: Path) -> None:
    """Write harvests, money with its currency."""
    store = open_store(folder)
    check_target(out)
    refresh(store)
    with store.read() as reader:
        found = harvest(reader, from_day, to_day, by=by)
        currency = pa.array([reader.settings.currency] * found.num_rows, pa.string())
        write_out(found.append_column("currency", currency), out)
    if not found.num_rows:
        warn(say("cli.no_harvest", start=from_day, end=to_day))
