"""What several commands do: bring the figures up to date, write a table."""

from pathlib import Path

import pyarrow as pa

from pipeline.measures import run
from pipeline.outputs import Places, write_table
from pipeline.store import Store
from pipeline.terminal import bar, warn
from pipeline.words import say, say_n


def refresh(store: Store) -> None:
    """Compute the sites that a load touched, with a bar."""
    with bar(say("cli.computing")) as (progress, task):
        run.refresh(store, lambda done, of: progress.update(task, completed=done, total=of))


def write_out(table: pa.Table, out: Path, places: Places | None = None) -> None:
    """Write a table by the ending of its file, and say how many rows it has."""
    write_table(table, out, places)
    warn(say_n("cli.wrote", table.num_rows, out=out))
