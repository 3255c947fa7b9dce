"""Published rules for effective rain, to hold the daily store against.

The programme's figures use the daily store (`effective_rain`).
"""

import numpy as np

from pipeline.agronomy.arrays import Floats, FloatsLike

MM_PER_INCH = 25.4
# where each rule bends [mm/month]
USDA_SCS_BEND_MM = 250.0
TRAINING_MANUAL_BEND_MM = 75.0
DEPENDABLE_BEND_MM = 70.0


def usda_scs_mm(rain_mm: FloatsLike) -> Floats:
    """USDA-SCS rule, short form, FAO Paper 46 (Smith 1992) [mm/month].

    Examples
    --------
    >>> usda_scs_mm([100.0, 300.0])
    array([ 84., 155.])
    """
    rain = np.asarray(rain_mm, dtype=np.float64)
    return np.asarray(
        np.where(rain <= USDA_SCS_BEND_MM, rain * (125.0 - 0.2 * rain) / 125.0, 125.0 + 0.1 * rain)
    )


def training_manual_mm(rain_mm: FloatsLike) -> Floats:
    """Rule of FAO Irrigation Water Management Training Manual 3 (Brouwer, Heibloem 1986) [mm/month]."""
    rain = np.asarray(rain_mm, dtype=np.float64)
    return np.asarray(
        np.maximum(np.where(rain > TRAINING_MANUAL_BEND_MM, 0.8 * rain - 25.0, 0.6 * rain - 10.0), 0.0)
    )


def dependable_mm(rain_mm: FloatsLike) -> Floats:
    """Dependable rain of FAO/AGLW, FAO Paper 46 (Smith 1992) [mm/month]."""
    rain = np.asarray(rain_mm, dtype=np.float64)
    return np.asarray(
        np.maximum(np.where(rain > DEPENDABLE_BEND_MM, 0.8 * rain - 24.0, 0.6 * rain - 10.0), 0.0)
    )


def storage_factor(usable_storage_mm: FloatsLike) -> Floats:
    """Soil storage factor of TR-21 (USDA-SCS 1970): 1 at 3 inches [-]."""
    depth_in = np.asarray(usable_storage_mm, dtype=np.float64) / MM_PER_INCH
    return np.asarray(0.531747 + 0.295164 * depth_in - 0.057697 * depth_in**2 + 0.003804 * depth_in**3)


def tr21_mm(rain_mm: FloatsLike, etc_mm: FloatsLike, usable_storage_mm: FloatsLike) -> Floats:
    """Effective rain of a month by TR-21 (USDA-SCS 1970), at most the rain and the need [mm/month].

    Parameters
    ----------
    rain_mm, etc_mm
        Rain and crop need of the month. [mm]
    usable_storage_mm
        Depth that an irrigation usually fills. [mm]
    """
    rain, need = np.asarray(rain_mm, dtype=np.float64), np.asarray(etc_mm, dtype=np.float64)
    # the power holds P alone; the coefficients are for inches
    by_rain = 0.70917 * (rain / MM_PER_INCH) ** 0.82416 - 0.11556
    by_need = 10.0 ** (0.02426 * need / MM_PER_INCH)
    effective = storage_factor(usable_storage_mm) * by_rain * by_need * MM_PER_INCH
    return np.asarray(np.clip(effective, 0.0, np.minimum(rain, need)))


def texas_daily_mm(rain_mm: FloatsLike) -> Floats:
    """Effective rain of a day by Texas A&M AgriLife: a tenth of an inch lost, none above two [mm/d]."""
    bends_mm = np.array([0.1, 1.0, 2.0]) * MM_PER_INCH
    effective_mm = np.array([0.0, 0.9, 0.9 + 2.0 / 3.0]) * MM_PER_INCH
    return np.asarray(np.interp(np.asarray(rain_mm, dtype=np.float64), bends_mm, effective_mm))
