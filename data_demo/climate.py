"""Weather of the plateau: one rainy season a year, November to April."""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import numpy.typing as npt

from data_demo.arrivals import LAST_DAY
from data_demo.streams import stream
from pipeline.agronomy.evapotranspiration import reference_evapotranspiration_mm
from pipeline.agronomy.sun import day_of_year, daylight

Floats = npt.NDArray[np.float64]
Days = npt.NDArray[np.datetime64]

LATITUDE, LONGITUDE = -13.5, 33.8
# by month; about 850 mm a year (the plateau's order of magnitude, from memory)
WET_CHANCE = np.array([0.58, 0.57, 0.42, 0.16, 0.03, 0.01, 0.01, 0.01, 0.02, 0.06, 0.23, 0.52])
WET_DAY_MM = np.array([11.5, 12, 11, 8, 5, 3, 3, 3, 4, 7, 10, 11.5])


@dataclass(frozen=True)
class Climate:
    """One day a row, the programme's mean weather. Temperatures are those at 1,100 m."""

    day: Days
    tmin_c: Floats
    tmax_c: Floats
    rh_mean_pct: Floats
    wind_2m_ms: Floats
    solar_mj_m2: Floats
    rain_mm: Floats
    et0_mm: Floats
    service_h: Floats  # from an hour after sunrise to an hour before sunset


def climate(seed: int, days: Days, purpose: str = "climate") -> Climate:
    """Return the weather of each day, drawn from the stream of a purpose."""
    draw = stream(seed, purpose)
    month = (days.astype("datetime64[M]").astype(int) % 12).astype(int)
    year_angle = 2 * np.pi * (day_of_year(days) - 15) / 365.25
    wet = draw.random(len(days)) < WET_CHANCE[month]
    rain = np.where(wet, draw.gamma(0.9, WET_DAY_MM[month] / 0.9), 0.0).round(1)
    warm = 3.0 * np.cos(year_angle - 5.0)  # warmest in October and November
    tmax = 26.5 + warm - 2.0 * wet + draw.normal(0, 1.2, len(days))
    tmin = 15.5 + 3.6 * np.cos(year_angle) + draw.normal(0, 1.0, len(days))
    tmin = np.minimum(tmin, tmax - 4)
    humidity = np.clip(64 + 17 * np.cos(year_angle - 0.6) + 8 * wet + draw.normal(0, 4, len(days)), 25, 98)
    wind = np.clip(2.0 + 0.5 * np.cos(year_angle - 5.2) + draw.normal(0, 0.4, len(days)), 0.4, 6)
    solar = 21.5 + 2.2 * np.cos(year_angle - 5.3) - 5.5 * wet + draw.normal(0, 1.4, len(days))
    solar = np.clip(solar, 7, 28)
    et0 = reference_evapotranspiration_mm(
        day_of_year(days), LATITUDE, 1100.0, tmin, tmax, humidity, wind, solar
    )
    return Climate(
        days,
        tmin,
        tmax,
        humidity,
        wind,
        solar,
        rain,
        np.asarray(et0),
        daylight(LATITUDE, LONGITUDE, days).within(1.0, 1.0).hours,
    )


def weather_of(seed: int, days: int) -> Climate:
    """Return the weather of a programme of so many days; the last day is fixed."""
    first_day = LAST_DAY - timedelta(days=days - 1)
    return climate(seed, np.arange(np.datetime64(first_day), np.datetime64(LAST_DAY) + 1))
