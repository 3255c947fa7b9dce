"""Water that the soil holds for a crop: how much, how much of it easily, and what dryness costs."""

import numpy as np

from pipeline.agronomy.arrays import Floats, FloatsLike

# FAO-56 p. 162: what the adjusted depletion fraction is held within
DEPLETION_FRACTION_LIMITS = (0.1, 0.8)
LEAST_ROOT_DEPTH_M = 0.20  # FAO-56 Annex 8, p. 279: 0.15 to 0.20 m for many annual crops
SMALL_RAIN_SHARE = 0.2  # FAO-56 p. 170: of the day's ET0; less than that is gone by evening
NO_ROOM_MM = 1e-9  # keeps a division from meeting 0 where all of the water is readily available


def total_available_water_mm(available_water_mm_m: FloatsLike, root_depth_m: FloatsLike) -> Floats:
    """Water between field capacity and wilting point within the roots, TAW, FAO-56 eq. 82 [mm].

    Parameters
    ----------
    available_water_mm_m
        1000 (θFC − θWP), as of `Soil.available_water_mm_m`. [mm/m]
    root_depth_m
        Depth of the roots. [m]

    Examples
    --------
    Onion, tomato and maize in a silt (FAO-56 Example 36):

    >>> total_available_water_mm(170, [0.4, 0.8, 1.2])
    array([ 68., 136., 204.])
    """
    available = np.asarray(available_water_mm_m, dtype=np.float64)
    return np.asarray(available * np.asarray(root_depth_m, dtype=np.float64))


def readily_available_water_mm(taw_mm: FloatsLike, depletion_fraction: FloatsLike) -> Floats:
    """Water that can go before the crop suffers, RAW, FAO-56 eq. 83 [mm].

    Examples
    --------
    >>> readily_available_water_mm([68, 136, 204], [0.30, 0.40, 0.55]).round()
    array([ 20.,  54., 112.])
    """
    fraction = np.asarray(depletion_fraction, dtype=np.float64)
    return np.asarray(fraction * np.asarray(taw_mm, dtype=np.float64))


def depletion_fraction(tabulated: FloatsLike, etc_mm: FloatsLike) -> Floats:
    """Share of the available water that can go without stress on a day, FAO-56 p. 162 [-].

    Parameters
    ----------
    tabulated
        p of Table 22, which holds at 5 mm/d. [-]
    etc_mm
        Need of the crop on the day. [mm/d]

    Examples
    --------
    A thirsty day leaves less of it, a grey day more:

    >>> depletion_fraction(0.40, [7, 2, 20]).round(2)
    array([0.32, 0.52, 0.1 ])
    """
    table, need = np.asarray(tabulated, dtype=np.float64), np.asarray(etc_mm, dtype=np.float64)
    return np.asarray(np.clip(table + 0.04 * (5.0 - need), *DEPLETION_FRACTION_LIMITS))


def stress_coefficient(depletion_mm: FloatsLike, taw_mm: FloatsLike, raw_mm: FloatsLike) -> Floats:
    """Share of its need that a crop can still take up, Ks, FAO-56 eq. 84 [-].

    Parameters
    ----------
    depletion_mm
        Water missing from the root zone. [mm]
    taw_mm, raw_mm
        Total and readily available water. [mm]

    Examples
    --------
    >>> stress_coefficient([44, 60, 80, 110], 110, 44).round(2)
    array([1.  , 0.76, 0.45, 0.  ])
    """
    depletion, total, ready = (np.asarray(mm, dtype=np.float64) for mm in (depletion_mm, taw_mm, raw_mm))
    return np.asarray(np.clip((total - depletion) / np.maximum(total - ready, NO_ROOM_MM), 0.0, 1.0))


def root_depth_m(
    day_number: FloatsLike,
    least_depth_m: FloatsLike,
    greatest_depth_m: FloatsLike,
    ini_days: FloatsLike,
    dev_days: FloatsLike,
) -> Floats:
    """Depth of the roots on a day of the crop, FAO-56 Annex 8, eq. 8-3 (p. 279) [m].

    They grow by the same amount each day from planting until the mid-season starts, where eq. 8-2
    has them at their greatest. (Eq. 8-1 of that annex lets them grow with the basal coefficient;
    chapter 8 itself gives none.)

    Parameters
    ----------
    day_number
        Day of the crop; the day of planting is 1.
    least_depth_m, greatest_depth_m
        At planting, `LEAST_ROOT_DEPTH_M` for many annual crops, and from Table 22: the same for a
        perennial, whose roots are there. [m]
    ini_days, dev_days
        Lengths of the initial and the development stage. [d]

    Returns
    -------
    (n,)
        NaN before day 1.

    Examples
    --------
    >>> root_depth_m([0, 1, 26, 51, 90], 0.2, 0.8, 25, 25)
    array([nan, 0.2, 0.5, 0.8, 0.8])
    """
    day, least, greatest, ini, dev = (
        np.asarray(each, dtype=np.float64)
        for each in (day_number, least_depth_m, greatest_depth_m, ini_days, dev_days)
    )
    # a crop whose first two stages have no days is at its mid-season when it is planted
    grown = np.clip((day - 1.0 + (ini + dev == 0)) / np.maximum(ini + dev, 1.0), 0.0, 1.0)
    return np.asarray(np.where(day >= 1, least + grown * (greatest - least), np.nan))


def rain_that_counts_mm(rain_mm: FloatsLike, et0_mm: FloatsLike) -> Floats:
    """Rain without the days that bring less than a fifth of ET0, FAO-56 p. 170 [mm].

    So little is gone before it reaches a root. Where ET0 is unknown the rain counts as it fell; where
    the rain is unknown it stays so.

    Examples
    --------
    >>> rain_that_counts_mm([0.9, 1.0, 12.0], 5.0)
    array([ 0.,  1., 12.])
    """
    rain, et0 = np.asarray(rain_mm, dtype=np.float64), np.asarray(et0_mm, dtype=np.float64)
    return np.asarray(np.where(rain < SMALL_RAIN_SHARE * et0, 0.0, rain))
