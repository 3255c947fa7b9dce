"""From depths by day to turns in minutes: the order of the turns, pauses, and where the water ends."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf

from pipeline.scheduling.inputs import DAY_MIN, SiteInput, Turn
from pipeline.scheduling.intake import MM_M3_PER_HA, Pulses, pulses
from pipeline.scheduling.soil import Account
from pipeline.scheduling.water import Water, evening_before

# Shares of the day's best flow with which the turns may begin: the strongest hours that suffice
BEGIN_SHARES = (0.8, 0.65, 0.5, 0.35)
LEAST_FLOW_SHARE = (
    0.25  # of the flow that a block can get at best: under it a turn ends; common practice, no source
)
SOLVED_MM = 1e-4  # to which the program's depths are exact
HOURS = 24
ENOUGH = 0.995  # of what a day is to bring: a later start that brings less isn't taken


@dataclass(frozen=True)
class Placed:
    """The turns of a week, and the depth that each block got on each day.

    given_mm is (blocks, days) [mm]; wanted_m3 and given_m3 are sums by day [m³].
    """

    turns: tuple[Turn, ...]
    given_mm: tuple[tuple[float, ...], ...]
    wanted_m3: tuple[float, ...]
    given_m3: tuple[float, ...]


@dataclass
class _Job:
    """What a block is to get on a day, in equal turns."""

    block: int
    flow_m3h: float
    left_m3: float
    turn_m3: float
    of: Pulses
    least_min: int
    ready_min: int = 0


def place(
    site: SiteInput,
    accounts: Sequence[Account],
    depths_mm: Sequence[Sequence[float]],
    *,
    in_strong_sun: bool = False,
) -> Placed:
    """Lay the week's depths out as turns.

    Parameters
    ----------
    site
        With its windows and water.
    accounts
        Of its blocks.
    depths_mm : (blocks, days)
        What each is to get [mm]; what a day can't bring is tried again on the next.
    in_strong_sun
        Begin as late as the day's water allows, instead of as early as possible.

    Returns
    -------
    Placed
        Turns of whole minutes: none gets more than its account has room for.
    """
    water = evening_before(site)
    given: list[list[float]] = [[] for _ in site.blocks]
    turns: list[Turn] = []
    wanted: list[float] = []
    first = 0
    for day in range(len(site.days)):
        jobs = _jobs(site, accounts, depths_mm, given, day)
        wanted.append(sum(job.left_m3 for job in jobs))
        done, water, cut = _best_day(
            site, day, _in_turn(jobs, first, len(site.blocks)), water, late=in_strong_sun
        )
        turns += done
        for block, of in enumerate(site.blocks):
            m3 = sum(turn.volume_m3 for turn in done if turn.block == block)
            given[block].append(m3 / (MM_M3_PER_HA * of.area_ha[day]) if m3 else 0.0)
        first = _next_first(done, cut, first, len(site.blocks))
    by_day = tuple(sum(t.volume_m3 for t in turns if t.day == day) for day in range(len(site.days)))
    return Placed(tuple(turns), tuple(map(tuple, given)), tuple(wanted), by_day)


def _jobs(
    site: SiteInput,
    accounts: Sequence[Account],
    depths_mm: Sequence[Sequence[float]],
    given_mm: Sequence[Sequence[float]],
    day: int,
) -> list[_Job]:
    """What is to be given on a day: the plan's depth and what it still owes, as far as there is room."""
    jobs = []
    for block, of in enumerate(site.blocks):
        room = _room_mm(accounts[block], given_mm[block], day)
        owed = sum(depths_mm[block][: day + 1]) - sum(given_mm[block])
        depth = min(owed + SOLVED_MM, room)
        if site.windows[day] is None or of.area_ha[day] <= 0 or depth <= 10 * SOLVED_MM:
            continue
        how = pulses(of, day, site.rules)
        m3 = depth * MM_M3_PER_HA * of.area_ha[day]
        minutes = m3 / of.flow_m3h * 60.0
        least = min(site.rules.least_min, int(accounts[block].least_mm * MM_M3_PER_HA * of.area_ha[day] / of.flow_m3h * 60.0 + 0.5))  # fmt: skip
        if minutes < least - 1 or minutes < 1:
            continue
        count = 1 if how.most_min == inf else ceil(minutes / how.most_min - 1e-9)
        count = max(min(count, int(minutes / max(least, 1))), 1)
        jobs.append(_Job(block, of.flow_m3h, m3, m3 / count, how, max(least, 1)))
    return jobs


def _room_mm(account: Account, given_mm: Sequence[float], day: int) -> float:
    """What a block may be given on a day, after what it got and what it lost before."""
    left = 0.0
    for k in range(day):
        left = min(max(left + account.room_mm[k] - given_mm[k], 0.0), account.waits_mm[k])
    return left + account.room_mm[day]


def _in_turn(jobs: list[_Job], first: int, blocks: int) -> list[_Job]:
    return sorted(jobs, key=lambda job: (job.block - first) % blocks)


