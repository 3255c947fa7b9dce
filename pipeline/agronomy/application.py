"""How fast an irrigation system puts water on the ground, and whether the ground takes it in."""

import numpy as np

from pipeline.agronomy.arrays import Floats, FloatsLike

MM_PER_M = 1000.0
# fw by irrigation method, FAO-56 Table 20 (p. 149): the middle where a range is printed. What is not named
# wets all, as a sprinkler does
WETTED_SHARE = {"furrow": 0.8, "drip": 0.35}
MM_CM2_PER_ML = 10.0  # 1 ml is 1 cm³, 10 mm deep on 1 cm²


def can_depth_mm(volume_ml: FloatsLike, opening_cm2: FloatsLike) -> Floats:
    """Depth of water in a can, from its volume and opening [mm].

    Examples
    --------
    >>> can_depth_mm(50, 100)
    array(5.)
    """
    return _quotient(MM_CM2_PER_ML * np.asarray(volume_ml, dtype=np.float64), opening_cm2)


def precipitation_rate_mm_h(mean_depth_mm: FloatsLike, hours: FloatsLike) -> Floats:
    """Rate at which cans filled [mm/h].

    Examples
    --------
    >>> precipitation_rate_mm_h(9, 1.5)
    array(6.)
    """
    return _quotient(mean_depth_mm, hours)


def application_rate_mm_h(flow_m3h: FloatsLike, length_m: FloatsLike, spacing_m: FloatsLike) -> Floats:
    """Rate at which a flow falls on its rectangle [mm/h].

    Parameters
    ----------
    flow_m3h
        Of a lateral, or of one sprinkler. [m³/h]
    length_m, spacing_m
        Length of a lateral and distance to the next; for a sprinkler, distances along and between
        the laterals. [m]

    Examples
    --------
    A lateral of 60 m, 3 m from the next:

    >>> application_rate_mm_h(1.2, 60, 3).round(2)
    np.float64(6.67)
    """
    area_m2 = np.asarray(length_m, dtype=np.float64) * np.asarray(spacing_m, dtype=np.float64)
    return _quotient(MM_PER_M * np.asarray(flow_m3h, dtype=np.float64), area_m2)


def spacing_wetted_share(wetted_radius_m: FloatsLike, lateral_spacing_m: FloatsLike) -> Floats:
    """Share of the distance between two laterals that their throw wets, at most 1 [-].

    The throw covers at least half the spacing, 1.5 m to each side at 3 m (common practice, no
    source): less leaves a dry strip between them.

    Examples
    --------
    >>> spacing_wetted_share([1.5, 1.2, 2.0], 3.0)
    array([1. , 0.8, 1. ])
    """
    throw_m = 2.0 * np.asarray(wetted_radius_m, dtype=np.float64)
    return np.asarray(np.minimum(_quotient(throw_m, lateral_spacing_m), 1.0))


def rate_beyond_intake_mm_h(application_rate_mm_h: FloatsLike, basic_intake_mm_h: FloatsLike) -> Floats:
    """Part of an application rate that a wet soil can't take in, and that ponds or runs off [mm/h].

    Parameters
    ----------
    application_rate_mm_h
        Of the system. [mm/h]
    basic_intake_mm_h
        Of the soil: give `Soil.basic_intake_min_mm_h` for what may run off at most, and
        `basic_intake_max_mm_h` for what runs off for certain. [mm/h]

    Examples
    --------
    On the best and on the worst clay:

    >>> rate_beyond_intake_mm_h(6.0, [5.0, 1.0])
    array([1., 5.])
    """
    rate = np.asarray(application_rate_mm_h, dtype=np.float64)
    return np.asarray(np.maximum(rate - np.asarray(basic_intake_mm_h, dtype=np.float64), 0.0))


def _quotient(part: FloatsLike, whole: FloatsLike) -> Floats:
    """One over the other, NaN where the latter is not above 0."""
    over, under = np.broadcast_arrays(np.asarray(part, dtype=np.float64), np.asarray(whole, dtype=np.float64))
    return np.asarray(np.divide(over, under, out=np.full(over.shape, np.nan), where=under > 0))
