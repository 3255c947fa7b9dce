"""From turns to a schedule's rows."""

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from pipeline.scheduling.inputs import SiteInput, Turn
from pipeline.scheduling.intake import MM_M3_PER_HA
from pipeline.scheduling.runs import Run

DIGITS = 2  # of volumes and depths: a litre on a hectare is nobody's concern
LEAST_SHORT_MM = 0.05  # less is rounding


def rows(
    site: SiteInput, turns: Sequence[Turn], short_mm: Sequence[Sequence[float]], zone: str
) -> tuple[Run, ...]:
    """Return the rows of a week: a day's turns in their order, then who goes short without one.

    What a block goes short on a day stands beside its last turn.
    """
    found: list[Run] = []
    for day, on in enumerate(site.days):
        today = [turn for turn in turns if turn.day == day]
        last = {turn.block: turn for turn in today}
        short = [round(mm[day], DIGITS) if mm[day] >= LEAST_SHORT_MM else 0.0 for mm in short_mm]
        found += [_row(site, turn, on, zone, short[turn.block] if last[turn.block] is turn else 0.0) for turn in today]  # fmt: skip
        found += [
            Run(site.site_id, on, block.block_id, None, None, 0.0, 0.0, mm)
            for k, (block, mm) in enumerate(zip(site.blocks, short, strict=True))
            if k not in last and mm > 0
        ]
    return tuple(found)


def _row(site: SiteInput, turn: Turn, on: date, zone: str, short_mm: float) -> Run:
    block = site.blocks[turn.block]
    start, end = (_at(on, minute, zone) for minute in (turn.from_min, turn.to_min))
    depth = turn.volume_m3 / (MM_M3_PER_HA * block.area_ha[turn.day])
    return Run(
        site.site_id, on, block.block_id, start, end, round(depth, DIGITS), round(turn.volume_m3, DIGITS), short_mm
    )  # fmt: skip


def _at(day: date, minute: int, zone: str) -> datetime:
    """A minute of the local day, by the clock on the wall."""
    return datetime.combine(day, time(), ZoneInfo(zone)) + timedelta(minutes=minute)
