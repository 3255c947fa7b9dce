"""What a counter's readings can be trusted for: pure, one meter at a time.

A register only goes forward, no faster than its pump; it rolls over, is reset, and is read by
people. Nothing is repaired: a reading that can't be is set aside with its verdict, and the interval
between the good readings on both sides of it counts.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from pipeline.agronomy.arrays import Floats

LOOK_BACK = 30  # readings: a longer run of errors is a register of its own
RESET_COST = 2.5  # readings that a changed register must explain before it is believed
ROLLOVER_COST = 0.5
NEIGHBOURS = 5  # intervals on each side that tell the usual rate
NEAR_TOP = 0.9  # of a power of ten: from there an unknown register may have rolled over
MOST_DIGITS = 9
FIRST_READINGS = 3  # that a sheet at the beginning must have to be told from one error


@dataclass(frozen=True)
class Register:
    """One meter's readings in order, in m³ or kWh, and what its pump allows.

    `run_h` are the daylight hours up to each reading; `limit_per_h` is the most that can be counted
    in one of them (inf: nothing is known). `modulus` is the first number that the register can't
    show (None: unknown), `resolution` its smallest step.
    """

    at_s: Floats
    value: Floats
    run_h: Floats
    limit_per_h: float
    modulus: float | None = None
    resolution: float = 1.0
    neighbour_margin: float = 2.0
    unit: float = 1.0  # m³ or kWh in one of the register's own units


@dataclass(frozen=True)
class Judged:
    """The step to one reading: from which reading, the amount (NaN: not to be trusted), the verdict."""

    start: int
    end: int
    amount: float
    verdict: str
    skipped: int = 0


def all_ordinary(register: Register) -> bool:
    """Tell whether each step goes forward and no further than the pump can."""
    steps = np.diff(register.value)
    if np.isinf(register.limit_per_h):
        return bool((steps >= 0).all())
    most = register.limit_per_h * np.diff(register.run_h) + register.resolution
    return bool((steps >= 0).all() and (steps <= most).all())


def judge(register: Register) -> list[Judged]:
    """Return the steps of a register, ordered by their end.

    Parameters
    ----------
    register : Register
        Readings ordered by time, each at its own moment.

    Returns
    -------
    list of Judged
        `ordinary`, `rollover` steps carry an amount; `reset` and `impossible` ones between trusted
        readings don't; a reading set aside ends a step with the verdict `ten_times`,
        `litres_as_m3`, `transposed`, `digit_missing` or `misread`.
    """
    if len(register.value) < 2:  # noqa: PLR2004 - a step has two ends
        return []
    scaled = _scaled(register) | _scaled_at_first(register)
    kept = _best_chain(register, [i for i in range(len(register.value)) if i not in scaled])
    judged = list(_steps(register, kept))
    aside = [i for i in range(len(register.value)) if i not in set(kept)]
    judged += [
        Judged(max(i - 1, 0), i, np.nan, scaled.get(i) or _reason(register, kept, i)) for i in aside if i
    ]
    return sorted(judged, key=lambda step: (step.end, step.start))


def _most(register: Register, i: int, j: int) -> float:
    """The most that can be counted from one reading to another; one unit for the reading of it."""
    if np.isinf(register.limit_per_h):  # no limit is none by night either
        return float("inf")
    return float(register.limit_per_h * (register.run_h[j] - register.run_h[i]) + register.resolution)


def _forward(register: Register, i: int, j: int, value: float | None = None) -> bool:
    step = (register.value[j] if value is None else value) - register.value[i]
    return bool(0 <= step <= _most(register, i, j))


SCALES = ((10.0, "ten_times"), (1000.0, "litres_as_m3"))


def _scaled(register: Register) -> dict[int, str]:
    """Readings that fit their neighbours only when divided by ten or a thousand: a sheet of its own."""
    found: dict[int, str] = {}
    good = 0
    for i in range(1, len(register.value)):
        if _forward(register, good, i) or (
            register.value[i] < register.value[good] and _goes_on(register, i)
        ):
            good = i
            continue
        name = next((n for f, n in SCALES if _forward(register, good, i, register.value[i] / f)), None)
        if name:
            found[i] = name
    return {
        i: name for run in _runs(found) for i, name in run.items() if not _goes_its_own_way(register, run)
    }


def _scaled_at_first(register: Register) -> dict[int, str]:
    """The first readings, where their steps and what follows fit the usual pace only as a tenth or thousandth."""
    drops = np.flatnonzero(np.diff(register.value) < 0)
    last = int(drops[0]) if len(drops) else 0
    if last + 1 < FIRST_READINGS or not np.isnan(wrapped(register, last, last + 1)):
        return {}
    usual = _usual_rate(register, -1, last + 1)
    hours = np.diff(register.run_h[: last + 2])
    steps, expected = np.diff(register.value[: last + 1]), usual * hours[:-1]
    for factor, name in SCALES:
        onward = register.value[last + 1] - register.value[last] / factor
        goes_on = 0 <= onward <= register.neighbour_margin * usual * hours[-1] + register.resolution
        if goes_on and bool(((steps > factor**0.5 * expected) & (steps < factor**1.5 * expected)).all()):
            return dict.fromkeys(range(last + 1), name)
    return {}


def _runs(found: dict[int, str]) -> Iterator[dict[int, str]]:
    """Readings next to each other with one name."""
    run: dict[int, str] = {}
    for i, name in found.items():
        if run and run.get(i - 1) != name:
            yield run
            run = {}
        run[i] = name
    if run:
        yield run


def _goes_its_own_way(register: Register, run: dict[int, str]) -> bool:
    """Tell whether a run of large readings is a new register's: as written, it keeps the usual pace."""
    readings = list(run)
    steps = list(pairwise(readings))
    if not steps or not all(_forward(register, i, j) for i, j in steps):
        return False
    factor = next(f for f, name in SCALES if name == run[readings[0]])
    hours = register.run_h[readings[-1]] - register.run_h[readings[0]]
    usual = _usual_rate(register, readings[0] - 1, readings[-1] + 1)
    pace = (register.value[readings[-1]] - register.value[readings[0]]) / hours if hours > 0 else 0.0
    if not (pace > 0 and usual > 0):
        return False
    return bool(abs(np.log(pace / usual)) < abs(np.log(pace / factor / usual)))


