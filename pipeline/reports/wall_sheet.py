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
ENOUGH = 0.95  # of a week's need; our own choice: what lacks above it no farmer sees in the field
DRY_MM = 0.5  # on a day without a turn; less is made up by what the soil holds
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
        Local, from midnight. Where the schedule leaves time to walk to the next valve, the turn lasts until
        that one opens: a pump must not stand against closed valves. [min]
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
    """A day.

    Attributes
    ----------
    day
        Local.
    turns
        By their start.
    given_mm, short_mm
        What each of the sheet's blocks gets, and what of its need can't be met. [mm]
    """

    day: date
    turns: tuple[Turn, ...]
    given_mm: tuple[float, ...]
    short_mm: tuple[float, ...]

    @property
    def dry(self) -> tuple[int, ...]:
        """The places of blocks that need water on the day and get none."""
        served = {turn.block for turn in self.turns}
        return tuple(k for k, mm in enumerate(self.short_mm) if mm >= DRY_MM and k not in served)


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
    unknown
        Ids of the blocks whose need nobody knows on any of the days.
    """

    site_id: str
    site_name: str
    days: tuple[SheetDay, ...]
    blocks: tuple[SheetBlock, ...]
    language: str
    is_draft: bool
    repeats_until: date | None = None
    unknown: tuple[str, ...] = ()

    @property
    def last_day(self) -> date:
        """The last on which the sheet holds: a standing one's days come again each week until then."""
        return self.repeats_until or self.days[-1].day

    @property
    def unknown_need(self) -> tuple[str, ...]:
        """Letters of the blocks whose need nobody knows: no turn of theirs means nothing."""
        return tuple(block.letter for block in self.blocks if block.block_id in self.unknown)

    @property
    def short(self) -> tuple[str, ...]:
        """Letters of blocks of whose need in the week a share is left that shows."""
        return tuple(block.letter for k, block in enumerate(self.blocks) if not self._has_enough(k))

    def _has_enough(self, block: int) -> bool:
        given_mm = sum(day.given_mm[block] for day in self.days)
        short_mm = sum(day.short_mm[block] for day in self.days)
        return given_mm >= ENOUGH * (given_mm + short_mm)

    @property
    def without_turn(self) -> tuple[str, ...]:
        """Letters of blocks that have no turn in the week and, as far as is known, need none or go short."""
        served = {turn.block for day in self.days for turn in day.turns}
        return tuple(
            block.letter
            for k, block in enumerate(self.blocks)
            if k not in served and block.block_id not in self.unknown
        )


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


def days_of(
    runs: Sequence[Run], blocks: Sequence[SheetBlock], first_day: date, changeover_min: int
) -> tuple[SheetDay, ...]:
    """Return the seven days from a first one, with the turns that their runs make.

    Parameters
    ----------
    runs, blocks, first_day
        What is scheduled, on which valves, from when.
    changeover_min
        What the schedule leaves to open the next valve and close the last. [min]

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
    return tuple(_day(day, found, places, changeover_min) for day, found in by_day.items())


def _day(day: date, runs: Sequence[Run], places: dict[str, int], changeover_min: int) -> SheetDay:
    watered = [
        (_minute(run.start_at), places[run.block_id], run)
        for run in runs
        if run.start_at is not None and run.run_min > 0
    ]
    watered.sort(key=lambda found: found[:2])
    given_mm, short_mm = [0.0] * len(places), [0.0] * len(places)
    for run in runs:
        given_mm[places[run.block_id]] += run.depth_mm
        short_mm[places[run.block_id]] += run.short_mm
    starts = [start for start, _, _ in watered]
    turns = [
        Turn(
            number,
            block,
            start,
            _end(start + run.run_min, starts, changeover_min),
            _met(given_mm[block], short_mm[block]),
        )
        for number, (start, together) in enumerate(groupby(watered, key=lambda found: found[0]), start=1)
        for _, block, run in together
    ]
    return SheetDay(day, tuple(turns), tuple(given_mm), tuple(short_mm))


def _minute(moment: datetime) -> int:
    return moment.hour * 60 + moment.minute


def _end(end_min: int, starts: Sequence[int], changeover_min: int) -> int:
    """The end of a run, or the start of the next where only the changeover lies between."""
    return min((start for start in starts if 0 <= start - end_min <= changeover_min), default=end_min)


def _met(given_mm: float, short_mm: float) -> float | None:
    """What a block is given on a day, over all its turns, of what it needs."""
    needed_mm = given_mm + short_mm
    return given_mm / needed_mm if needed_mm > 0 else None
