"""How much each block gets on each day: a mixed-integer program over days × blocks.

What is short is shared by the yield that it costs. A block that misses the share r of its week's need
loses, by FAO-56 eq. 90, about Ky × r × (week's need / season's need) of its yield; summed over its area
that line would take all from the crop that minds least. So the loss is taken as r² instead, in steps:
each further part of a block's need costs more than the part before, and at the optimum the shares
missed stand in inverse proportion to Ky / season's need. These weights are kept within 2/3 and 3/2 of
their mean, so that no block misses more than 9/4 of another's share while both have some left.

Among plans that lose the same, one with few runs near the usual length is taken.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from pipeline.scheduling.bad_sun import try_bad_days
from pipeline.scheduling.inputs import SiteInput, Turn
from pipeline.scheduling.placing import Placed, place
from pipeline.scheduling.program import Program, weights
from pipeline.scheduling.soil import Account, account
from pipeline.scheduling.water import EPSILON_M3

SPREADS = 2  # of the turns of those whom a bad day would starve
ROUNDS = 4  # of fitting the days' water to what the minutes bring
MISSED_SHARE = 0.01  # of a day's water: less is the rounding to whole minutes


@dataclass(frozen=True)
class Plan:
    """The turns of a week, and what goes short: short_mm is (blocks, days) [mm]."""

    turns: tuple[Turn, ...]
    short_mm: tuple[tuple[float, ...], ...]


def plan(site: SiteInput) -> Plan:
    """Return the turns of a site's week.

    Notes
    -----
    The program knows a day's water as a sum; minutes, pauses and the tank may bring less. Then that
    day's sum is lowered to what came and the shares are made anew, so that the shortage stays shared.
    """
    accounts = [account(site, block) for block in site.blocks]
    if not any(of.need_mm > 0 for of in accounts):
        return Plan((), tuple((0.0,) * len(site.days) for _ in site.blocks))
    program = Program(site, accounts)
    placed = _best(site, accounts, program)
    for _ in range(SPREADS):
        starved = _starved(site, placed)
        if not starved:
            break
        program.spread(starved)
        placed = _best(site, accounts, program)
    short = tuple(of.short_mm(mm) for of, mm in zip(accounts, placed.given_mm, strict=True))
    return Plan(placed.turns, short)


def _best(site: SiteInput, accounts: Sequence[Account], program: Program) -> Placed:
    """The placing that loses least, of a few rounds; in the strongest sun where that costs nothing."""
    most_m3 = [inf] * len(site.days)
    found = []
    for turn in range(ROUNDS):
        depths = program.depths_mm(most_m3)
        placed = place(site, accounts, depths)
        found.append((_loss(site, accounts, placed), turn, placed, depths))
        most_m3, missed = _lowered(most_m3, placed)
        if not missed:
            break
    loss, _, placed, depths = min(found, key=lambda one: one[:2])
    late = place(site, accounts, depths, in_strong_sun=True)
    return late if _loss(site, accounts, late) <= loss else placed


def _starved(site: SiteInput, placed: Placed) -> list[int]:
    """Blocks that would lose too much by one bad day, by two in a row, or by one and the last."""
    days, last = range(len(site.days)), len(site.days) - 1
    trials = (
        {(day,) for day in days} | {(day, day + 1) for day in days[:-1]} | {(day, last) for day in days[:-1]}
    )
    return sorted({block for bad in trials for block in try_bad_days(site, placed.turns, bad).starved})


def _lowered(most_m3: Sequence[float], placed: Placed) -> tuple[list[float], bool]:
    """The days' water lowered to what came where it was less than planned, and whether it was anywhere."""
    days = list(zip(most_m3, placed.wanted_m3, placed.given_m3, strict=True))
    missed = [wanted - given > max(MISSED_SHARE * wanted, EPSILON_M3) for _, wanted, given in days]
    lowered = [
        min(most, given) if is_missed else most
        for (most, _, given), is_missed in zip(days, missed, strict=True)
    ]
    return lowered, any(missed)


def _loss(site: SiteInput, accounts: Sequence[Account], placed: Placed) -> float:
    """The weighted sum of the squared shares missed."""
    total = 0.0
    for of, mm, weight, block in zip(
        accounts, placed.given_mm, weights(site, accounts), site.blocks, strict=True
    ):
        need = of.need_mm
        if need > 0:
            total += weight * float(np.mean(block.area_ha)) * need * (sum(of.short_mm(mm)) / need) ** 2
    return round(total, 9)
