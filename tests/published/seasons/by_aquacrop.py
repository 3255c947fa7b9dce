"""A season by AquaCrop-OSPy 3.1 (after FAO AquaCrop), which lets a canopy grow and counts no FAO-56 Kc.

It keeps the root zone at a share of the available water by small depths: its net irrigation requirement.
"""

import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from pipeline.agronomy.basal import basal_coefficients
from tests.published.seasons.season import Season

LONGEST_DAYS = 240
NET_IRRIGATION = 4  # its way of irrigating that keeps the root zone at a share
CROPS = {"maize": "Maize", "tomato": "Tomato", "beans_dry": "DryBean"}
SOILS = {"loam": "Loam"}
# FAO-56 p. 100 to 101 (from memory): the initial stage ends at a tenth of cover, development at full cover
FIRST_COVER = 0.10
FULL_COVER = 0.95  # of the greatest, which the canopy nears without end


@dataclass(frozen=True)
class AquaCropSeason:
    """What it makes of a season.

    Attributes
    ----------
    irrigation_mm, transpiration_mm, evaporation_mm
        Totals of the season. [mm]
    stage_days
        Lengths of the four stages of FAO-56 as its canopy has them. [d]
    """

    irrigation_mm: float
    transpiration_mm: float
    evaporation_mm: float
    stage_days: tuple[int, int, int, int]

    @property
    def taken_mm(self) -> float:
        """What crop and soil took together."""
        return self.transpiration_mm + self.evaporation_mm


def by_aquacrop(season: Season, *, as_printed: bool = False) -> AquaCropSeason:
    """Run its model from planting to maturity, with our weather, ET0 and depth of roots.

    As printed, its canopy transpires by Kcb of FAO-56 Table 17, whatever the cold and its age.
    """
    middle = basal_coefficients()[season.crop_name].kcb_mid
    changed = {"Kcb": middle, "fage": 0.0, "TrColdStress": 0} if as_printed else {}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of its own code: escapes, chained assignments
        model = _model(season, changed | {"Zmax": season.crop.root_depth_min_m})
        model.run_model(till_termination=True)
    grown = model.get_crop_growth()
    stands = grown["dap"] > 0
    flux = model.get_water_flux().loc[stands]
    return AquaCropSeason(
        *(float(flux[name].sum()) for name in ("IrrDay", "Tr", "Es")),
        stage_days=_stages(grown.loc[stands, "canopy_cover"].to_numpy()),
    )


def _model(season: Season, changed: dict[str, float]) -> Any:
    """Its model of the season, from field capacity, with some of its crop's numbers changed."""
    # by its files, and here: the import warns, and the package itself gives nothing where the command
    # line has a word `-m`
    from aquacrop.core import AquaCropModel  # noqa: PLC0415
    from aquacrop.entities.crop import Crop  # noqa: PLC0415
    from aquacrop.entities.inititalWaterContent import InitialWaterContent  # noqa: PLC0415
    from aquacrop.entities.irrigationManagement import IrrigationManagement  # noqa: PLC0415
    from aquacrop.entities.soil import Soil  # noqa: PLC0415

    weather = _weather(season)
    first, last = weather["Date"].iloc[0], weather["Date"].iloc[-1]
    kept_share = 1 - season.crop.depletion_fraction
    return AquaCropModel(
        f"{first:%Y/%m/%d}",
        f"{last:%Y/%m/%d}",
        weather,
        Soil(SOILS[season.soil_name]),
        Crop(CROPS[season.crop_name], planting_date=f"{first:%m/%d}", **changed),
        InitialWaterContent(value=["FC"]),
        irrigation_management=IrrigationManagement(NET_IRRIGATION, NetIrrSMT=100 * kept_share),
    )


def _weather(season: Season) -> pd.DataFrame:
    """The weather under its names."""
    ours = season.weather_of(LONGEST_DAYS)
    return pd.DataFrame(
        {
            "MinTemp": ours["tmin_c"].to_numpy(),
            "MaxTemp": ours["tmax_c"].to_numpy(),
            "Precipitation": ours["rain_mm"].to_numpy(),
            "ReferenceET": ours["et0_mm"].to_numpy(),
            "Date": pd.DatetimeIndex(ours.index),
        }
    )


def _stages(cover: np.ndarray) -> tuple[int, int, int, int]:
    """Days until a tenth of cover, until it is full, until it dwindles, and the rest."""
    full = FULL_COVER * cover.max()
    begun, closed = int(np.argmax(cover >= FIRST_COVER)), int(np.argmax(cover >= full))
    last_full = len(cover) - int(np.argmax(cover[::-1] >= full))
    return begun, closed - begun, last_full - closed, len(cover) - last_full
