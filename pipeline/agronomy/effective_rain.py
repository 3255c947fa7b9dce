"""Rain that a crop can use, day by day: a small store under each block."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.agronomy.arrays import Floats, FloatsLike


@dataclass(frozen=True)
class RainStore:
    """How rain fills the store of a block.

    Attributes
    ----------
    effective_share
        Share of a day's rain that enters. [-]
    least_rain_mm
        Rain of a day below this enters nothing. [mm]
    capacity_mm
        What the store holds at most: one for all, or one for each day and block. [mm]
    """

    effective_share: float = 0.80
    least_rain_mm: float = 2.0
    capacity_mm: FloatsLike = 25.0


@dataclass(frozen=True)
class EffectiveRain:
    """What the crops drew and what was left, each (days, blocks).

    Attributes
    ----------
    drawn_mm
        Effective rain: what the crop drew from the store that day. [mm]
    store_mm
        The store at the end of the day. [mm]
    """

    drawn_mm: Floats
    store_mm: Floats


def effective_rain_mm(
    rain_mm: FloatsLike,
    etc_mm: FloatsLike,
    commissioned_row: npt.ArrayLike = 0,
    rain_store: RainStore | None = None,
) -> EffectiveRain:
    """Rain that the crops of each block drew, day by day.

    The day's rain enters before the crop draws; the crop draws its whole need from
    the store first. A block in fallow fills too.

    Parameters
    ----------
    rain_mm : (days, blocks)
        Rain of each day; NaN where it is unknown: that day's draw is unknown, and
        the store is carried on as it was. [mm]
    etc_mm : (days, blocks)
        Need of the crop; NaN where none stands: 0 is drawn. [mm]
    commissioned_row : (blocks,)
        Row of the day on which the block's store is empty, the day of commissioning.
        Draws before it are NaN.
    rain_store
        How rain fills the store; the programme's rule if left out.

    Examples
    --------
    10 mm of rain put 8 mm in the store; the crop draws 5, then the 3 that are left:

    >>> effective_rain_mm([[10.0], [0.0], [1.9]], [[5.0], [5.0], [5.0]]).drawn_mm.ravel()
    array([5., 3., 0.])
    """
    rule = rain_store or RainStore()
    rain, need = np.broadcast_arrays(
        np.asarray(rain_mm, dtype=np.float64), np.asarray(etc_mm, dtype=np.float64)
    )
    starts = np.broadcast_to(np.asarray(commissioned_row), rain.shape[1:])
    entering = np.where(rain >= rule.least_rain_mm, rain * rule.effective_share, 0.0)
    wanted = np.where(np.isnan(need), 0.0, need)
    capacity = np.broadcast_to(np.asarray(rule.capacity_mm, dtype=np.float64), rain.shape)
    known = ~np.isnan(rain)
    drawn, kept = np.full(rain.shape, np.nan), np.zeros(rain.shape)
    store = np.zeros(rain.shape[1:])
    for row in range(len(rain)):
        counted = known[row] & (row >= starts)
        filled = np.minimum(store + entering[row], capacity[row])
        taken = np.minimum(filled, wanted[row])
        drawn[row] = np.where(counted, taken, np.nan)
        store = np.where(counted, filled - taken, store)
        kept[row] = store
    return EffectiveRain(drawn_mm=drawn, store_mm=kept)
