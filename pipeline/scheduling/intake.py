"""How long a valve may stay open before the water stands deeper than the ground holds it.

Where a system puts on more than the soil takes in, water ponds. The ground between the rows holds a
few millimetres; then it runs off. So the run is cut into shorter turns, with a pause in which the
ponded water goes in.
"""

from dataclasses import dataclass
from math import ceil, inf

from pipeline.scheduling.inputs import BlockInput, Rules

POND_MM = 5.0  # that the ground between the rows holds: common practice, no source
MM_M3_PER_HA = 10.0  # 1 mm on 1 ha is 10 m³


@dataclass(frozen=True)
class Pulses:
    """How a block's water is to be put on.

    Attributes
    ----------
    rate_mm_h
        Over the planted area, at the design flow. [mm/h]
    most_min
        Longest turn; infinite where the soil keeps up. [min]
    pause_min
        After a turn of that length. [min]
    runs_off
        Whether even a turn of the least length ponds deeper than the ground holds: it can't be helped.
    """

    rate_mm_h: float
    most_min: float = inf
    pause_min: int = 0
    runs_off: bool = False


def pulses(block: BlockInput, day: int, rules: Rules) -> Pulses:
    """Return how long a turn of a block may be, and the pause after it.

    Examples
    --------
    10 m³/h on 0.05 ha are 20 mm/h; on a soil that takes 10 mm/h the surplus of 10 mm/h fills 5 mm of
    pond in half an hour, and as long again lets it in:

    >>> block = BlockInput("A", 10.0, (0.05,), (4.0,), intake_mm_h=10.0)
    >>> found = pulses(block, 0, Rules())
    >>> found.rate_mm_h, found.most_min, found.pause_min
    (20.0, 30, 30)
    """
    area_ha = block.area_ha[day]
    rate = block.flow_m3h / (MM_M3_PER_HA * area_ha) if area_ha > 0 else 0.0
    surplus = rate - block.intake_mm_h
    if surplus <= 0:
        return Pulses(rate)
    fits_min = int(60.0 * POND_MM / surplus + 1e-9)
    most_min = max(fits_min, rules.least_min)
    pause_min = ceil(most_min * surplus / block.intake_mm_h - 1e-9)
    return Pulses(rate, most_min, pause_min, runs_off=fits_min < rules.least_min)


def most_mm(block: BlockInput, day: int, window_min: int, rules: Rules) -> float:
    """Return the depth that a soil takes in a day's window, ponds let in between [mm]."""
    found = pulses(block, day, rules)
    if found.most_min == inf:
        return inf
    cycle_min = found.most_min + found.pause_min
    return float(found.rate_mm_h * found.most_min / 60.0 * ceil(window_min / cycle_min))
