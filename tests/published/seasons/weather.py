"""Invented weather of the plateau: cool and dry in the middle of the year, hot before the rains."""

from functools import cache

import numpy as np
import pandas as pd

from pipeline.agronomy.evapotranspiration import reference_evapotranspiration_mm
from pipeline.agronomy.humidity import lowest_humidity_pct
from pipeline.agronomy.radiation import clear_sky_mj_m2, extraterrestrial_mj_m2
from pipeline.agronomy.soil_water import rain_that_counts_mm

LATITUDE_DEG, ELEVATION_M = -13.5, 1100.0
SEED, RAIN_SEED = 7, 11
# chance of rain on a day, January to December, and its depth: some 850 mm a year, from memory of the region
WET_DAY_SHARE = np.array([0.60, 0.55, 0.45, 0.15, 0, 0, 0, 0, 0, 0.05, 0.25, 0.50])
RAIN_SHAPE, RAIN_SCALE_MM = 0.8, 14.0


def plateau(days: pd.DatetimeIndex) -> pd.DataFrame:
    """Weather of each day, the same for the same days. [°C, %, m/s, MJ/m²]"""
    draw = np.random.default_rng(SEED)
    angle = 2 * np.pi * (days.dayofyear.to_numpy() - 300) / 365
    tmin_c = 15 + 4 * np.cos(angle) + draw.normal(0, 1.5, len(days))
    clear = clear_sky_mj_m2(extraterrestrial_mj_m2(days.dayofyear.to_numpy(), LATITUDE_DEG), ELEVATION_M)
    return pd.DataFrame(
        {
            "tmin_c": tmin_c,
            "tmax_c": tmin_c + draw.uniform(5, 15, len(days)),
            "rh_pct": np.clip(65 - 15 * np.cos(angle + 1) + draw.normal(0, 8, len(days)), 20, 98),
            "wind_ms": draw.gamma(4, 0.5, len(days)),
            "solar_mj_m2": clear * draw.uniform(0.3, 1.0, len(days)),
        },
        index=days,
    )


def et0_mm(weather: pd.DataFrame) -> np.ndarray:
    """Reference evapotranspiration of each day, as we compute it."""
    given = (
        weather[column].to_numpy() for column in ("tmin_c", "tmax_c", "rh_pct", "wind_ms", "solar_mj_m2")
    )
    day_of_year = pd.DatetimeIndex(weather.index).dayofyear.to_numpy()
    return reference_evapotranspiration_mm(day_of_year, LATITUDE_DEG, ELEVATION_M, *given)


@cache
def weather_from(first_day: str, days: int, *, rainless: bool) -> pd.DataFrame:
    """Weather of some days with ET0, the day's lowest humidity and rain beside it, trifles left out. [mm, %]"""
    weather = plateau(pd.date_range(first_day, periods=days))
    draw = np.random.default_rng(RAIN_SEED)
    months = pd.DatetimeIndex(weather.index).month.to_numpy()
    wet = draw.random(len(weather)) < WET_DAY_SHARE[months - 1]
    depth_mm = draw.gamma(RAIN_SHAPE, RAIN_SCALE_MM, len(weather))
    lowest = lowest_humidity_pct(weather["tmin_c"], weather["tmax_c"], weather["rh_pct"])
    et0 = et0_mm(weather)
    rain_mm = rain_that_counts_mm(np.where(wet & (not rainless), depth_mm, 0.0), et0)
    return weather.assign(et0_mm=et0, rh_min_pct=lowest, rain_mm=rain_mm)
