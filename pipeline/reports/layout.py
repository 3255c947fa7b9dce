"""Where the turns stand on the page: bands of the day, and how tall a turn's card may be."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.reports.wall_sheet import SheetDay

# our own hours, by the clock: the sun is low before, high between and low after
MIDDAY_MIN, AFTERNOON_MIN = 11 * 60, 14 * 60
BANDS = ("morning", "midday", "afternoon")
WHOLE_DAY = "day"
TABLE_MM, DRY_ROW_MM = 105.0, 9.0
LEAST_BAND_MM = 13.0  # a sun and its word
CARD_MM = (6.6, 25.0)  # smallest that a letter can be read in, and tallest that is of use
PADDING_MM = 0.8  # below the last card of a band
STEP_MM = 0.1
CLOCK_MIN = (6 * 60, 18 * 60)  # a clock bar's ends, where no run lies outside


@dataclass(frozen=True)
class Band:
    """A row of the week: a part of the day and its height [mm]."""

    name: str
    height_mm: float


@dataclass(frozen=True)
class Layout:
    """Bands from the top, and the height of each turn's card in them [mm]."""

    bands: tuple[Band, ...]
    card_mm: float


def band_of(start_min: int) -> str:
    """Return the part of the day in which a run begins."""
    return BANDS[(start_min >= MIDDAY_MIN) + (start_min >= AFTERNOON_MIN)]


def layout_of(days: Sequence[SheetDay]) -> Layout | None:
    """Return the tallest layout that fits on the page.

    Morning, midday and afternoon have a row each; where their cards would be too small, the day is one row.
    None: even so there are too many turns.
    """
    room = TABLE_MM - (DRY_ROW_MM if any(day.dry for day in days) else 0)
    by_band = [Counter(band_of(turn.start_min) for turn in day.turns) for day in days]
    most = {name: max(counts[name] for counts in by_band) for name in BANDS}
    longest = {WHOLE_DAY: max(len(day.turns) for day in days)}
    return _fitted(most, room) or _fitted(longest, room)


def _fitted(cards: dict[str, int], room_mm: float) -> Layout | None:
    least, tallest = CARD_MM
    steps = round((tallest - least) / STEP_MM)
    for step in range(steps, -1, -1):
        card = round(least + step * STEP_MM, 2)
        heights = [max(n * card + PADDING_MM, LEAST_BAND_MM) for n in cards.values()]
        spare = room_mm - sum(heights)
        if spare >= 0:
            shares = [spare * n / max(sum(cards.values()), 1) for n in cards.values()]
            bands = zip(cards, heights, shares, strict=True)
            return Layout(tuple(Band(name, round(high + share, 2)) for name, high, share in bands), card)
    return None


def clock_of(days: Sequence[SheetDay]) -> tuple[int, int]:
    """Return the ends of every clock bar, in whole hours [min]."""
    starts = [turn.start_min for day in days for turn in day.turns]
    ends = [turn.end_min for day in days for turn in day.turns]
    return min([CLOCK_MIN[0], *(s // 60 * 60 for s in starts)]), max(
        [CLOCK_MIN[1], *(-(-e // 60) * 60 for e in ends)]
    )
