"""Reference evapotranspiration of a generated year, against two libraries that others wrote."""

import numpy as np
import pandas as pd
import pyet
import pytest
import refet

from pipeline.agronomy.evapotranspiration import reference_evapotranspiration_mm
from pipeline.agronomy.humidity import mean_saturation_vapour_pressure_kpa
from pipeline.agronomy.radiation import clear_sky_mj_m2, extraterrestrial_mj_m2

LATITUDE_DEG, ELEVATION_M = -13.5, 1100.0
DAYS = pd.date_range("2025-01-01", "2025-12-31", freq="D")


@pytest.fixture(scope="module")
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


@pytest.fixture(scope="module")
def ours(year: pd.DataFrame) -> np.ndarray:
    """What our function makes of it."""
    return reference_evapotranspiration_mm(
        DAYS.dayofyear.to_numpy(),
        LATITUDE_DEG,
        ELEVATION_M,
        year["tmin_c"].to_numpy(),
        year["tmax_c"].to_numpy(),
        year["rh_pct"].to_numpy(),
        year["wind_ms"].to_numpy(),
        year["solar_mj_m2"].to_numpy(),
    )


def test_the_year_spans_what_happens(ours: np.ndarray):
    """From grey days to hot dry ones, or the comparison would show little."""
    assert ours.min() < 2.5
    assert ours.max() > 6.5


def test_agrees_with_pyet(year: pd.DataFrame, ours: np.ndarray):
    """pyet's FAO-56: no difference above 1e-9 mm in a day."""
    saturation = mean_saturation_vapour_pressure_kpa(year["tmin_c"], year["tmax_c"])
    theirs = pyet.pm_fao56(
        tmean=(year["tmin_c"] + year["tmax_c"]) / 2,
        wind=year["wind_ms"],
        rs=year["solar_mj_m2"],
        tmax=year["tmax_c"],
        tmin=year["tmin_c"],
        ea=pd.Series(saturation * year["rh_pct"].to_numpy() / 100, index=DAYS),
        elevation=ELEVATION_M,
        lat=np.radians(LATITUDE_DEG),
    )
    assert np.abs(theirs.to_numpy() - ours).max() == pytest.approx(0.0, abs=1e-9)


def test_agrees_with_refet(year: pd.DataFrame, ours: np.ndarray):
    """refet's ASCE short reference: largest difference 0.0011 mm in a day."""
    saturation = mean_saturation_vapour_pressure_kpa(year["tmin_c"], year["tmax_c"])
    theirs = refet.Daily(
        tmin=year["tmin_c"].to_numpy(),
        tmax=year["tmax_c"].to_numpy(),
        ea=saturation * year["rh_pct"].to_numpy() / 100,
        rs=year["solar_mj_m2"].to_numpy(),
        uz=year["wind_ms"].to_numpy(),
        zw=2,
        elev=ELEVATION_M,
        lat=LATITUDE_DEG,
        doy=DAYS.dayofyear.to_numpy(),
        method="asce",
    ).eto()
    assert np.abs(theirs - ours).max() == pytest.approx(0.0011, abs=0.00005)
