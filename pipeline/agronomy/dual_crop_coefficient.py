"""What a crop takes up and what the soil under it evaporates, apart: the dual crop coefficient, FAO-56 chapter 7.

The basal coefficients Kcb are those of FAO-56 Table 17; the built-in crops don't carry them.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.agronomy.arrays import Floats, FloatsLike
from pipeline.agronomy.crop_coefficient import kc_mid_in_climate

EVAPORATION_DEPTH_M = 0.10  # FAO-56 p. 144: 0.10 to 0.15 m; Table 19 has 0.10
WET_SURFACE_KC = 1.2  # FAO-56 eq. 72
KC_ABOVE_BASAL = 0.05  # FAO-56 eq. 72: wet soil adds at least so much
KC_DRY_BARE = 0.15  # FAO-56 p. 150: 0.15 to 0.20, Kc min
GREATEST_COVER = 0.99  # FAO-56 p. 149
LEAST_SHARE = 0.01  # FAO-56 eq. 75 and 77
RAIN_WETS_ALL_MM = 3.0  # FAO-56 p. 149: "significant rain (i.e., > 3 to 4 mm)"
SHADED_BY_CANOPY = 2.0 / 3.0  # FAO-56 p. 147


@dataclass(frozen=True)
class SurfaceLayer:
    """The drying surface of fields, day by day, each (days, fields).

    Attributes
    ----------
    exposed_wetted_share
        Share of the surface from which most of the water evaporates, few. [-]
    kr
        How freely it evaporates. [-]
    ke
        Evaporation over ET0: add Kcb for Kc. [-]
    evaporation_mm
        Over the whole field. [mm]
    percolation_mm
        Water that ran through the layer, of the wetted part. [mm]
    depletion_mm
        Water missing from the wetted and exposed part at the end of the day. [mm]
    """

    exposed_wetted_share: Floats
    kr: Floats
    ke: Floats
    evaporation_mm: Floats
    percolation_mm: Floats
    depletion_mm: Floats


def kc_max(kcb: FloatsLike, wind_2m_ms: FloatsLike, rh_min_pct: FloatsLike, height_m: FloatsLike) -> Floats:
    """Most that crop and wet soil together take, over ET0, FAO-56 eq. 72 [-].

    Parameters
    ----------
    kcb
        Basal crop coefficient of the day. [-]
    wind_2m_ms, rh_min_pct, height_m
        As for `kc_mid_in_climate`. [m/s, %, m]

    Examples
    --------
    FAO-56 Example 32, where it is dry and windy:

    >>> kc_max(0.9, 3.0, 20.0, 1.0).round(2)
    np.float64(1.3)
    """
    energy = kc_mid_in_climate(WET_SURFACE_KC, wind_2m_ms, rh_min_pct, height_m)
    return np.asarray(np.maximum(energy, np.asarray(kcb, dtype=np.float64) + KC_ABOVE_BASAL))


def total_evaporable_water_mm(
    theta_fc: FloatsLike, theta_wp: FloatsLike, depth_m: FloatsLike = EVAPORATION_DEPTH_M
) -> Floats:
    """Water that can evaporate from the surface layer, TEW, FAO-56 eq. 73 [mm].

    Parameters
    ----------
    theta_fc, theta_wp
        Water content at field capacity and at wilting point. [m³/m³]
    depth_m
        Of the layer. [m]

    Examples
    --------
    >>> total_evaporable_water_mm(0.23, 0.10).round(1)
    np.float64(18.0)
    """
    capacity, wilting, depth = (np.asarray(each, dtype=np.float64) for each in (theta_fc, theta_wp, depth_m))
    return np.asarray(1000.0 * (capacity - 0.5 * wilting) * depth)


def evaporation_reduction(depletion_mm: FloatsLike, tew_mm: FloatsLike, rew_mm: FloatsLike) -> Floats:
    """How freely a drying surface evaporates, Kr, FAO-56 eq. 74 [-].

    Parameters
    ----------
    depletion_mm
        Water missing from the surface layer. [mm]
    tew_mm, rew_mm
        Total and readily evaporable water; the latter is less. [mm]

    Examples
    --------
    The first, third and fifth day of FAO-56 Example 31:

    >>> evaporation_reduction([0.0, 9.45, 16.57], 20.0, 9.0).round(2)
    array([1.  , 0.96, 0.31])
    """
    depletion, total, ready = (np.asarray(mm, dtype=np.float64) for mm in (depletion_mm, tew_mm, rew_mm))
    return np.asarray(np.clip((total - depletion) / (total - ready), 0.0, 1.0))


def covered_share(
    kcb: FloatsLike, greatest_kc: FloatsLike, height_m: FloatsLike, least_kc: FloatsLike = KC_DRY_BARE
) -> Floats:
    """Share of the ground that the crop covers, where nobody looked, fc, FAO-56 eq. 76 [-].

    Parameters
    ----------
    kcb, greatest_kc, least_kc
        Basal coefficient, `kc_max`, and that of dry bare soil. [-]
    height_m
        Mean height of the crop. [m]

    Examples
    --------
    >>> covered_share(0.9, 1.3, 1.0).round(2)
    np.float64(0.53)
    """
    basal, most, least, height = (
        np.asarray(each, dtype=np.float64) for each in (kcb, greatest_kc, least_kc, height_m)
    )
    # FAO-56 p. 150: a difference of at least 0.01
    grown = np.maximum(basal - least, 0.01) / (most - least)
    return np.asarray(np.clip(grown ** (1.0 + 0.5 * height), 0.0, GREATEST_COVER))


def exposed_wetted_share(
    covered: FloatsLike, wetted_share: FloatsLike, *, emitters_under_canopy: npt.ArrayLike = False
) -> Floats:
    """Share of the surface that is both wet and open to sun and wind, few, FAO-56 eq. 75 [-].

    Parameters
    ----------
    covered
        Share under the crop, fc. [-]
    wetted_share
        Share that was wetted, fw of Table 20. [-]
    emitters_under_canopy
        Whether the crop shades the emitters, which leaves less of fw (p. 147).

    Examples
    --------
    Sprinklers, every other furrow, drippers under the crop (FAO-56 Examples 32 to 34):

    >>> exposed_wetted_share(0.53, [1.0, 0.3, 0.3], emitters_under_canopy=[False, False, True]).round(2)
    array([0.47, 0.3 , 0.19])
    """
    cover, wetted = np.asarray(covered, dtype=np.float64), np.asarray(wetted_share, dtype=np.float64)
    shade = np.where(np.asarray(emitters_under_canopy, dtype=bool), SHADED_BY_CANOPY * cover, 0.0)
    return np.asarray(np.clip(np.minimum(1.0 - cover, (1.0 - shade) * wetted), LEAST_SHARE, 1.0))


def evaporation_coefficient(
    kr: FloatsLike, greatest_kc: FloatsLike, kcb: FloatsLike, exposed_wetted: FloatsLike
) -> Floats:
    """Evaporation from the soil over ET0, Ke, FAO-56 eq. 71 [-].

    Examples
    --------
    FAO-56 Examples 32 to 34, where the surface has just been wetted:

    >>> evaporation_coefficient(1.0, 1.30, 0.90, [0.47, 0.30, 0.19]).round(2)
    array([0.4 , 0.39, 0.25])
    """
    freely, most, basal, share = (
        np.asarray(each, dtype=np.float64) for each in (kr, greatest_kc, kcb, exposed_wetted)
    )
    return np.asarray(np.minimum(freely * (most - basal), share * most))


def surface_layer(
    et0_mm: FloatsLike,
    rain_mm: FloatsLike,
    irrigation_mm: FloatsLike,
    kcb: FloatsLike,
    greatest_kc: FloatsLike,
    covered: FloatsLike,
    irrigation_wets_share: FloatsLike,
    tew_mm: FloatsLike,
    rew_mm: FloatsLike,
    start_depletion_mm: FloatsLike,
    *,
    start_wetted_share: FloatsLike = 1.0,
    emitters_under_canopy: npt.ArrayLike = False,
) -> SurfaceLayer:
    """Follow the surface of fields day by day, FAO-56 eq. 71, 74, 75 and 77 to 79.

    Rain and irrigation come early in the day, as in Example 35. What is wetted follows p. 149: after
    irrigation what the system wets, after more than 3 mm of rain alone everything, else what was
    wetted before. Roots draw nothing from the layer (p. 153). No more evaporates than is there.

    Parameters
    ----------
    et0_mm, rain_mm, irrigation_mm : (days, fields)
        Depths over the whole field, without what runs off. Where one is unknown the state is unknown
        from there, until water comes that fills the layer whatever it held. [mm]
    kcb, greatest_kc, covered
        Basal coefficient, `kc_max` and the covered share of the day. [-]
    irrigation_wets_share
        fw of the system, Table 20. [-]
    tew_mm, rew_mm
        Total and readily evaporable water. [mm]
    start_depletion_mm : (fields,)
        On the first morning: 0 after a heavy rain, TEW after a long dry time. [mm]
    start_wetted_share
        Share that the last wetting before reached. [-]
    emitters_under_canopy
        As for `exposed_wetted_share`.

    All but the first three may be given in any shape that broadcasts to them.

    Raises
    ------
    ValueError
        If the first three don't make a table of (days, fields).

    Examples
    --------
    The first three days of FAO-56 Example 31, bare loam after a heavy rain:

    >>> bare = surface_layer(np.full((3, 1), 4.5), 0.0, 0.0, 0.15, 1.2, 0.0, 1.0, 20.0, 9.0, 0.0)
    >>> bare.depletion_mm.ravel().round(2)
    array([ 4.73,  9.45, 13.98])
    """
    et0, rain, irrigation, basal, most, cover, system, total, ready = np.broadcast_arrays(
        *(
            np.asarray(each, dtype=np.float64)
            for each in (
                et0_mm, rain_mm, irrigation_mm, kcb, greatest_kc, covered, irrigation_wets_share, tew_mm,
                rew_mm,
            )
        )
    )  # fmt: skip
    if et0.ndim != 2:  # noqa: PLR2004 - days and fields
        raise ValueError(f"ET0, rain and irrigation make a table of days and fields, not of {et0.shape}")
    fields = et0.shape[1:]
    state = np.broadcast_to(np.asarray(start_depletion_mm, dtype=np.float64), fields)
    wetted = np.broadcast_to(np.asarray(start_wetted_share, dtype=np.float64), fields)
    days = []
    for row in range(len(et0)):
        by_rain = np.where(rain[row] > RAIN_WETS_ALL_MM, 1.0, wetted)
        wetted = np.where(irrigation[row] > 0, system[row], by_rain)
        share = exposed_wetted_share(cover[row], wetted, emitters_under_canopy=emitters_under_canopy)
        water = rain[row] + irrigation[row] / np.maximum(wetted, LEAST_SHARE)
        surely_full = np.isnan(state) & (water >= total[row])
        before = np.where(surely_full, 0.0, np.maximum(state - water, 0.0))
        percolation = np.maximum(water - state, 0.0)
        kr = evaporation_reduction(before, total[row], ready[row])
        wanted = evaporation_coefficient(kr, most[row], basal[row], share)
        evaporation = np.minimum(wanted * et0[row], share * (total[row] - before))
        state = before + evaporation / share
        ke = np.divide(evaporation, et0[row], out=wanted, where=et0[row] > 0)
        days.append((share, kr, ke, evaporation, percolation, state))
    return SurfaceLayer(*(np.array(column) for column in zip(*days, strict=True)))
