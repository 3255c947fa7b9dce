"""How evenly an irrigation system spreads its water, from cans set out in the field.

All take (…, cans): depths, volumes of one kind of can, or the flows of drippers, whose *emission
uniformity* is the same sum as the distribution uniformity of the low quarter (Keller, Karmeli 1974;
from memory). NaN is a can that was not there or was spilt, and is left out; a dry can is 0 and counts.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from pipeline.agronomy.arrays import Floats, FloatsLike

# common practice, no source: three cans in the low quarter, four in the low half; a mean deviation of
# fewer than four says little
LEAST_CANS = 4
LEAST_CANS_LOW_HALF = 8
LEAST_CANS_LOW_QUARTER = 12

QUARTER, HALF = 0.25, 0.5


class Unevaluated(StrEnum):
    """Why cans give no figure."""

    TOO_FEW_CANS = "too_few_cans"
    ALL_DRY = "all_dry"


@dataclass(frozen=True)
class CatchCans:
    """What cans tell, each (…).

    Attributes
    ----------
    cans
        How many were read.
    mean
        Of what they caught, in their unit.
    christiansen, low_half, low_quarter
        Uniformities; NaN where there is a reason. [-]
    christiansen_reason, low_half_reason, low_quarter_reason
        Why it is NaN, a value of `Unevaluated`; else empty.
    """

    cans: npt.NDArray[np.int64]
    mean: Floats
    christiansen: Floats
    low_half: Floats
    low_quarter: Floats
    christiansen_reason: npt.NDArray[np.str_]
    low_half_reason: npt.NDArray[np.str_]
    low_quarter_reason: npt.NDArray[np.str_]


def evaluate_catch_cans(caught: FloatsLike) -> CatchCans:
    """All three uniformities, each where there are cans enough.

    Examples
    --------
    >>> ten = evaluate_catch_cans([8, 10, 12, 10, 10, 8, 10, 12, 10, 10])
    >>> ten.christiansen.round(2), ten.low_quarter, ten.low_quarter_reason
    (np.float64(0.92), array(nan), array('too_few_cans', dtype='<U12'))
    """
    cans = (~np.isnan(np.asarray(caught, dtype=np.float64))).sum(axis=-1)
    mean = _low_mean(caught, 1.0)

    def reason(least_cans: int) -> npt.NDArray[np.str_]:
        dry = np.where(mean > 0, "", Unevaluated.ALL_DRY.value)
        return np.asarray(np.where(cans < least_cans, Unevaluated.TOO_FEW_CANS.value, dry))

    return CatchCans(
        cans=np.asarray(cans),
        mean=mean,
        christiansen=christiansen_uniformity(caught),
        low_half=distribution_uniformity_low_half(caught),
        low_quarter=distribution_uniformity_low_quarter(caught),
        christiansen_reason=reason(LEAST_CANS),
        low_half_reason=reason(LEAST_CANS_LOW_HALF),
        low_quarter_reason=reason(LEAST_CANS_LOW_QUARTER),
    )


def christiansen_uniformity(caught: FloatsLike) -> Floats:
    """Christiansen's coefficient of uniformity: 1 less the mean deviation over the mean [-].

    Christiansen (1942), Irrigation by sprinkling, California Agr. Exp. Sta. Bulletin 670. Below 0 where
    cans differ by more than they catch; NaN for fewer than `LEAST_CANS`, and where all are dry.

    Examples
    --------
    >>> christiansen_uniformity([8, 10, 12, 10, 10]).round(2)
    np.float64(0.92)
    """
    depths = np.asarray(caught, dtype=np.float64)
    mean = _low_mean(depths, 1.0)
    deviation = _low_mean(np.abs(depths - mean[..., np.newaxis]), 1.0)
    return 1.0 - _over(deviation, _enough(depths, mean, LEAST_CANS))


def distribution_uniformity_low_quarter(caught: FloatsLike) -> Floats:
    """Mean of the quarter of the cans that caught least, over the mean of all, DUlq [-].

    Merriam, Keller (1978), Farm irrigation system evaluation. Where a quarter is no whole number of
    cans, the nearest is taken, a half upwards (15 cans: 4), as their own 15 cans and the R package
    spreval have it: it stays a mean of cans that somebody can point at in the field. NaN for fewer than
    `LEAST_CANS_LOW_QUARTER`, and where all are dry.

    Examples
    --------
    >>> distribution_uniformity_low_quarter([6, 7, 8, 10, 10, 10, 10, 10, 10, 12, 13, 14]).round(2)
    np.float64(0.7)
    """
    mean = _enough(caught, _low_mean(caught, 1.0), LEAST_CANS_LOW_QUARTER)
    return _over(_low_mean(caught, QUARTER), mean)


def distribution_uniformity_low_half(caught: FloatsLike) -> Floats:
    """Mean of the half of the cans that caught least, over the mean of all, DUlh [-].

    Cans are counted as for the low quarter; NaN for fewer than `LEAST_CANS_LOW_HALF`, and where all are dry.
    """
    mean = _enough(caught, _low_mean(caught, 1.0), LEAST_CANS_LOW_HALF)
    return _over(_low_mean(caught, HALF), mean)


def christiansen_from_low_quarter(low_quarter: FloatsLike) -> Floats:
    """Christiansen's coefficient where only DUlq is known and cans are spread normally [-].

    Keller, Bliesner (1990), Sprinkle and trickle irrigation; from memory.

    Examples
    --------
    >>> christiansen_from_low_quarter(0.75)
    array(0.8425)
    """
    return np.asarray(1.0 - 0.63 * (1.0 - np.asarray(low_quarter, dtype=np.float64)))


def potential_efficiency_low_quarter(caught: FloatsLike, applied: FloatsLike) -> Floats:
    """Share of what is applied that would serve if the low quarter just got its need, PELQ [-].

    Merriam, Keller (1978): mean of the low quarter over what leaves the nozzles, in the same unit (depths, or rates).
    """
    return application_efficiency_low_quarter(caught, applied, np.inf)


def application_efficiency_low_quarter(
    caught: FloatsLike, applied: FloatsLike, deficit: FloatsLike
) -> Floats:
    """Share of what was applied that the low quarter could store, AELQ [-].

    Merriam, Keller (1978): what runs below the roots does not serve.

    Parameters
    ----------
    caught : (…, cans)
        Depth in each can. [mm]
    applied
        Depth that left the nozzles over the area. [mm]
    deficit
        Water missing from the root zone before. [mm]

    Examples
    --------
    A low quarter of 10 mm out of 16 mm, on a soil that has room for 8:

    >>> application_efficiency_low_quarter([10.0] * 3 + [16.0] * 9, 16.0, 8.0)
    array(0.5)
    """
    low = _enough(caught, _low_mean(caught, QUARTER), LEAST_CANS_LOW_QUARTER)
    stored = np.minimum(low, np.asarray(deficit, dtype=np.float64))
    return _over(stored, np.asarray(applied, dtype=np.float64))


def cans_in(cans: npt.ArrayLike, share: float) -> npt.NDArray[np.int64]:
    """How many cans are a share of so many: the nearest number, a half upwards.

    Examples
    --------
    >>> cans_in([15, 16], QUARTER)
    array([4, 4])
    """
    return np.floor(np.asarray(cans) * share + 0.5).astype(np.int64)


def _low_mean(caught: FloatsLike, share: float) -> Floats:
    """Mean of the share of the cans that caught least, NaN where none was read."""
    ranked = np.sort(np.asarray(caught, dtype=np.float64), axis=-1)  # NaN goes last
    taken = cans_in((~np.isnan(ranked)).sum(axis=-1), share).astype(np.float64)
    counted = np.arange(ranked.shape[-1]) < taken[..., np.newaxis]
    return _over(np.where(counted, ranked, 0.0).sum(axis=-1), taken)


def _enough(caught: FloatsLike, mean: Floats, least_cans: int) -> Floats:
    """Return the mean where cans enough were read, NaN elsewhere."""
    cans = (~np.isnan(np.asarray(caught, dtype=np.float64))).sum(axis=-1)
    return np.asarray(np.where(cans >= least_cans, mean, np.nan))


def _over(part: Floats, whole: Floats) -> Floats:
    """Part of a whole, NaN where the whole is 0 or unknown."""
    part, whole = np.broadcast_arrays(part, whole)
    return np.asarray(np.divide(part, whole, out=np.full(part.shape, np.nan), where=whole > 0))
