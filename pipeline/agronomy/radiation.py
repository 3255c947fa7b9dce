"""Radiation of a day: from outside the air down to what the crop keeps."""

import numpy as np

from pipeline.agronomy.arrays import Floats, FloatsLike

SOLAR_CONSTANT_MJ_M2_MIN = 0.0820  # FAO-56 eq. 21
STEFAN_BOLTZMANN_MJ_K4_M2 = 4.903e-9  # a day, FAO-56 eq. 39
KELVIN_OFFSET = 273.16  # as FAO-56 eq. 39 has it; its tables need it
ALBEDO = 0.23  # the reference grass, FAO-56 eq. 38
KRS_INTERIOR = 0.16  # 1/√°C, FAO-56 eq. 50: away from a coast
# FAO-56 limits Rs/Rso to 1 and calls 0.33 dense cloud; the standard form of the same
# equation stops at 0.3 (ASCE-EWRI 2005, eq. 18), below which Rnl would turn negative
CLOUD_LIMITS = (0.3, 1.0)


def declination_rad(day_of_year: FloatsLike) -> Floats:
    """Solar declination δ, FAO-56 eq. 24 [rad]."""
    days = np.asarray(day_of_year, dtype=np.float64)
    return np.asarray(0.409 * np.sin(2.0 * np.pi / 365.0 * days - 1.39))


def inverse_distance(day_of_year: FloatsLike) -> Floats:
    """Inverse relative distance of the sun dᵣ, FAO-56 eq. 23 [-]."""
    days = np.asarray(day_of_year, dtype=np.float64)
    return np.asarray(1.0 + 0.033 * np.cos(2.0 * np.pi / 365.0 * days))


def sunset_hour_angle_rad(day_of_year: FloatsLike, latitude_deg: FloatsLike) -> Floats:
    """Hour angle of the sunset, FAO-56 eq. 25: 0 in polar night, π in polar day [rad]."""
    latitude = np.radians(np.asarray(latitude_deg, dtype=np.float64))
    declination = declination_rad(day_of_year)
    return np.asarray(np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0)))


def daylight_hours(day_of_year: FloatsLike, latitude_deg: FloatsLike) -> Floats:
    """Daylight hours N, FAO-56 eq. 34 [h].

    Examples
    --------
    >>> float(daylight_hours(105, 13.73).round(2))
    12.31
    """
    return np.asarray(24.0 / np.pi * sunset_hour_angle_rad(day_of_year, latitude_deg))


def extraterrestrial_mj_m2(day_of_year: FloatsLike, latitude_deg: FloatsLike) -> Floats:
    """Radiation Ra on a level surface outside the air, FAO-56 eq. 21 to 25 [MJ/m²/d].

    Parameters
    ----------
    day_of_year
        1 on 1 January.
    latitude_deg
        South is negative. [°]

    Examples
    --------
    >>> float(extraterrestrial_mj_m2(246, -20).round(1))
    32.2
    """
    latitude = np.radians(np.asarray(latitude_deg, dtype=np.float64))
    declination = declination_rad(day_of_year)
    sunset = sunset_hour_angle_rad(day_of_year, latitude_deg)
    height = sunset * np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(
        declination
    ) * np.sin(sunset)
    return np.asarray(24.0 * 60.0 / np.pi * SOLAR_CONSTANT_MJ_M2_MIN * inverse_distance(day_of_year) * height)


def clear_sky_mj_m2(outside_mj_m2: FloatsLike, elevation_m: FloatsLike) -> Floats:
    """Radiation Rso under a clear sky, FAO-56 eq. 37 [MJ/m²/d]."""
    elevation = np.asarray(elevation_m, dtype=np.float64)
    return np.asarray((0.75 + 2e-5 * elevation) * np.asarray(outside_mj_m2, dtype=np.float64))


def solar_from_sunshine_mj_m2(
    outside_mj_m2: FloatsLike, sunshine_h: FloatsLike, day_length_h: FloatsLike
) -> Floats:
    """Solar radiation from hours of bright sunshine, FAO-56 eq. 35 (0.25, 0.50) [MJ/m²/d]."""
    bright = np.asarray(sunshine_h, dtype=np.float64) / np.asarray(day_length_h, dtype=np.float64)
    return np.asarray((0.25 + 0.50 * bright) * np.asarray(outside_mj_m2, dtype=np.float64))


def solar_from_temperature_range_mj_m2(
    day_of_year: FloatsLike,
    latitude_deg: FloatsLike,
    tmin_c: FloatsLike,
    tmax_c: FloatsLike,
    krs: float = KRS_INTERIOR,
) -> Floats:
    """Solar radiation from the day's range of temperature, FAO-56 eq. 50 [MJ/m²/d].

    Parameters
    ----------
    day_of_year, latitude_deg
        As for the radiation outside the air.
    tmin_c, tmax_c
        The day's temperatures; NaN comes back where they are the wrong way round. [°C]
    krs
        0.16 inland, about 0.19 on a coast. [1/√°C]

    Examples
    --------
    >>> float(solar_from_temperature_range_mj_m2(196, 45.72, 14.8, 26.6).round(1))
    22.3
    """
    spread = np.asarray(tmax_c, dtype=np.float64) - np.asarray(tmin_c, dtype=np.float64)
    root = np.sqrt(np.where(spread >= 0, spread, np.nan))
    return np.asarray(krs * root * extraterrestrial_mj_m2(day_of_year, latitude_deg))


def net_shortwave_mj_m2(solar_mj_m2: FloatsLike) -> Floats:
    """Solar radiation that the reference grass does not reflect, FAO-56 eq. 38 [MJ/m²/d]."""
    return np.asarray((1.0 - ALBEDO) * np.asarray(solar_mj_m2, dtype=np.float64))


def black_body_mj_m2(air_c: FloatsLike) -> Floats:
    """Radiation of a black body in a day, FAO-56 Table 2.8 [MJ/m²/d]."""
    return np.asarray(STEFAN_BOLTZMANN_MJ_K4_M2 * (np.asarray(air_c, dtype=np.float64) + KELVIN_OFFSET) ** 4)


def net_longwave_mj_m2(
    tmin_c: FloatsLike, tmax_c: FloatsLike, vapour_kpa: FloatsLike, share_of_clear_sky: FloatsLike
) -> Floats:
    """Net outgoing long-wave radiation Rnl, FAO-56 eq. 39 [MJ/m²/d].

    Parameters
    ----------
    tmin_c, tmax_c
        The day's temperatures. [°C]
    vapour_kpa
        Actual vapour pressure; NaN comes back below 0. [kPa]
    share_of_clear_sky
        Rs/Rso, kept within `CLOUD_LIMITS`.
    """
    vapour = np.asarray(vapour_kpa, dtype=np.float64)
    emitted = (black_body_mj_m2(tmin_c) + black_body_mj_m2(tmax_c)) / 2.0
    humid = 0.34 - 0.14 * np.sqrt(np.where(vapour >= 0, vapour, np.nan))
    cloudy = 1.35 * np.clip(np.asarray(share_of_clear_sky, dtype=np.float64), *CLOUD_LIMITS) - 0.35
    return np.asarray(emitted * humid * cloudy)
