"""A generated year of the plateau, and its evapotranspiration by libraries that others wrote."""

from functools import cache

import numpy as np
import pandas as pd
import pyet
import refet

from pipeline.agronomy.evapotranspiration import reference_evapotranspiration_mm
from pipeline.agronomy.humidity import mean_saturation_vapour_pressure_kpa
from pipeline.agronomy.radiation import clear_sky_mj_m2, extraterrestrial_mj_m2

LATITUDE_DEG, ELEVATION_M = -13.5, 1100.0
DAYS = pd.date_range("2025-01-01", "2025-12-31", freq="D")


@cache
def year() -> pd.DataFrame:
    """A year of the plateau: cool and dry in the middle, hot before the rains."""
    draw = np.random.default_rng(7)
    angle = 2 * np.pi * (DAYS.dayofyear.to_numpy() - 300) / 365
    tmin_c = 15 + 4 * np.cos(angle) + draw.normal(0, 1.5, len(DAYS))
    clear = clear_sky_mj_m2(extraterrestrial_mj_m2(DAYS.dayofyear.to_numpy(), LATITUDE_DEG), ELEVATION_M)
    return pd.DataFrame(
        {
            "tmin_c": tmin_c,
            "tmax_c": tmin_c + draw.uniform(5, 15, len(DAYS)),
            "rh_pct": np.clip(65 - 15 * np.cos(angle + 1) + draw.normal(0, 8, len(DAYS)), 20, 98),
            "wind_ms": draw.gamma(4, 0.5, len(DAYS)),
            "solar_mj_m2": clear * draw.uniform(0.3, 1.0, len(DAYS)),
        },
        index=DAYS,
    )


@cache
def ours_mm() -> np.ndarray:
    """What our function makes of it."""
    given = (year()[column].to_numpy() for column in ("tmin_c", "tmax_c", "rh_pct", "wind_ms", "solar_mj_m2"))
    return reference_evapotranspiration_mm(DAYS.dayofyear.to_numpy(), LATITUDE_DEG, ELEVATION_M, *given)


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
