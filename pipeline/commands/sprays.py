"""`sunrill sprays`: how sprays and laterals stand, a row a block."""

from datetime import date
from pathlib import Path

import click

from pipeline.columns import help_lines
from pipeline.commands.options import PATH, Day, store_option
from pipeline.commands.work import refresh, write_out
from pipeline.errors import SunrillError
from pipeline.measures.spray_columns import COLUMNS, as_table
from pipeline.measures.sprays import block_sprays, last_known_day
from pipeline.outputs import check_target
from pipeline.store import open_store
from pipeline.terminal import warn
from pipeline.words import say


@click.command(name="sprays", help=say("cli.help_sprays"), epilog=help_lines(COLUMNS))
@store_option
@click.option("--as-of", type=Day(), default=None, help=say("cli.help_sprays_as_of"))
@click.option("--out", type=PATH, required=True, help=say("cli.help_sprays_out"))
def sprays(folder: Path, as_of: date | None, out: Path) -> None:
    """Write what the laterals of each block need, and what shows it."""
    store = open_store(folder)
    check_target(out)
    refresh(store)
    with store.read() as reader:
        day = as_of or last_known_day(reader)
        if day is None:
            raise SunrillError(say("cli.no_days"), mend=say("cli.no_days_mend"))
        found = as_table(block_sprays(reader, day))
        write_out(found, out)
    if not found.num_rows:
        warn(say("cli.no_blocks", day=day))
