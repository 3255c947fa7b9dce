"""Fields: what one picture shows, the plantings of the same blocks one after the other."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

Rows = list[dict[str, Any]]
Run = tuple[Any, date, date]

TIGHT_PX, LETTER_PX = 290, 6.5  # a chart on a phone; a letter's width


@dataclass(frozen=True)
class Group:
    """Plantings that no meter tells apart, or one with water of its own, and its rows by day and by week."""

    own_block: str | None
    crop: str
    planted_on: date
    blocks: tuple[str, ...]
    days: Rows
    weeks: Rows

    @property
    def span(self) -> tuple[date, date]:
        """Its first and last day on record."""
        return self.days[0]["day"], self.days[-1]["day"]


@dataclass(frozen=True)
class Field:
    """Groups on the same blocks that stand one after the other."""

    groups: tuple[Group, ...]

    @property
    def blocks(self) -> tuple[str, ...]:
        """The blocks."""
        return self.groups[0].blocks

    @property
    def crops(self) -> tuple[str, ...]:
        """What stood there, one after the other."""
        return tuple(group.crop for group in self.groups)

    @property
    def shares(self) -> bool:
        """Whether its water comes through a meter that other blocks have, too."""
        return self.groups[0].own_block is None

    @property
    def days(self) -> Rows:
        """The days of all its groups."""
        return [day for group in self.groups for day in group.days]


def fields(days: Rows, weeks: Rows) -> list[Field]:
    """Return the fields of groups by day and by week, those on shared water first; what stands beside is one more."""
    made: list[list[Group]] = []
    for group in _groups(days, weeks):
        free = next((field for field in made if _follows(field[-1], group)), None)
        if free is None:
            made.append([group])
        else:
            free.append(group)
    return [Field(tuple(groups)) for groups in made]


def _groups(days: Rows, weeks: Rows) -> list[Group]:
    by_week = _by_key(weeks)
    groups = [
        Group(
            own_block,
            crop,
            planted_on,
            tuple(rows[0]["blocks"]),
            rows,
            by_week.get((own_block, crop, planted_on), []),
        )
        for (own_block, crop, planted_on), rows in _by_key(days).items()
    ]
    return sorted(groups, key=lambda g: (g.own_block is not None, g.blocks, g.planted_on, g.crop))


def _by_key(rows: Rows) -> dict[tuple[str | None, str, date], Rows]:
    found: dict[tuple[str | None, str, date], Rows] = {}
    for row in rows:
        found.setdefault((row["own_block"], row["crop"], row["planted_on"]), []).append(row)
    return found


def _follows(last: Group, group: Group) -> bool:
    same = (last.own_block, last.blocks) == (group.own_block, group.blocks)
    return same and last.span[1] < group.span[0]


@dataclass(frozen=True)
class Label:
    """Where a group's name stands: on its first day, or so that it ends on its last; and how long it may be."""

    group: Group
    on: date
    ends: bool
    letters: int


def labels(groups: Sequence[Group], period: tuple[date, date]) -> Iterator[Label]:
    """Yield the names' places, in the room that a phone gives them: one too long for its days may reach back."""
    letter = timedelta(days=((period[1] - period[0]).days + 1) * LETTER_PX / TIGHT_PX)
    free = period[0]
    for group in groups:
        start, end = group.span[0], group.span[1] + timedelta(days=1)
        own, back = int((end - start) / letter), int((end - max(free, period[0])) / letter) - 1
        if own >= len(group.crop) or own >= back:
            made = Label(group, start, ends=False, letters=own)
        else:
            made = Label(group, end, ends=True, letters=back)
        free = start + min(own, len(group.crop)) * letter
        if made.letters > 1:
            yield made


def state(day: dict[str, Any]) -> str:
    """Return how a day's crop stood: `sure` or `possible` stress, `enough`, or `unknown` where the need is."""
    if day["raw_mm"] is None:
        return "unknown"
    if day["stress_sure_share"] >= 1:
        return "sure"
    return "possible" if day["stress_possible_share"] > 0 else "enough"


def silent(day: dict[str, Any]) -> bool:
    """Whether no meter, or no weather, tells what came on a day."""
    return day["irrigation_mm"] is None or day["rain_mm"] is None


def runs(days: Sequence[dict[str, Any]], of: Callable[[dict[str, Any]], Any]) -> Iterator[Run]:
    """Yield what a day is found to be, with the first and the last of the days for which it goes on."""
    start = None
    for day, after in zip(days, [*days[1:], None], strict=True):
        start = start or day["day"]
        if after is None or of(after) != of(day) or (after["day"] - day["day"]).days > 1:
            yield of(day), start, day["day"]
            start = None
