"""The clock of a meter's readings: a counter that runs by night tells that it is hours off."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.agronomy.arrays import Floats

LEAST_STEPS = 3  # by night, before a clock is doubted: one or two are errors of the hand
LEFT_SHARE = 0.1  # of them that a right clock may leave unexplained
FARTHEST_H = 11


@dataclass(frozen=True)
class ReadingClock:
    """How far a register's clock is ahead (below 0: behind) [h], and the daylight hours up to each reading."""

    shift_h: int
    run_h: Floats


def reading_clock(
    at_s: Floats,
    value: Floats,
    hours_until: Callable[[Floats], Floats],
    limit_per_h: float,
    resolution: float,
) -> ReadingClock:
    """Find the clock by which a register's readings hold together.

    Parameters
    ----------
    at_s : (n,)
        Moments of the readings as written, in order. [s since 1970, UTC]
    value : (n,)
        The register. [m³ or kWh]
    hours_until : callable
        Daylight hours up to moments. [h]
    limit_per_h : float
        The most that can be counted in an hour of daylight; inf: nothing is known.
    resolution : float
        The register's smallest step.

    Returns
    -------
    ReadingClock
        Shift 0, and the daylight by the clock as written, unless at least three steps are possible only
        if the pump ran by night, and a shift of whole hours brings nine tenths of them into the day. The
        readings from the first of these steps to the last are then put on the shifted clock.
    """
    as_written = hours_until(at_s)
    by_night = _by_night(at_s, value, as_written, limit_per_h, resolution)
    if by_night.sum() < LEAST_STEPS:
        return ReadingClock(0, as_written)
    left = {
        shift: int(_by_night(at_s, value, hours_until(at_s - shift * 3600.0), limit_per_h, resolution).sum())
        for shift in range(-FARTHEST_H, FARTHEST_H + 1)
    }
    shift_h = _middle(left)
    if not shift_h or left[shift_h] > LEFT_SHARE * by_night.sum():
        return ReadingClock(0, as_written)
    first, last = _stretch(by_night, np.diff(value) > 0)
    off = np.zeros(len(at_s))
    off[first : last + 1] = shift_h
    return ReadingClock(shift_h, np.maximum.accumulate(hours_until(at_s - off * 3600.0)))


def _middle(left: dict[int, int]) -> int:
    """The middle of the shifts next to each other that leave the fewest, those nearest to 0: pumps run round noon."""
    fewest = min(left.values())
    nearest = min((shift for shift in left if left[shift] == fewest), key=abs)
    step = 1 if nearest > 0 else -1
    farthest = nearest
    while left.get(farthest + step) == fewest:
        farthest += step
    return int((nearest + farthest) / 2)


def _stretch(by_night: npt.NDArray[np.bool_], running: npt.NDArray[np.bool_]) -> tuple[int, int]:
    """The readings from the first of the steps to the last, and on to where the counter rested."""
    steps = np.flatnonzero(by_night)
    first, last = int(steps[0]), int(steps[-1])
    while first > 0 and running[first - 1]:
        first -= 1
    while last + 1 < len(running) and running[last + 1]:
        last += 1
    return first, last + 1


def _by_night(
    at_s: Floats, value: Floats, run_h: Floats, limit_per_h: float, resolution: float
) -> npt.NDArray[np.bool_]:
    """Which steps are too large for their daylight, and not for their whole time."""
    if np.isinf(limit_per_h):
        return np.zeros(max(len(value) - 1, 0), dtype=bool)
    steps = np.diff(value)
    too_large = steps > limit_per_h * np.diff(run_h) + resolution
    return np.asarray(too_large & (steps <= limit_per_h * np.diff(at_s) / 3600.0 + resolution))
