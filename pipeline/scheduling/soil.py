"""What a block may be given on a day, and when it begins to go short.

All depths here are gross [mm]: net over the application efficiency. A block's store of water that it
may be given is the depletion of its root zone where that is known. Where it is not, it is the need
that has come since the week began, so that no water goes below the roots: the day's own need then
comes on the day, or is gathered until it is worth a run.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isfinite

from pipeline.scheduling.inputs import BlockInput, Rules, SiteInput
from pipeline.scheduling.intake import MM_M3_PER_HA


@dataclass(frozen=True)
class Account:
    """A block's week, day by day.

    Attributes
    ----------
    room_mm
        Added on each day to what the block may be given. [mm]
    waits_mm
        Most that may be left for a later day without the crop going short. [mm]
    least_mm
        Depth of the shortest run that is worth the walk. [mm]
    need_mm
        What the week asks for. [mm]
    minute_mm
        A minute's water: what is left over by rounding to whole minutes. [mm]
    wish_mm
        Most that should wait on the last evening, so that a block that began drier than RAW is brought
        back to it where there is water to spare; it counts as no need. [mm]
    """

    room_mm: tuple[float, ...]
    waits_mm: tuple[float, ...]
    least_mm: float
    need_mm: float
    minute_mm: float = 0.0
    wish_mm: float = inf

    def short_mm(self, given_mm: Sequence[float]) -> tuple[float, ...]:
        """Return what can't be met on each day, when so much is given.

        What goes short on a day is lost: it leaves the account, and no later water makes up for it.

        Examples
        --------
        A need of 5 mm a day of which 2 mm may wait; 0, 5 and 5 mm are given: 3 mm of the first day
        are lost.

        >>> Account((5.0, 5.0, 5.0), (2.0, 2.0, 2.0), 1.0, 13.0).short_mm((0.0, 5.0, 5.0))
        (3.0, 0.0, 0.0)
        """
        left, short = 0.0, []
        for room, waits, given in zip(self.room_mm, self.waits_mm, given_mm, strict=True):
            left = max(left + room - given, 0.0)
            short.append(max(left - waits, 0.0))
            left = min(left, waits)
        return tuple(short)


def account(site: SiteInput, block: BlockInput) -> Account:
    """Return what a block may be given through the days of a site.

    With the soil known, a day's irrigation comes before the crop draws (FAO-56 eq. 88, in the order of
    its Example 38): it is at most the depletion of the morning, and the depletion of the evening stays
    within RAW, or no drier than it was. The week ends no drier than it began.
    """
    least = _least_mm(block, site.rules)
    idle = [window is None for window in site.windows]
    if not isfinite(block.start_depletion_mm) or not isfinite(block.raw_mm):
        need = [0.0 if off else mm for mm, off in zip(block.need_mm, idle, strict=True)]
        waits = [min(least, sum(need))] * len(need)
        waits[-1] = _minute_mm(block)
        return Account(tuple(need), tuple(waits), least, sum(need), _minute_mm(block))
    start = max(block.start_depletion_mm, 0.0)
    if isfinite(block.taw_mm):
        start = min(start, block.taw_mm)
    start, raw = start / block.efficiency, block.raw_mm / block.efficiency
    total, last, minute = start + sum(block.need_mm), block.need_mm[-1], _minute_mm(block)
    waits = [max(max(raw, start) - mm, minute) for mm in block.need_mm]
    waits[-1] = max(start - last, minute)
    asked = max(total - last - waits[-1], 0.0)
    waits = [total if off else mm for mm, off in zip(waits, idle, strict=True)]
    return Account((start, *block.need_mm[:-1]), tuple(waits), least, asked, minute, max(raw - last, 0.0))


def _minute_mm(block: BlockInput) -> float:
    """A minute's water: nobody opens a valve for less."""
    return block.flow_m3h / 60.0 / (MM_M3_PER_HA * max(block.area_ha))


def _least_mm(block: BlockInput, rules: Rules) -> float:
    """The shortest run, or all of the week's need in one where that is less."""
    return min(_minute_mm(block) * rules.least_min, sum(block.need_mm))
