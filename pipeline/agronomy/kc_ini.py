"""The crop coefficient of the initial stage, from how often and how deeply the bare soil is wetted.

FAO-56 Figures 29 and 30, by the equations of its Annex 7.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.agronomy.arrays import Floats, FloatsLike
from pipeline.agronomy.soil_water import rain_that_counts_mm

WET_SOIL_KC = 1.15  # FAO-56 eq. 7-1 and 7-4: what wet bare soil evaporates, and the most of Kc ini
LIGHT_MM, HEAVY_MM = 10.0, 40.0  # FAO-56 p. 117: depths of a wetting in Figures 29 and 30


@dataclass(frozen=True)
class Wettings:
    """How a soil was wetted over some days, each (fields,).

    Attributes
    ----------
    events
        How often; wet days that touch are one.
    interval_days
        Mean time between them, FAO-56 eq. 7-7. [d]
    depth_mm
        Mean depth of one; NaN where there was none. [mm]
    """

    events: Floats
    interval_days: Floats
    depth_mm: Floats


def wettings(water_mm: FloatsLike, et0_mm: FloatsLike, *, in_stage: npt.ArrayLike = True) -> Wettings:
    """Count the wettings of an initial stage, FAO-56 p. 115 and Annex 7 (p. 266).

    Parameters
    ----------
    water_mm : (days, fields)
        Rain and irrigation; a field with an unknown day in its stage gives NaN. [mm]
    et0_mm
        Less than a fifth of it is no wetting. [mm/d]
    in_stage
        Which days belong to the stage, where fields were planted on different days.

    Examples
    --------
    >>> wettings([[12.0], [8.0], [0.0], [0.0], [10.0], [0.5], [0.0], [0.0], [0.0], [0.0]], 4.0)
    Wettings(events=array([2.]), interval_days=array([4.]), depth_mm=array([15.]))
    """
    water, stage = np.broadcast_arrays(
        rain_that_counts_mm(water_mm, et0_mm), np.asarray(in_stage, dtype=bool)
    )
    water = np.where(stage, water, 0.0)
    wet = water > 0
    first_days = wet & ~np.vstack([np.zeros_like(wet[:1]), wet[:-1]])
    unknown = np.isnan(water).any(axis=0)
    events = np.where(unknown, np.nan, first_days.sum(axis=0))
    total = water.sum(axis=0)
    return Wettings(
        events=events,
        interval_days=np.asarray(stage.sum(axis=0) / (events + 0.5)),
        depth_mm=np.asarray(np.divide(total, events, out=np.full(events.shape, np.nan), where=events > 0)),
    )


def kc_ini(
    et0_mm: FloatsLike,
    interval_days: FloatsLike,
    depth_mm: FloatsLike,
    coarse: npt.ArrayLike,
    wetted_share: FloatsLike = 1.0,
) -> Floats:
    """Kc of the initial stage, FAO-56 eq. 59 to 61 with Figures 29 and 30 [-].

    Parameters
    ----------
    et0_mm
        Mean reference evapotranspiration of the stage. [mm/d]
    interval_days
        Mean time between wettings. [d]
    depth_mm
        Mean depth of a wetting, over the whole field. [mm]
    coarse
        Whether the soil is a sand or a loamy sand, as `Soil.is_coarse`.
    wetted_share
        Share of the surface that a wetting reaches, fw of Table 20. [-]

    Returns
    -------
    (n,)
        For the whole field. NaN where ET0, interval or share is not above 0.

    Examples
    --------
    A trickle system that wets 0.4 of a silt loam every other day (FAO-56 Example 26 reads 0.42 off
    the figures):

    >>> kc_ini(4.0, 2.0, 12.0, coarse=False, wetted_share=0.4).round(3)
    np.float64(0.425)
    """
    share = np.asarray(wetted_share, dtype=np.float64)
    depth = np.asarray(depth_mm, dtype=np.float64)
    under, part = np.broadcast_arrays(depth, share)
    wetted_depth = np.divide(under, part, out=np.full(under.shape, np.nan), where=part > 0)
    light = kc_ini_light(et0_mm, interval_days)
    heavy = kc_ini_heavy(et0_mm, interval_days, coarse)
    return np.asarray(share * between_light_and_heavy(light, heavy, wetted_depth))


def between_light_and_heavy(kc_light: FloatsLike, kc_heavy: FloatsLike, depth_mm: FloatsLike) -> Floats:
    """Kc ini of a depth between 10 and 40 mm, FAO-56 eq. 59; beyond them the nearer figure's [-]."""
    light, heavy = np.asarray(kc_light, dtype=np.float64), np.asarray(kc_heavy, dtype=np.float64)
    depth = np.clip(np.asarray(depth_mm, dtype=np.float64), LIGHT_MM, HEAVY_MM)
    return np.asarray(light + (depth - LIGHT_MM) / (HEAVY_MM - LIGHT_MM) * (heavy - light))


def kc_ini_light(et0_mm: FloatsLike, interval_days: FloatsLike) -> Floats:
    """Kc ini of wettings of 10 mm or less, all soils, FAO-56 Figure 29 (p. 267) [-]."""
    et0 = _above_zero(et0_mm)
    ready = np.minimum(np.maximum(2.5, 6.0 / np.sqrt(et0)), 7.0)
    return _two_stages(et0, interval_days, np.asarray(10.0), ready)


def kc_ini_heavy(et0_mm: FloatsLike, interval_days: FloatsLike, coarse: npt.ArrayLike) -> Floats:
    """Kc ini of wettings of 40 mm or more, FAO-56 Figures 30a (coarse soils) and 30b (p. 268) [-].

    Below an ET0 of 2 mm/d its curve for coarse soils runs under that of Figure 29: it is as printed.
    """
    et0, sandy = _above_zero(et0_mm), np.asarray(coarse, dtype=bool)
    root = np.sqrt(et0)
    total = np.where(sandy, np.minimum(15.0, 7.0 * root), np.minimum(28.0, 13.0 * root))
    ready = np.minimum(np.where(sandy, 6.0, 9.0), total - 0.01)
    return _two_stages(et0, interval_days, total, ready)


def _two_stages(et0: Floats, interval_days: FloatsLike, total: Floats, ready: Floats) -> Floats:
    """Kc over an interval in which the soil first dries freely, then ever slower, FAO-56 eq. 7-3, 7-4.

    The exponent of eq. 7-3 is written shorter: (1 + REW / (TEW − REW)) / TEW is 1 / (TEW − REW).
    """
    interval = _above_zero(interval_days)
    evaporating = WET_SOIL_KC * et0
    slow_days = np.maximum(interval - ready / evaporating, 0.0)
    evaporated = total - (total - ready) * np.exp(-slow_days * evaporating / (total - ready))
    freely = interval * evaporating <= ready
    return np.asarray(np.where(freely, WET_SOIL_KC, np.minimum(evaporated / (interval * et0), WET_SOIL_KC)))


def _above_zero(value: FloatsLike) -> Floats:
    """Return the value, NaN where it is not above 0."""
    number = np.asarray(value, dtype=np.float64)
    return np.asarray(np.where(number > 0, number, np.nan))