def _next_first(done: Sequence[Turn], cut: int | None, first: int, blocks: int) -> int:
    """Who begins on the next day: the block that was cut short, else the second of today."""
    if cut is not None:
        return cut
    order = list(dict.fromkeys(turn.block for turn in done))
    return order[1] if len(order) > 1 else (order[0] + 1) % blocks if order else first


def _best_day(
    site: SiteInput, day: int, jobs: list[_Job], water: Water, *, late: bool
) -> tuple[list[Turn], Water, int | None]:
    """The day from the latest start that brings all, or the earliest; where none does, the one that brings most."""
    window = site.windows[day]
    if window is None or not jobs:
        return [], water, None
    starts = _starts(site, window)
    tried = []
    for start in starts if late else reversed(starts):
        found = _day(site, day, jobs, water, (start, window[1]))
        if found[2] is None:
            return found
        tried.append(found)
    volumes = [sum(turn.volume_m3 for turn in turns) for turns, *_ in tried]
    most = ENOUGH * max(volumes)
    return next(found for found, volume in zip(tried, volumes, strict=True) if volume >= most)


def _starts(site: SiteInput, window: tuple[int, int]) -> list[int]:
    """Minutes at which the pump first delivers each share of its best flow, the earliest last."""
    shares = (*BEGIN_SHARES, 0.0 if site.tank_m3 else LEAST_FLOW_SHARE)
    flows = [site.hourly_m3h[minute // 60] for minute in range(*window)]
    best = max(flows)
    firsts = (next(k for k, flow in enumerate(flows) if flow >= share * best) for share in shares)
    return list(dict.fromkeys(window[0] + first for first in firsts))


def _day(
    site: SiteInput, day: int, jobs: Sequence[_Job], water: Water, window: tuple[int, int]
) -> tuple[list[Turn], Water, int | None]:
    """Lay out one day, and name the block that was cut short."""
    water, waiting = water.copy(), [_Job(**vars(job)) for job in jobs]
    minute = window[0]
    turns: list[Turn] = []
    while waiting:
        job = min(waiting, key=lambda j: max(j.ready_min - minute, 0))  # min keeps the order among equals
        start = max(minute, job.ready_min)
        if start + job.least_min > window[1]:
            return turns, water, job.block
        before = water.copy()
        _walk(site, day, water, turns, start)
        turn = _turn(site, day, job, water, start, window[1])
        worth = turn.to_min - start >= job.least_min
        water = water if worth else before
        if worth:
            turns.append(turn)
            job.left_m3 -= turn.volume_m3
            job.ready_min = turn.to_min + max(job.of.pause_min, site.rules.changeover_min)
        if not worth or _is_cut(job, turn):
            stronger = _stronger(site, job, turn.to_min + max(site.rules.changeover_min, 1), window[1])
            if stronger is None:
                return turns, water, job.block
            minute = stronger
            continue
        waiting.remove(job)
        if job.left_m3 * 60.0 / job.flow_m3h >= job.least_min - 1e-6:
            waiting.append(job)  # behind the others
        minute = turn.to_min + site.rules.changeover_min
    return turns, water, None


def _stronger(site: SiteInput, job: _Job, after: int, end: int) -> int | None:
    """When the pump alone gives enough again, where it doesn't now; None: not on this day."""
    weak = _weak_m3h(site, job)
    if site.hourly_m3h[after // 60 % HOURS] >= weak:  # it is the day's limit that ended the turn
        return None
    return next((minute for minute in range(after, end) if site.hourly_m3h[minute // 60] >= weak), None)


def _weak_m3h(site: SiteInput, job: _Job) -> float:
    return LEAST_FLOW_SHARE * min(job.flow_m3h, max(site.hourly_m3h))


def _is_cut(job: _Job, turn: Turn) -> bool:
    """Whether water or daylight ended before the turn had its volume."""
    missing = min(job.turn_m3, job.left_m3 + turn.volume_m3) - turn.volume_m3
    return missing > job.flow_m3h / 60.0 and turn.to_min - turn.from_min < job.of.most_min


def _walk(site: SiteInput, day: int, water: Water, turns: Sequence[Turn], start: int) -> None:
    """Go on to the start of a turn; where a valve is being changed its water runs, counted for nobody."""
    gap = site.rules.changeover_min
    if turns and start - turns[-1].to_min == gap:
        water.open(max(block.flow_m3h for block in site.blocks), gap)
    water.wait_until(day * DAY_MIN + start)


def _turn(site: SiteInput, day: int, job: _Job, water: Water, start: int, end: int) -> Turn:
    """Keep the valve open up to the last minute that doesn't give too much."""
    longest = int(min(end - start, job.of.most_min))
    minutes, volume = water.open(job.flow_m3h, longest, min(job.turn_m3, job.left_m3), _weak_m3h(site, job))
    return Turn(day, job.block, start, start + minutes, volume)
