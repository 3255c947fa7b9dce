"""A farmers' wall sheet as data: the blocks with their letters, and each day's turns in their order.

Block letters are the sheet's own, by the order of the blocks' names: a valve's number on record would be
taken for the number of a turn.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from string import ascii_uppercase

from pipeline.scheduling.runs import Run

WEEK_DAYS = 7
Ring = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class SheetBlock:
    """One block: its name on record, its letter on the sheet, its outline.

    Attributes
    ----------
    block_id, letter
        On record, and on the sheet.
    outline
        Longitude and latitude [°] of its corners; None where no outline is on record.
    """

    block_id: str
    letter: str
    outline: Ring | None = None


@dataclass(frozen=True)
class Turn:
    """One block's valve open, once.

    Attributes
    ----------
    number
        Which in the day; valves that open together share it.
    block
        Its place among the sheet's blocks.
    start_min, end_min
        Local, from midnight. [min]
    met
        Share of the day's need that the run meets; None where neither water nor need is known. [-]
    """

    number: int
    block: int
    start_min: int
    end_min: int
    met: float | None


@dataclass(frozen=True)
class SheetDay:
    """A day's turns by their start, and the blocks that need water on it and get none."""

    day: date
    turns: tuple[Turn, ...]
    dry: tuple[int, ...] = ()


@dataclass(frozen=True)
class WallSheet:
    """One page.

    Attributes
    ----------
    site_id, site_name
        Where.
    days
        Seven, one after the other.
    blocks
        All of the site's, by name.
    language
        Its code.
    is_draft
        Whether no native speaker has read the language's words.
    repeats_until
        Of a standing sheet: the last day on which it holds.
    """

    site_id: str
    site_name: str
    days: tuple[SheetDay, ...]
    blocks: tuple[SheetBlock, ...]
    language: str
    is_draft: bool
    repeats_until: date | None = None

    @property
    def short(self) -> tuple[str, ...]:
        """Letters of blocks that get less than their need on a day."""
        fallen = {
            turn.block for day in self.days for turn in day.turns if turn.met is not None and turn.met < 1
        }
        fallen |= {block for day in self.days for block in day.dry}
        return tuple(self.blocks[k].letter for k in sorted(fallen))

    @property
    def without_turn(self) -> tuple[str, ...]:
        """Letters of blocks that have no turn in the week."""
        served = {turn.block for day in self.days for turn in day.turns}
        return tuple(block.letter for k, block in enumerate(self.blocks) if k not in served)


def lettered(outlines: Iterable[tuple[str, Ring | None]]) -> tuple[SheetBlock, ...]:
    """Return blocks with their letters: `2` comes before `10`."""
    ordered = sorted(outlines, key=lambda block: _natural(block[0]))
    return tuple(SheetBlock(name, _letter(k), outline) for k, (name, outline) in enumerate(ordered))


def _natural(name: str) -> tuple[list[tuple[int, str]], str]:
    parts = re.findall(r"[0-9]+|[^0-9]+", name)
    return [(int(part), "") if part.isdecimal() else (-1, part.casefold()) for part in parts], name


def _letter(k: int) -> str:
    """A … Z, then AA …: no two blocks share one."""
    more, last = divmod(k, len(ascii_uppercase))
    return (_letter(more - 1) if more else "") + ascii_uppercase[last]


def days_of(runs: Sequence[Run], blocks: Sequence[SheetBlock], first_day: date) -> tuple[SheetDay, ...]:
    """Return the seven days from a first one, with the turns that their runs make.

    Raises
    ------
    KeyError
        Where a run is of a block that is not among the blocks.
    """
    places = {block.block_id: k for k, block in enumerate(blocks)}
    by_day: dict[date, list[Run]] = {first_day + timedelta(days=k): [] for k in range(WEEK_DAYS)}
    for run in runs:
        if run.day in by_day:
            by_day[run.day].append(run)
    return tuple(_day(day, found, places) for day, found in by_day.items())


def _day(day: date, runs: Sequence[Run], places: dict[str, int]) -> SheetDay:
    watered = [
        (_minute(run.start_at), places[run.block_id], run)
        for run in runs
        if run.start_at is not None and run.run_min > 0
    ]
    met = {block: _met([run for _, of, run in watered if of == block]) for _, block, _ in watered}
    watered.sort(key=lambda found: found[:2])
    turns = [
        Turn(number, block, start, start + run.run_min, met[block])
        for number, (start, together) in enumerate(groupby(watered, key=lambda found: found[0]), start=1)
        for _, block, run in together
    ]
    served = {turn.block for turn in turns}
    dry = {places[run.block_id] for run in runs if run.short_mm > 0} - served
    return SheetDay(day, tuple(turns), tuple(sorted(dry)))


def _minute(moment: datetime) -> int:
    return moment.hour * 60 + moment.minute


def _met(runs: Sequence[Run]) -> float | None:
    """A block's depth on a day over what it needs: the depth and what is short of it."""
    depth_mm = sum(run.depth_mm for run in runs)
    needed_mm = depth_mm + sum(run.short_mm for run in runs)
    return depth_mm / needed_mm if needed_mm > 0 else None
