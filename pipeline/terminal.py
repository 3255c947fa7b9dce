"""What the commands print: sentences, grids and a bar, with nothing in them that a terminal would obey."""

import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from rich.console import Console
from rich.progress import (
    BarColumn,
    DownloadColumn,
    Progress,
    ProgressColumn,
    Task,
    TaskID,
    TextColumn,
    TimeRemainingColumn,
    TransferSpeedColumn,
)
from rich.table import Table as Grid
from rich.text import Text

from pipeline.words import say

errors = Console(stderr=True)
screen = Console()

KEPT = "\n\t"


def plain(text: object) -> str:
    r"""Return a text without control characters: one from a file could move the cursor or hide a line.

    Examples
    --------
    >>> plain("Site \x1b[2J1")
    'Site �[2J1'
    """
    return "".join(
        c if c in KEPT or unicodedata.category(c) not in {"Cc", "Cf", "Cs"} else "�" for c in str(text)
    )


def tell(text: object) -> None:
    """Print a sentence."""
    screen.print(plain(text), markup=False, highlight=False, soft_wrap=True)


def warn(text: object) -> None:
    """Print a sentence that isn't the answer: progress, an error."""
    errors.print(plain(text), markup=False, highlight=False, soft_wrap=True)


def tell_grid(headings: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
    """Print a table; numbers stand to the right, an unknown is a dash."""
    grid = Grid(box=None, pad_edge=False)
    numeric = [all(isinstance(row[k], int | None) for row in rows) for k in range(len(headings))]
    for heading, right in zip(headings, numeric, strict=True):
        grid.add_column(heading, justify="right" if right else "left", overflow="fold")
    for row in rows:
        grid.add_row(*(Text(_cell(value)) for value in row))
    screen.print(grid)


def _cell(value: object) -> str:
    return "–" if value is None else f"{value:,}" if isinstance(value, int) else plain(value)


class Speed(ProgressColumn):
    """Rows a second."""

    def render(self, task: Task) -> Text:
        """Return the speed so far."""
        return Text(say("cli.rows_a_second", speed=f"{task.speed:,.0f}") if task.speed else "")


@contextmanager
def bar(what: str, *, in_bytes: bool = False) -> Iterator[tuple[Progress, TaskID]]:
    """Show a bar with rows or bytes a second and the time left, where somebody watches."""
    count = (
        (DownloadColumn(), TransferSpeedColumn())
        if in_bytes
        else (TextColumn("{task.completed:,.0f}"), Speed())
    )
    columns = (
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        *count,
        TimeRemainingColumn(),
        TextColumn(say("cli.left")),
    )
    with Progress(*columns, console=errors, transient=True, disable=not errors.is_terminal) as progress:
        yield progress, progress.add_task(what, total=None)
