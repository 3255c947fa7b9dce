"""An independent look at a week: the site is run minute by minute as the rows say.

Nothing of the planner is used here but the site that it was given: whoever changes the planner is told
by this what the fields would see.
"""

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from math import isfinite
from typing import Any

from pipeline.scheduling.inputs import BlockInput, SiteInput
from pipeline.scheduling.runs import Run
from pipeline.words import say

ROUNDED_M3 = 0.011  # rows are written to the hundredth
ROUNDED_MM = 0.011
POND_MM = 5.0  # the same common practice as the planner's, told once more on purpose
UNTOLD_MM = 0.05  # a day's shortage under it has no row


class _Site:
    """The water of a site while the rows are followed."""

    def __init__(self, site: SiteInput) -> None:
        self.site, self.tank, self.pumped = site, 0.0, 0.0

    def minute(self, clock: int, valve_m3h: float) -> float:
        """One minute of the day with a valve at that flow (0: closed); what came out [m³]."""
        if clock == 0:
            self.pumped = 0.0
        wanted = valve_m3h / 60
        pump = self.site.hourly_m3h[clock // 60] / 60
        pump = min(pump, self.site.limit_m3_per_day - self.pumped)
        pump = max(0.0, min(pump, wanted + self.site.tank_m3 - self.tank))
        out = min(wanted, self.tank + pump)
        self.tank += pump - out
        self.pumped += pump
        return out


def faults(site: SiteInput, runs: Sequence[Run]) -> list[str]:
    """Return what is wrong with a week's rows, each in a sentence; empty: nothing.

    Parameters
    ----------
    site
        What was planned for.
    runs
        The rows, in their order.
    """
    known = {block.block_id: block for block in site.blocks}
    found = [_fault(run, "block") for run in runs if run.block_id not in known]
    found += [_fault(run, "day") for run in runs if run.day not in site.days]
    if found:
        return found
    opened = [run for run in runs if run.start_at and run.end_at]
    found += list(_rows(site, runs, known))
    found += list(_order(site, opened))
    if not found:
        found += list(_water(site, opened, known))
        found += list(_ground(site, opened, known))
        for block in site.blocks:
            found += _soil(site, block, [run for run in runs if run.block_id == block.block_id])
    return found


def _fault(run: Run, rule: str, **values: Any) -> str:
    return say(f"scheduling.fault_{rule}", block=run.block_id, day=run.day, **values)


def clock(moment: datetime, day: date) -> float:
    """Minutes since the day's local midnight, by the clock on the wall [min]."""
    wall = moment.replace(tzinfo=None)
    return (wall - datetime.combine(day, datetime.min.time())).total_seconds() / 60


def _rows(site: SiteInput, runs: Sequence[Run], known: dict[str, BlockInput]) -> Iterator[str]:
    """Each row agrees with itself."""
    for run in runs:
        if run.start_at is None or run.end_at is None:
            if run.volume_m3 or run.depth_mm or run.run_min or run.short_mm <= 0:
                yield _fault(run, "empty_row")
            continue
        area = known[run.block_id].area_ha[site.days.index(run.day)]
        if run.run_min < 1 or (run.end_at - run.start_at).total_seconds() != run.run_min * 60:
            yield _fault(run, "minutes")
        if abs(run.depth_mm * area * 10 - run.volume_m3) > ROUNDED_M3 + ROUNDED_MM * area * 10:
            yield _fault(run, "depth", depth=run.depth_mm, volume=run.volume_m3)
        if run.volume_m3 > known[run.block_id].flow_m3h * run.run_min / 60 + ROUNDED_M3:
            yield _fault(run, "flow", volume=run.volume_m3)
        if run.short_mm < 0 or run.volume_m3 <= 0:
            yield _fault(run, "negative")


def _order(site: SiteInput, opened: Sequence[Run]) -> Iterator[str]:
    """One block at a time, within the daylight, with time to change over."""
    before: Run | None = None
    for run in opened:
        assert run.start_at is not None  # noqa: S101 - only rows with times come here
        assert run.end_at is not None  # noqa: S101 - the same
        window = site.windows[site.days.index(run.day)]
        from_min, to_min = clock(run.start_at, run.day), clock(run.end_at, run.day)
        if window is None or from_min < window[0] or to_min > window[1]:
            yield _fault(run, "daylight")
        if before is not None and before.end_at is not None:
            gap = (run.start_at - before.end_at).total_seconds() / 60
            if gap < site.rules.changeover_min:
                yield _fault(run, "overlap", other=before.block_id)
        before = run


def _water(site: SiteInput, opened: Sequence[Run], known: dict[str, BlockInput]) -> Iterator[str]:
    """What ran through each valve, from the evening before the week on."""
    water = _Site(site)
    last = max((window[1] for window in site.windows if window), default=24 * 60)
    for minute in range(last, 24 * 60):
        water.minute(minute, 0.0)
    strongest = max((block.flow_m3h for block in site.blocks), default=0.0)
    for day in site.days:
        today = [run for run in opened if run.day == day]
        spans = [(clock(r.start_at, day), clock(r.end_at, day), r) for r in today if r.start_at and r.end_at]
        flows = [0.0] * (24 * 60)
        for (start, end, run), after in zip(spans, [*spans[1:], None], strict=False):
            flows[int(start) : int(end)] = [known[run.block_id].flow_m3h] * int(end - start)
            if after is not None and after[0] - end == site.rules.changeover_min:
                flows[int(end) : int(after[0])] = [strongest] * int(after[0] - end)
        out = [water.minute(minute, flow) for minute, flow in enumerate(flows)]
        over = max(-water.tank, water.tank - site.tank_m3, water.pumped - site.limit_m3_per_day)
        if over > ROUNDED_M3:
            yield say("scheduling.fault_tank", day=day)
        for start, end, run in spans:
            came = sum(out[int(start) : int(end)])
            if abs(came - run.volume_m3) > ROUNDED_M3:
                yield _fault(run, "water", volume=run.volume_m3, came=f"{came:.2f}")


def _ground(site: SiteInput, opened: Sequence[Run], known: dict[str, BlockInput]) -> Iterator[str]:
    """No water stands deeper on the ground than it holds, but where the least run does that by itself."""
    for block in known.values():
        for day, ha in zip(site.days, block.area_ha, strict=True):
            today = [run for run in opened if run.day == day and run.block_id == block.block_id]
            if not today or not isfinite(block.intake_mm_h):
                continue
            surplus = block.flow_m3h / (10 * ha) - block.intake_mm_h
            least = surplus * site.rules.least_min / 60
            pond, dry_at = 0.0, 0.0
            for run in today:
                assert run.start_at is not None  # noqa: S101 - only rows with times come here
                idle = max(clock(run.start_at, day) - dry_at, 0.0)
                pond = max(pond - block.intake_mm_h * idle / 60, 0.0)
                pond = max(pond + run.depth_mm - block.intake_mm_h * run.run_min / 60, 0.0)
                dry_at = clock(run.start_at, day) + run.run_min
                if pond > max(POND_MM, least) + 0.1:
                    yield _fault(run, "pond", pond=f"{pond:.1f}")


def _soil(site: SiteInput, block: BlockInput, rows: Sequence[Run]) -> list[str]:
    """No more than the roots can hold, and what is short is what the crop missed."""
    given = [sum(run.depth_mm for run in rows if run.day == day) for day in site.days]
    told = [sum(run.short_mm for run in rows if run.day == day) for day in site.days]
    minute_mm = block.flow_m3h / 60 / 10 / max(block.area_ha)
    loose = ROUNDED_MM * (len(rows) + 1) + UNTOLD_MM * len(site.days)
    if isfinite(block.start_depletion_mm) and isfinite(block.raw_mm):
        return _known_soil(site, block, given, told, loose + minute_mm)
    found, came, gone = [], 0.0, 0.0
    for k, day in enumerate(site.days):
        came += block.need_mm[k] if site.windows[k] else 0.0
        gone += given[k]
        if gone + sum(told[:k]) > came + loose:
            found.append(say("scheduling.fault_deep", block=block.block_id, day=day, depth=f"{gone:.1f}", room=f"{came:.1f}"))  # fmt: skip
    if abs(came - gone - sum(told)) > minute_mm + loose:
        found.append(say("scheduling.fault_short", block=block.block_id, told=f"{sum(told):.1f}", missing=f"{came - gone:.1f}"))  # fmt: skip
    return found


def _known_soil(
    site: SiteInput, block: BlockInput, given: Sequence[float], told: Sequence[float], loose: float
) -> list[str]:
    """Follow the depletion of the root zone, net: irrigation first, then the crop draws."""
    found = []
    share = block.efficiency
    depletion = max(min(block.start_depletion_mm, block.taw_mm if isfinite(block.taw_mm) else 1e9), 0.0)
    bound = max(block.raw_mm, depletion)
    start = depletion
    for k, day in enumerate(site.days):
        need, wet, short = block.need_mm[k] * share, given[k] * share, told[k] * share
        if wet > depletion + loose:
            found.append(say("scheduling.fault_deep", block=block.block_id, day=day, depth=f"{wet:.1f}", room=f"{depletion:.1f}"))  # fmt: skip
        depletion = max(depletion - wet - short, 0.0) + need
        if site.windows[k] and depletion > max(bound, need) + loose:
            found.append(say("scheduling.fault_dry", block=block.block_id, day=day, depletion=f"{depletion:.1f}", bound=f"{bound:.1f}"))  # fmt: skip
    ends = max(start, block.need_mm[-1] * share)
    if site.windows[-1] and depletion > ends + loose:
        found.append(say("scheduling.fault_dry", block=block.block_id, day=site.days[-1], depletion=f"{depletion:.1f}", bound=f"{ends:.1f}"))  # fmt: skip
    return found
