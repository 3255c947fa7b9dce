"""The crop coefficient of a day, and its adjustment to the climate."""

import numpy as np

from pipeline.agronomy.arrays import Floats, FloatsLike

# FAO-56 p. 123: outside these, eq. 62 is not held to be valid, and the limit is used
WIND_LIMITS_MS = (1.0, 6.0)
RH_MIN_LIMITS_PCT = (20.0, 80.0)
HEIGHT_LIMITS_M = (0.1, 10.0)
ADJUSTED_FROM_KC = 0.45  # FAO-56 p. 127: a lower Kc end stays as tabulated


def crop_coefficient(
    day_number: FloatsLike,
    kc_ini: FloatsLike,
    kc_mid: FloatsLike,
    kc_end: FloatsLike,
    ini_days: FloatsLike,
    dev_days: FloatsLike,
    mid_days: FloatsLike,
    late_days: FloatsLike,
) -> Floats:
    """Crop coefficient Kc on a day of the crop, FAO-56 eq. 66 [-].

    Parameters
    ----------
    day_number
        Day of the crop; the day of planting is 1. All parameters are arrays that
        broadcast.
    kc_ini, kc_mid, kc_end
        Coefficients of the stages. [-]
    ini_days, dev_days, mid_days, late_days
        Lengths of the stages; 0 leaves a stage out. [d]

    Returns
    -------
    (n,)
        Kc. [-] NaN before day 1, after the last stage, and where an input is NaN.

    Examples
    --------
    FAO-56 Example 28 (p. 133), days 20, 40, 70 and 95:

    >>> crop_coefficient([20, 40, 70, 95], 0.15, 1.19, 0.35, 25, 25, 30, 20).round(2)
    array([0.15, 0.77, 1.19, 0.56])
    """
    days = np.asarray(day_number, dtype=np.float64)
    initial, middle, final = (np.asarray(kc, dtype=np.float64) for kc in (kc_ini, kc_mid, kc_end))
    ini, dev, mid, late = (
        np.asarray(stage, dtype=np.float64) for stage in (ini_days, dev_days, mid_days, late_days)
    )
    rising = initial + _share_done(days - ini, dev) * (middle - initial)
    falling = middle + _share_done(days - ini - dev - mid, late) * (final - middle)
    standing = (days >= 1) & (days <= ini + dev + mid + late)
    kc = np.where(days <= ini + dev, rising, falling)
    return np.asarray(np.where(standing, kc, np.nan))


def _share_done(days_in: Floats, stage_days: Floats) -> Floats:
    """Share of a stage that is over, 0 before it, 1 after it."""
    days_in, stage_days = np.broadcast_arrays(days_in, stage_days)
    # a stage of no days is over on the day after the stage before it
    over = np.where(days_in > 0, 1.0, 0.0)
    share = np.divide(days_in, stage_days, out=over, where=stage_days != 0)
    return np.clip(share, 0.0, 1.0)


def kc_mid_in_climate(
    kc_mid: FloatsLike, wind_2m_ms: FloatsLike, rh_min_pct: FloatsLike, height_m: FloatsLike
) -> Floats:
    """Kc of the mid-season in a climate that is not sub-humid, FAO-56 eq. 62 [-].

    Parameters
    ----------
    kc_mid
        As tabulated. [-]
    wind_2m_ms, rh_min_pct
        Means over the stage of the wind and of the day's lowest humidity; outside
        the limits of the equation the limit counts. [m/s, %]
    height_m
        Mean height of the crop in the stage. [m]

    Examples
    --------
    Maize in a humid, calm and in an arid, windy place (FAO-56 Example 27):

    >>> kc_mid_in_climate(1.20, [1.3, 4.6], [75, 44], 2.0).round(2)
    array([1.07, 1.3 ])
    """
    departure = climate_departure(wind_2m_ms, rh_min_pct)
    return np.asarray(np.asarray(kc_mid, dtype=np.float64) + departure * _height_weight(height_m))


def climate_departure(wind_2m_ms: FloatsLike, rh_min_pct: FloatsLike) -> Floats:
    """How far a climate moves the Kc of a crop of 3 m, FAO-56 eq. 62: 0 at 2 m/s and 45 % [-].

    Parameters
    ----------
    wind_2m_ms, rh_min_pct
        Wind and lowest humidity; outside the limits of the equation the limit counts. [m/s, %]

    Examples
    --------
    >>> climate_departure([2.0, 4.6], [45, 44]).round(3)
    array([0.   , 0.108])
    """
    wind = np.clip(np.asarray(wind_2m_ms, dtype=np.float64), *WIND_LIMITS_MS)
    humidity = np.clip(np.asarray(rh_min_pct, dtype=np.float64), *RH_MIN_LIMITS_PCT)
    return np.asarray(0.04 * (wind - 2.0) - 0.004 * (humidity - 45.0))


def _height_weight(height_m: FloatsLike) -> Floats:
    """Share of the departure that a crop of this height takes, FAO-56 eq. 62."""
    height = np.clip(np.asarray(height_m, dtype=np.float64), *HEIGHT_LIMITS_M)
    return np.asarray((height / 3.0) ** 0.3)


def climate_share(
    day_number: FloatsLike,
    kc_end: FloatsLike,
    ini_days: FloatsLike,
    dev_days: FloatsLike,
    mid_days: FloatsLike,
    late_days: FloatsLike,
    height_m: FloatsLike,
) -> Floats:
    """How much of the climate's departure the Kc of a day takes, FAO-56 eq. 62, 65 and 66 [-].

    The curve of eq. 66 is linear in its three coefficients, so Kc with an adjusted middle and end is
    the tabulated Kc and this share of the departure. Taken day by day, its mean over a stage is that of
    FAO-56, which takes the stage's mean wind and humidity; only the limits of eq. 62 bend it.

    Parameters
    ----------
    day_number, ini_days, dev_days, mid_days, late_days
        As for `crop_coefficient`. [d]
    kc_end
        As tabulated: below 0.45 the end is not adjusted. [-]
    height_m
        Greatest height of the crop. [m]

    Examples
    --------
    A crop of 3 m whose end is not adjusted, in its initial, middle and last days:

    >>> climate_share([5, 25, 40], 0.35, 10, 10, 10, 10, 3.0)
    array([0., 1., 0.])
    """
    end = np.where(np.asarray(kc_end, dtype=np.float64) >= ADJUSTED_FROM_KC, 1.0, 0.0)
    curve = crop_coefficient(day_number, 0.0, 1.0, end, ini_days, dev_days, mid_days, late_days)
    return np.asarray(curve * _height_weight(height_m))


def kc_end_in_climate(
    kc_end: FloatsLike, wind_2m_ms: FloatsLike, rh_min_pct: FloatsLike, height_m: FloatsLike
) -> Floats:
    """Kc at the end of the late season, FAO-56 eq. 65: below 0.45 it stays as tabulated [-]."""
    tabulated = np.asarray(kc_end, dtype=np.float64)
    adjusted = kc_mid_in_climate(tabulated, wind_2m_ms, rh_min_pct, height_m)
    return np.asarray(np.where(tabulated >= ADJUSTED_FROM_KC, adjusted, tabulated))
