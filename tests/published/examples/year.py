"""A generated year of the plateau, and its evapotranspiration by libraries that others wrote."""

from functools import cache

import numpy as np
import pandas as pd
import pyet
import refet

from pipeline.agronomy.humidity import mean_saturation_vapour_pressure_kpa
from tests.published.seasons.weather import ELEVATION_M, LATITUDE_DEG, et0_mm, plateau

DAYS = pd.date_range("2025-01-01", "2025-12-31", freq="D")


@cache
def year() -> pd.DataFrame:
    """The year."""
    return plateau(DAYS)


@cache
def ours_mm() -> np.ndarray:
    """What our function makes of it."""
    return et0_mm(year())


def vapour_kpa() -> np.ndarray:
    """The air's vapour, FAO-56 eq. 19: the libraries take it, not the humidity."""
    saturation = mean_saturation_vapour_pressure_kpa(year()["tmin_c"], year()["tmax_c"])
    return saturation * year()["rh_pct"].to_numpy() / 100


def largest_difference_to_pyet_mm() -> float:
    """Of a day, to pyet's FAO-56."""
    theirs = pyet.pm_fao56(
        tmean=(year()["tmin_c"] + year()["tmax_c"]) / 2,
        wind=year()["wind_ms"],
        rs=year()["solar_mj_m2"],
        tmax=year()["tmax_c"],
        tmin=year()["tmin_c"],
        ea=pd.Series(vapour_kpa(), index=DAYS),
        elevation=ELEVATION_M,
        lat=np.radians(LATITUDE_DEG),
    )
    return float(np.abs(theirs.to_numpy() - ours_mm()).max())


def largest_difference_to_refet_mm() -> float:
    """Of a day, to refet's ASCE short reference."""
    theirs = refet.Daily(
        tmin=year()["tmin_c"].to_numpy(),
        tmax=year()["tmax_c"].to_numpy(),
        ea=vapour_kpa(),
        rs=year()["solar_mj_m2"].to_numpy(),
        uz=year()["wind_ms"].to_numpy(),
        zw=2,
        elev=ELEVATION_M,
        lat=LATITUDE_DEG,
        doy=DAYS.dayofyear.to_numpy(),
        method="asce",
    ).eto()
    return float(np.abs(theirs - ours_mm()).max())
