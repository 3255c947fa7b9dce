"""What a weather station lacks, estimated there before it is carried to the sites."""

from dataclasses import dataclass

import numpy as np

from pipeline.agronomy.arrays import Flags, Floats, FloatsLike
from pipeline.agronomy.humidity import humidity_from_temperature_pct
from pipeline.agronomy.radiation import solar_from_temperature_range_mj_m2

WIND_WITHOUT_RECORD_MS = 2.0  # FAO-56 p. 63: the mean of 2000 stations


@dataclass(frozen=True)
class FilledStation:
    """A station's days with its gaps filled, and which values are estimates.

    Attributes
    ----------
    rh_mean_pct, wind_2m_ms, solar_mj_m2
        Measured where there is a measurement, else estimated; NaN on a day that
        lacks a temperature, however much else was measured.
    rh_estimated, wind_estimated, solar_estimated
        True where the value is an estimate.
    """

    rh_mean_pct: Floats
    wind_2m_ms: Floats
    solar_mj_m2: Floats
    rh_estimated: Flags
    wind_estimated: Flags
    solar_estimated: Flags


def fill_station_gaps(
    day_of_year: FloatsLike,
    latitude_deg: FloatsLike,
    tmin_c: FloatsLike,
    tmax_c: FloatsLike,
    rh_mean_pct: FloatsLike,
    wind_2m_ms: FloatsLike,
    solar_mj_m2: FloatsLike,
) -> FilledStation:
    """Estimate the humidity, wind and radiation that a station did not measure.

    Humidity from the lowest temperature (FAO-56 eq. 48), wind 2 m/s (p. 63),
    radiation from the range of temperature (eq. 50, inland). A day is filled
    only if both temperatures are there: without them the station does not have it.

    Parameters
    ----------
    day_of_year, latitude_deg
        1 on 1 January; south is negative. [°]
    tmin_c, tmax_c
        The day's temperatures. [°C]
    rh_mean_pct, wind_2m_ms, solar_mj_m2
        Measurements, NaN where there is none. [%, m/s, MJ/m²/d]

    Examples
    --------
    >>> filled = fill_station_gaps(196, 45.72, 14.8, 26.6, np.nan, 1.5, np.nan)
    >>> filled.solar_mj_m2.round(1), filled.solar_estimated, filled.wind_estimated
    (array([22.3]), array([ True]), array([False]))
    """
    measured = np.broadcast_arrays(
        *(
            np.atleast_1d(np.asarray(column, dtype=np.float64))
            for column in (day_of_year, latitude_deg, tmin_c, tmax_c, rh_mean_pct, wind_2m_ms, solar_mj_m2)
        )
    )
    days, latitudes, lowest, highest, humidity, wind, solar = measured
    has_day = np.isfinite(lowest) & np.isfinite(highest)
    rh, rh_estimated = _filled(humidity, humidity_from_temperature_pct(lowest, highest), has_day)
    wind_2m, wind_estimated = _filled(wind, np.full_like(wind, WIND_WITHOUT_RECORD_MS), has_day)
    estimate = solar_from_temperature_range_mj_m2(days, latitudes, lowest, highest)
    radiation, solar_estimated = _filled(solar, estimate, has_day)
    return FilledStation(rh, wind_2m, radiation, rh_estimated, wind_estimated, solar_estimated)


def _filled(measured: Floats, estimate: Floats, has_day: Flags) -> tuple[Floats, Flags]:
    """Measurement, else estimate; nothing on a day that the station doesn't have."""
    estimated = np.isnan(measured) & np.isfinite(estimate) & has_day
    return np.where(has_day, np.where(estimated, estimate, measured), np.nan), estimated