def _goes_on(register: Register, i: int) -> bool:
    """Tell whether the next reading bears a reading out: one that is only low for once is an error."""
    return i + 1 == len(register.value) or _forward(register, i, i + 1)


def _usual_rate(register: Register, i: int, j: int) -> float:
    """The median rate of the ordinary steps before i and after j, per daylight hour; NaN where there are none."""
    rates = []
    around = [*range(max(0, i - NEIGHBOURS), i), *range(j, min(len(register.value) - 1, j + NEIGHBOURS))]
    for a in around:
        hours = register.run_h[a + 1] - register.run_h[a]
        if hours > 0 and _forward(register, a, a + 1):
            rates.append((register.value[a + 1] - register.value[a]) / hours)
    return float(np.median(rates)) if rates else float("nan")


def wrapped(register: Register, i: int, j: int) -> float:
    """Return the amount of a rollover between two readings; NaN where it can't have been one."""
    top = register.value[i] / register.unit
    evident = [10.0**d for d in range(2, MOST_DIGITS + 1) if NEAR_TOP * 10**d <= top < 10**d]
    for modulus in [register.modulus] if register.modulus else [m * register.unit for m in evident]:
        amount = register.value[j] - register.value[i] + modulus
        rate, hours = _usual_rate(register, i, j), register.run_h[j] - register.run_h[i]
        usual = np.isnan(rate) or amount <= register.neighbour_margin * rate * hours + register.resolution
        if 0 <= amount <= _most(register, i, j) and usual:
            return float(amount)
    return float("nan")


def _best_chain(register: Register, candidates: list[int]) -> list[int]:
    """The readings that hold together best: one point each, less for rollovers and changed registers."""
    score: dict[int, float] = {}
    before: dict[int, int] = {}
    for position, j in enumerate(candidates):
        score[j], before[j] = 1.0, -1
        for i in reversed(candidates[max(0, position - LOOK_BACK) : position]):
            if score[i] + 1.0 <= score[j]:  # not even without a cost; of equals the nearest
                continue
            gained = score[i] + 1.0 - _cost(register, i, j)
            if gained > score[j]:
                score[j], before[j] = gained, i
    if not score:
        return []
    last = max(score, key=lambda i: (score[i], i))
    chain = [last]
    while before[chain[-1]] >= 0:
        chain.append(before[chain[-1]])
    return chain[::-1]


def _cost(register: Register, i: int, j: int) -> float:
    if _forward(register, i, j):
        return 0.0
    if register.value[j] < register.value[i] and not np.isnan(wrapped(register, i, j)):
        return ROLLOVER_COST
    return RESET_COST


def _steps(register: Register, kept: list[int]) -> Iterator[Judged]:
    for i, j in pairwise(kept):
        skipped = j - i - 1
        if _forward(register, i, j):
            yield Judged(i, j, float(register.value[j] - register.value[i]), "ordinary", skipped)
            continue
        amount = wrapped(register, i, j) if register.value[j] < register.value[i] else float("nan")
        if not np.isnan(amount):
            yield Judged(i, j, amount, "rollover", skipped)
        else:
            verdict = "reset" if register.value[j] < register.value[i] else "impossible"
            yield Judged(i, j, float("nan"), verdict, skipped)


def _reason(register: Register, kept: list[int], i: int) -> str:
    """How a reading that was set aside came about, as far as its digits tell."""
    earlier = max((k for k in kept if k < i), default=None)
    later = min((k for k in kept if k > i), default=None)
    low, high = 0.0, float("inf")
    if later is not None:
        high = register.value[later]
        low = max(0.0, high - _most(register, i, later))
    if earlier is not None:
        low = register.value[earlier]
        high = min(high, low + _most(register, earlier, i))

    def fits(value: float) -> bool:
        return bool(low <= value <= high)

    for factor, name in SCALES:
        if fits(register.value[i] / factor):
            return name
    digits = str(int(register.value[i] / register.unit))
    if any(fits(v * register.unit) for v in _swapped(digits)):
        return "transposed"
    if any(fits(v * register.unit) for v in _with_one_more(digits)):
        return "digit_missing"
    return "misread"


def _swapped(digits: str) -> Iterator[float]:
    for k in range(len(digits) - 1):
        if digits[k] != digits[k + 1] and (k or digits[1] != "0"):  # no reading begins with 0
            yield float(digits[:k] + digits[k + 1] + digits[k] + digits[k + 2 :])


def _with_one_more(digits: str) -> Iterator[float]:
    for k in range(len(digits) + 1):
        for digit in "0123456789":
            yield float(digits[:k] + digit + digits[k:])
