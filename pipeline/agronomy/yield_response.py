"""Yield that dryness costs."""

from dataclasses import dataclass

import numpy as np

from pipeline.agronomy.arrays import Floats, FloatsLike
from pipeline.agronomy.root_zone import RootZoneBalance


@dataclass(frozen=True)
class YieldLoss:
    """Share of the yield that was lost, between two bounds, each (fields,).

    Attributes
    ----------
    least, most
        If the root zone was as wet, and as dry, as it can have been. [-]
    etc_known_share
        Share of the crop's days whose need is known: the loss is of these days. [-]
    """

    least: Floats
    most: Floats
    etc_known_share: Floats


def relative_yield_loss(
    etc_adjusted_mm: FloatsLike, etc_mm: FloatsLike, yield_response: FloatsLike
) -> Floats:
    """Share of the yield lost as the crop took up less than its need, FAO-56 eq. 90 (FAO-33) [-].

    Parameters
    ----------
    etc_adjusted_mm, etc_mm
        Totals over the season: what was taken up, what was needed. [mm]
    yield_response
        Seasonal Ky of Table 24; NaN where none is printed. [-]

    Returns
    -------
    (n,)
        At most 1. FAO-33 drew the line up to a deficit of about a half (from memory); beyond it is a guess.
        NaN where nothing was needed.

    Examples
    --------
    Maize that got four fifths of its need, Ky 1.25:

    >>> relative_yield_loss(480.0, 600.0, 1.25).round(2)
    np.float64(0.25)
    """
    taken, needed = np.asarray(etc_adjusted_mm, dtype=np.float64), np.asarray(etc_mm, dtype=np.float64)
    share = np.divide(taken, needed, out=np.full(np.broadcast(taken, needed).shape, np.nan), where=needed > 0)
    return np.asarray(np.minimum(np.asarray(yield_response, dtype=np.float64) * (1.0 - share), 1.0))


def yield_loss(balance: RootZoneBalance, etc_mm: FloatsLike, yield_response: FloatsLike) -> YieldLoss:
    """Bounds of the yield lost in the days of a balance, FAO-56 eq. 90.

    Give the days of one planting. Ky belongs to a whole season: over a part of one, this is what the
    season would lose if all of it went so.

    Parameters
    ----------
    balance
        Of the root zones.
    etc_mm : (days, fields)
        The need that the balance was given. [mm]
    yield_response : (fields,)
        Seasonal Ky; NaN where none is printed. [-]
    """
    stands = ~np.isnan(balance.wettest.depletion_mm)
    need = np.broadcast_to(np.asarray(etc_mm, dtype=np.float64), stands.shape)
    known = stands & ~np.isnan(balance.wettest.etc_adjusted_mm)
    needed = np.where(known, need, 0.0).sum(axis=0)
    least, most = (
        relative_yield_loss(np.where(known, course.etc_adjusted_mm, 0.0).sum(axis=0), needed, yield_response)
        for course in (balance.wettest, balance.driest)
    )
    days = stands.sum(axis=0)
    covered = np.divide(known.sum(axis=0), days, out=np.full(days.shape, np.nan), where=days > 0)
    return YieldLoss(least=least, most=most, etc_known_share=covered)
