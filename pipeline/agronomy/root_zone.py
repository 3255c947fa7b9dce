"""Daily balance of the water in the root zone of many fields, between two bounds where something is unknown.

Where a meter is silent nobody knows how dry a field is; what can be known is between which two
states it lies. So each field is followed twice: as wet as it can be, and as dry as it can be. The
two are one as long as everything is known, part where rain, irrigation or need is not, and meet
again when enough water comes to fill even the driest root zone.
"""

from dataclasses import dataclass

import numpy as np

from pipeline.agronomy.arrays import Flags, Floats, FloatsLike
from pipeline.agronomy.soil_water import readily_available_water_mm, stress_coefficient

WETTEST, DRIEST = 0, 1
ROUNDING_MM = 1e-9


@dataclass(frozen=True)
class RootZone:
    """One course of the water in the root zones, each (days, fields), NaN where no crop stands.

    Attributes
    ----------
    depletion_mm
        Water missing from the root zone at the end of the day. [mm]
    ks
        Stress coefficient of the day; NaN where the need is unknown. [-]
    etc_adjusted_mm
        What the crop could take up; NaN where the need is unknown. [mm]
    deep_percolation_mm
        Water that ran through below the roots; NaN in the wettest course where rain or irrigation is
        unknown, as there is no most. [mm]
    layer_water_mm
        Available water of the layer that the roots grew into. [mm]
    """

    depletion_mm: Floats
    ks: Floats
    etc_adjusted_mm: Floats
    deep_percolation_mm: Floats
    layer_water_mm: Floats


@dataclass(frozen=True)
class RootZoneBalance:
    """The wettest and the driest course that agree with all that is known.

    Attributes
    ----------
    wettest
        Least depletion, so the greatest `ks` and `etc_adjusted_mm`.
    driest
        Greatest depletion, so the least of them.
    """

    wettest: RootZone
    driest: RootZone

    @property
    def spread_mm(self) -> Floats:
        """How far apart the bounds of the depletion lie; 0 where it is known [mm]."""
        return np.asarray(self.driest.depletion_mm - self.wettest.depletion_mm)


