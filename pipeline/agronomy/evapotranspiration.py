"""Reference evapotranspiration of a day, FAO-56 Penman–Monteith, and Hargreaves apart."""

import numpy as np

from pipeline.agronomy.arrays import Floats, FloatsLike
from pipeline.agronomy.humidity import (
    actual_vapour_pressure_kpa,
    mean_saturation_vapour_pressure_kpa,
    pressure_kpa,
    psychrometric_constant_kpa_c,
    saturation_slope_kpa_c,
)
from pipeline.agronomy.radiation import (
    clear_sky_mj_m2,
    extraterrestrial_mj_m2,
    net_longwave_mj_m2,
    net_shortwave_mj_m2,
)

MJ_TO_MM = 0.408  # 1 MJ/m² evaporates 0.408 mm, FAO-56 eq. 20
DAILY_AERODYNAMIC = 900.0  # FAO-56 eq. 6, mm and a day
HOURLY_AERODYNAMIC = 37.0  # FAO-56 eq. 53, mm and an hour


def wind_at_2m_ms(wind_ms: FloatsLike, height_m: FloatsLike) -> Floats:
    """Wind speed at 2 m from another height over grass, FAO-56 eq. 47 [m/s].

    Examples
    --------
    >>> float(wind_at_2m_ms(10 / 3.6, 10).round(3))
    2.078
    """
    height = np.asarray(height_m, dtype=np.float64)
    return np.asarray(np.asarray(wind_ms, dtype=np.float64) * 4.87 / np.log(67.8 * height - 5.42))


def soil_heat_mj_m2(warming_c_per_month: FloatsLike) -> Floats:
    """Heat that goes into the soil in a month, FAO-56 eq. 43 and 44 [MJ/m²/d].

    Over a day it is taken as 0 (eq. 42).

    Parameters
    ----------
    warming_c_per_month
        Rise of the mean temperature: from the month before to this one, or half
        of that from the month before to the month after. [°C/month]
    """
    return np.asarray(0.14 * np.asarray(warming_c_per_month, dtype=np.float64))


def penman_monteith_mm(
    mean_c: FloatsLike,
    net_radiation_mj_m2: FloatsLike,
    wind_2m_ms: FloatsLike,
    vapour_deficit_kpa: FloatsLike,
    psychrometric_kpa_c: FloatsLike,
    aerodynamic: float = DAILY_AERODYNAMIC,
) -> Floats:
    """Evapotranspiration of the reference grass, FAO-56 eq. 6 and 53 [mm in the time step].

    Parameters
    ----------
    mean_c
        Mean temperature of the time step. [°C]
    net_radiation_mj_m2
        Net radiation less what goes into the soil, in the time step. [MJ/m²]
    wind_2m_ms
        At 2 m. [m/s]
    vapour_deficit_kpa
        Saturation less actual vapour pressure. [kPa]
    psychrometric_kpa_c
        γ. [kPa/°C]
    aerodynamic
        900 for a day, 37 for an hour.
    """
    mean = np.asarray(mean_c, dtype=np.float64)
    wind = np.asarray(wind_2m_ms, dtype=np.float64)
    gamma = np.asarray(psychrometric_kpa_c, dtype=np.float64)
    slope = saturation_slope_kpa_c(mean)
    by_radiation = MJ_TO_MM * slope * np.asarray(net_radiation_mj_m2, dtype=np.float64)
    by_wind = gamma * aerodynamic / (mean + 273.0) * wind * np.asarray(vapour_deficit_kpa, dtype=np.float64)
    return np.asarray((by_radiation + by_wind) / (slope + gamma * (1.0 + 0.34 * wind)))


def reference_evapotranspiration_mm(
    day_of_year: FloatsLike,
    latitude_deg: FloatsLike,
    elevation_m: FloatsLike,
    tmin_c: FloatsLike,
    tmax_c: FloatsLike,
    rh_mean_pct: FloatsLike,
    wind_2m_ms: FloatsLike,
    solar_mj_m2: FloatsLike,
) -> Floats:
    """ET₀, the evapotranspiration of the reference grass in a day, FAO-56 Penman–Monteith [mm/d].

    Nothing is estimated here: what a station lacks is filled in before
    (`pipeline.agronomy.station.fill_station_gaps`).

    Parameters
    ----------
    day_of_year
        1 on 1 January. All parameters are arrays that broadcast.
    latitude_deg
        South is negative. [°]
    elevation_m
        Above sea level. [m]
    tmin_c, tmax_c
        The day's temperatures. [°C]
    rh_mean_pct
        Mean relative humidity (eq. 19). [%]
    wind_2m_ms
        Mean wind at 2 m. [m/s]
    solar_mj_m2
        Solar radiation. [MJ/m²/d]

    Returns
    -------
    (n,)
        ET₀, never below 0. [mm/d] NaN where an input is NaN.

    Examples
    --------
    FAO-56 Example 18, Uccle on 6 July, prints 3.9 (its humidity is 1.409 kPa):

    >>> float(reference_evapotranspiration_mm(187, 50.8, 100, 12.3, 21.5, 70.56, 2.078, 22.07).round(1))
    3.9
    """
    lowest, highest = np.asarray(tmin_c, dtype=np.float64), np.asarray(tmax_c, dtype=np.float64)
    solar = np.asarray(solar_mj_m2, dtype=np.float64)
    saturation = mean_saturation_vapour_pressure_kpa(lowest, highest)
    vapour = actual_vapour_pressure_kpa(saturation, rh_mean_pct)
    clear_sky = clear_sky_mj_m2(extraterrestrial_mj_m2(day_of_year, latitude_deg), elevation_m)
    # in polar night there is no clear sky to compare with
    share = np.divide(
        solar, clear_sky, out=np.full(np.broadcast(solar, clear_sky).shape, np.nan), where=clear_sky > 0
    )
    depth_mm = penman_monteith_mm(
        (lowest + highest) / 2.0,
        net_shortwave_mj_m2(solar) - net_longwave_mj_m2(lowest, highest, vapour, share),
        wind_2m_ms,
        saturation - vapour,
        psychrometric_constant_kpa_c(pressure_kpa(elevation_m)),
    )
    return np.asarray(np.maximum(depth_mm, 0.0))  # dew is no need


def hargreaves_mm(outside_mj_m2: FloatsLike, tmin_c: FloatsLike, tmax_c: FloatsLike) -> Floats:
    """Evapotranspiration from temperature alone, Hargreaves, FAO-56 eq. 52 [mm/d].

    For comparison only: it is not the FAO-56 method and may lie a tenth from it.

    Examples
    --------
    >>> float(hargreaves_mm(40.55, 14.8, 26.6).round(1))
    5.0
    """
    lowest, highest = np.asarray(tmin_c, dtype=np.float64), np.asarray(tmax_c, dtype=np.float64)
    spread = np.where(highest >= lowest, highest - lowest, np.nan)
    outside_mm = MJ_TO_MM * np.asarray(outside_mj_m2, dtype=np.float64)
    return np.asarray(0.0023 * ((lowest + highest) / 2.0 + 17.8) * np.sqrt(spread) * outside_mm)
