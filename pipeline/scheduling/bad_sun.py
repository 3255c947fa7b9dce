"""The trial of a bad day: the farmers follow the sheet, and on some days only a part of the water comes.

Each turn goes on until its block has had the row's water; where the day ends first, the block that was
cut short begins on the next. The turns keep their order, so that whoever was last is first.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from pipeline.scheduling.inputs import DAY_MIN, SiteInput, Turn
from pipeline.scheduling.water import EPSILON_M3, Pump, Water, evening_before

BAD_SHARE = 1.0 / 3.0  # of a day's water
GRACE_SHARE = 0.1  # of a block's week: turns are of unlike length


@dataclass(frozen=True)
class Losses:
    """What each block was to get and missed over the week, and its largest day [m³]."""

    planned_m3: tuple[float, ...]
    lost_m3: tuple[float, ...]
    largest_day_m3: tuple[float, ...]

    @property
    def share(self) -> float:
        """Lost of the whole [-]."""
        total = sum(self.planned_m3)
        return sum(self.lost_m3) / total if total > 0 else 0.0

    @property
    def starved(self) -> tuple[int, ...]:
        """Blocks that lost more than their share and a day's turn, by a tenth of their week or more: their places."""
        blocks = zip(self.planned_m3, self.lost_m3, self.largest_day_m3, strict=True)
        return tuple(
            k
            for k, (planned, lost, day) in enumerate(blocks)
            if lost > (self.share + GRACE_SHARE) * planned + day + EPSILON_M3
        )


def try_bad_days(site: SiteInput, turns: Sequence[Turn], bad_days: Collection[int]) -> Losses:
    """Return what each block misses when these days bring only a third of their water.

    Parameters
    ----------
    site
        Where.
    turns
        Of the week, in their order.
    bad_days
        Places in the site's days.
    """
    queue = [(turn.block, turn.volume_m3) for turn in turns]
    weak = replace(site, hourly_m3h=tuple(flow * BAD_SHARE for flow in site.hourly_m3h))
    pumps = {False: Pump(site), True: Pump(weak)}
    water, left, at = evening_before(site), queue[0][1] if queue else 0.0, 0
    for day, window in enumerate(site.windows):
        water.pump = pumps[day in bad_days]
        begins = min((turn.from_min for turn in turns if turn.day == day), default=None)
        if window is None or begins is None:
            water.wait_until((day + 1) * DAY_MIN)
            continue
        at, left = _follow(site, water, queue, at, left, day, (begins, window[1]))
        water.wait_until((day + 1) * DAY_MIN)
    return _losses(site, turns, queue[at:], left)


def _follow(
    site: SiteInput, water: Water, queue: Sequence[tuple[int, float]], at: int, left_m3: float, day: int, window: tuple[int, int]
) -> tuple[int, float]:  # fmt: skip
    """Do the turns from where they stopped; return where they stop today, and what that block still wants."""
    minute = window[0]
    while at < len(queue) and minute < window[1]:
        flow = site.blocks[queue[at][0]].flow_m3h
        water.wait_until(day * DAY_MIN + minute)
        minutes, volume = water.open(flow, window[1] - minute, left_m3)
        minute += minutes + site.rules.changeover_min
        left_m3 -= volume
        if left_m3 > flow / 60.0 + EPSILON_M3:
            break
        at += 1
        left_m3 = queue[at][1] if at < len(queue) else 0.0
    return at, left_m3


def _losses(
    site: SiteInput, turns: Sequence[Turn], undone: Sequence[tuple[int, float]], left_m3: float
) -> Losses:
    blocks = range(len(site.blocks))
    planned = [sum(t.volume_m3 for t in turns if t.block == b) for b in blocks]
    lost = [0.0 for _ in blocks]
    for k, (block, volume) in enumerate(undone):
        lost[block] += left_m3 if k == 0 else volume
    days = [
        max((sum(t.volume_m3 for t in turns if t.block == b and t.day == d) for d in range(len(site.days))), default=0.0)
        for b in blocks
    ]  # fmt: skip
    return Losses(tuple(planned), tuple(lost), tuple(days))
