"""Air: its pressure, the vapour that it can hold and the vapour that it holds."""

import numpy as np

from pipeline.agronomy.arrays import Floats, FloatsLike

VENTILATED_PSYCHROMETER_PER_C = 0.000662  # FAO-56 eq. 16, Asmann type at 5 m/s


def pressure_kpa(elevation_m: FloatsLike) -> Floats:
    """Atmospheric pressure at an elevation, FAO-56 eq. 7 [kPa].

    Parameters
    ----------
    elevation_m
        Above sea level. [m]

    Examples
    --------
    >>> float(pressure_kpa(1800).round(1))
    81.8
    """
    elevation = np.asarray(elevation_m, dtype=np.float64)
    return np.asarray(101.3 * ((293.0 - 0.0065 * elevation) / 293.0) ** 5.26)


def psychrometric_constant_kpa_c(air_pressure_kpa: FloatsLike) -> Floats:
    """Psychrometric constant γ, FAO-56 eq. 8 [kPa/°C]."""
    return np.asarray(0.665e-3 * np.asarray(air_pressure_kpa, dtype=np.float64))


def saturation_vapour_pressure_kpa(air_c: FloatsLike) -> Floats:
    """Vapour pressure of saturated air, e°(T), FAO-56 eq. 11 [kPa].

    Examples
    --------
    >>> saturation_vapour_pressure_kpa([15.0, 24.5]).round(3)
    array([1.705, 3.075])
    """
    air = np.asarray(air_c, dtype=np.float64)
    return np.asarray(0.6108 * np.exp(17.27 * air / (air + 237.3)))


def mean_saturation_vapour_pressure_kpa(tmin_c: FloatsLike, tmax_c: FloatsLike) -> Floats:
    """Mean of e°(T) at the day's two temperatures, FAO-56 eq. 12 [kPa].

    At the mean temperature it would come out too low: the curve bends.
    """
    return (saturation_vapour_pressure_kpa(tmin_c) + saturation_vapour_pressure_kpa(tmax_c)) / 2.0


def saturation_slope_kpa_c(air_c: FloatsLike) -> Floats:
    """Slope Δ of the saturation curve, FAO-56 eq. 13 [kPa/°C]."""
    air = np.asarray(air_c, dtype=np.float64)
    return np.asarray(4098.0 * saturation_vapour_pressure_kpa(air) / (air + 237.3) ** 2)


def actual_vapour_pressure_kpa(saturation_kpa: FloatsLike, rh_pct: FloatsLike) -> Floats:
    """Vapour that the air holds, from relative humidity [kPa].

    With the day's mean saturation pressure and mean humidity it is FAO-56 eq. 19.

    Parameters
    ----------
    saturation_kpa
        Saturation vapour pressure. [kPa]
    rh_pct
        Relative humidity. [%]
    """
    saturation = np.asarray(saturation_kpa, dtype=np.float64)
    return np.asarray(saturation * np.asarray(rh_pct, dtype=np.float64) / 100.0)


def humidity_from_temperature_pct(tmin_c: FloatsLike, tmax_c: FloatsLike) -> Floats:
    """Mean relative humidity of a day whose dew point was its lowest temperature [%].

    FAO-56 eq. 48 (vapour pressure is e°(Tmin)), written as the mean humidity that
    eq. 19 turns back into that vapour pressure.

    Examples
    --------
    >>> float(humidity_from_temperature_pct(14.8, 26.6).round(1))
    65.2
    """
    saturation = mean_saturation_vapour_pressure_kpa(tmin_c, tmax_c)
    return np.asarray(100.0 * saturation_vapour_pressure_kpa(tmin_c) / saturation)


def vapour_pressure_from_wet_bulb_kpa(
    dry_bulb_c: FloatsLike,
    wet_bulb_c: FloatsLike,
    air_pressure_kpa: FloatsLike,
    psychrometer_per_c: float = VENTILATED_PSYCHROMETER_PER_C,
) -> Floats:
    """Vapour that the air holds, from a psychrometer's two thermometers, FAO-56 eq. 15 and 16 [kPa].

    Parameters
    ----------
    dry_bulb_c, wet_bulb_c
        Readings of the dry and the wetted thermometer. [°C]
    air_pressure_kpa
        Atmospheric pressure. [kPa]
    psychrometer_per_c
        Of the instrument: 0.000662 ventilated at 5 m/s, 0.0008 by the wind at 1 m/s,
        0.0012 indoors without ventilation. [1/°C]

    Examples
    --------
    FAO-56 Example 4 (p. 38), 1200 m above the sea, prints 1.91:

    >>> float(vapour_pressure_from_wet_bulb_kpa(25.6, 19.5, pressure_kpa(1200)).round(2))
    1.91
    """
    dry, wet = np.asarray(dry_bulb_c, dtype=np.float64), np.asarray(wet_bulb_c, dtype=np.float64)
    constant = psychrometer_per_c * np.asarray(air_pressure_kpa, dtype=np.float64)
    return np.asarray(saturation_vapour_pressure_kpa(wet) - constant * (dry - wet))


def lowest_humidity_pct(tmin_c: FloatsLike, tmax_c: FloatsLike, rh_mean_pct: FloatsLike) -> Floats:
    """Relative humidity at the day's highest temperature, its vapour being the day's [%].

    Vapour of eq. 19 over e°(Tmax), at most 100 %: FAO-56 eq. 63 (number from memory).

    Examples
    --------
    >>> float(lowest_humidity_pct(15.0, 27.0, 60.0).round(1))
    44.3
    """
    vapour = actual_vapour_pressure_kpa(mean_saturation_vapour_pressure_kpa(tmin_c, tmax_c), rh_mean_pct)
    return np.asarray(np.minimum(100.0 * vapour / saturation_vapour_pressure_kpa(tmax_c), 100.0))