def root_zone_balance(
    etc_mm: FloatsLike,
    rain_mm: FloatsLike,
    irrigation_mm: FloatsLike,
    taw_mm: FloatsLike,
    depletion_fraction: FloatsLike,
    start_depletion_mm: FloatsLike,
    *,
    evaporation_mm: FloatsLike = 0.0,
    subsoil_depletion_share: FloatsLike | None = None,
    unknown_etc_at_most_mm: FloatsLike = np.inf,
) -> RootZoneBalance:
    """Follow the water in the root zones day by day, FAO-56 eq. 84 to 86 and 88.

    The order of a day is that of FAO-56 Example 38 and Annex 8: the roots grow, rain and irrigation
    come early and what the root zone can't hold runs through, then the crop takes up what it can
    from what is left. It never takes more than is there, so that the books close. (Eq. 88 alone
    would let the crop drink before the surplus runs through.) Capillary rise is taken as none, as
    p. 171 has it where the water table is a metre below the roots.

    Parameters
    ----------
    etc_mm : (days, fields)
        Need of the crop; NaN where unknown. The depletion may then have risen by anything from 0 to
        `unknown_etc_at_most_mm`. [mm]
    rain_mm, irrigation_mm : (days, fields)
        What enters the soil: rain without what runs off, irrigation net at the field; NaN where
        unknown. The root zone may then have been filled, or got nothing. [mm]
    taw_mm : (days, fields)
        Total available water; NaN where no crop stands. A column may hold one planting after the
        other, with NaN between them. It may grow, not shrink. [mm]
    depletion_fraction : (days, fields)
        p of the day; not asked for where the need is unknown. [-]
    start_depletion_mm : (fields,) or (2, fields)
        On the morning of a planting's first day, held within 0 and TAW; NaN where unknown, which is
        anything between them. Two rows are the wettest and the driest that it can have been. [mm]
    evaporation_mm
        The part of `etc_mm` that evaporates from the soil and that stress does not lessen (eq. 80);
        without it stress lessens all (eq. 81). Where it is unknown the need is. [mm]
    subsoil_depletion_share
        How dry the layer is that the roots grow into: 0 at field capacity, 1 at wilting point; in
        the same shapes. Left
        out, it is as dry as the root zone was at the start: before the crop came no root told the
        layers apart. What percolates is not given to it, so it errs on the dry side; FAO-56 Example
        38 takes it at field capacity. [-]
    unknown_etc_at_most_mm
        Most that a crop can have taken up on a day of unknown need. [mm]

    All but the first three may be given in any shape that broadcasts to them.

    Returns
    -------
    RootZoneBalance

    Raises
    ------
    ValueError
        If the first three don't make a table of (days, fields), or TAW shrinks.

    Examples
    --------
    The first, fifth and tenth day of FAO-56 Example 37, where nothing comes to 160 mm of TAW:

    >>> balance = root_zone_balance(np.full((10, 1), 6.0), 0.0, 0.0, 160.0, 0.40, 55.0)
    >>> balance.driest.depletion_mm[[0, 4, 9], 0].round(1)
    array([ 61. ,  83.4, 104.5])

    A silent meter on the second day, and a good rain on the fourth:

    >>> irrigation, rain = [[5.0], [np.nan], [5.0], [5.0]], [[0.0], [0.0], [0.0], [60.0]]
    >>> root_zone_balance(5.0, rain, irrigation, 80.0, 0.5, 20.0).spread_mm.ravel()
    array([ 0., 20., 20.,  0.])
    """
    etc, rain, irrigation, taw, fraction, evaporation, at_most = np.broadcast_arrays(
        *(
            np.asarray(each, dtype=np.float64)
            for each in (
                etc_mm, rain_mm, irrigation_mm, taw_mm, depletion_fraction, evaporation_mm,
                unknown_etc_at_most_mm,
            )
        )
    )  # fmt: skip
    if etc.ndim != 2:  # noqa: PLR2004 - days and fields
        raise ValueError(f"need, rain and irrigation make a table of days and fields, not of {etc.shape}")
    if np.any(np.diff(taw, axis=0) < -ROUNDING_MM):
        raise ValueError("available water shrinks from a day to the next, but roots don't")
    raw = readily_available_water_mm(taw, fraction)
    water = np.where(np.isnan(rain), 0.0, rain) + np.where(np.isnan(irrigation), 0.0, irrigation)
    water_unknown = np.isnan(rain) | np.isnan(irrigation)
    need_unknown = np.isnan(etc) | np.isnan(evaporation)
    at_least = np.zeros_like(etc)

    depletion, stress, drawn, percolated, layer = (np.full((2, *etc.shape), np.nan) for _ in range(5))
    state, subsoil = np.full((2, etc.shape[1]), np.nan), np.full((2, etc.shape[1]), np.nan)
    taw_before = np.full(etc.shape[1], np.nan)
    for row, total in enumerate(taw):
        begins = np.isnan(taw_before) & ~np.isnan(total)
        start = _bounds(start_depletion_mm, total)
        share = subsoil_depletion_share
        below = start / total if share is None else _bounds(share, np.ones_like(total))
        state, subsoil = np.where(begins, start, state), np.where(begins, below, subsoil)
        grown = np.where(begins, 0.0, total - taw_before)
        layer[:, row] = grown * (1.0 - subsoil)
        state, percolated[:, row] = _wetted(state + grown * subsoil, water[row], water_unknown[row])

        ks, left = stress_coefficient(state, total, raw[row]), total - state
        stress[:, row] = np.where(need_unknown[row], np.nan, ks)
        drawn[:, row] = np.minimum(ks * (etc[row] - evaporation[row]) + evaporation[row], left)
        perhaps_drawn = np.minimum(np.stack([at_least[row], at_most[row]]), left)
        state = state + np.where(need_unknown[row], perhaps_drawn, drawn[:, row])
        state = np.minimum(state, total)  # but for rounding it is
        depletion[:, row], taw_before = state, total
    wettest, driest = (
        RootZone(depletion[which], stress[which], drawn[which], percolated[which], layer[which])
        for which in (WETTEST, DRIEST)
    )
    return RootZoneBalance(wettest=wettest, driest=driest)


def _wetted(depletion: Floats, water: Floats, unknown: Flags) -> tuple[Floats, Floats]:
    """Depletion after a day's water, and what ran through, (2, fields): unknown water may have filled it."""
    through, left = np.maximum(water - depletion, 0.0), np.maximum(depletion - water, 0.0)
    through[WETTEST, unknown] = np.nan
    left[WETTEST, unknown] *= 0.0  # NaN stays NaN: no crop stands there
    return left, through


def _bounds(value: FloatsLike, greatest: FloatsLike) -> Floats:
    """Wettest and driest state, (2, fields), for a value within 0 and the greatest; NaN is anything."""
    told, most = np.asarray(value, dtype=np.float64), np.asarray(greatest)
    known = np.clip(np.broadcast_to(told, (2, *most.shape)), 0.0, most)
    return np.where(np.isnan(known), np.stack([0.0 * most, most]), known)
