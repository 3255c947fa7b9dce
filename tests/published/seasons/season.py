"""A season of a crop on a soil under given water, and what we make of it.

The soil is at field capacity at planting, the roots grow into soil at field capacity, and the surface is
dry: so both sides begin alike.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd

from pipeline.agronomy.basal import basal_coefficients
from pipeline.agronomy.crop_coefficient import crop_coefficient
from pipeline.agronomy.crops import Crop, built_in_crops
from pipeline.agronomy.dual_crop_coefficient import (
    SurfaceLayer,
    covered_share,
    kc_max,
    surface_layer,
    total_evaporable_water_mm,
)
from pipeline.agronomy.root_zone import root_zone_balance
from pipeline.agronomy.soil_water import (
    LEAST_ROOT_DEPTH_M,
    depletion_fraction,
    readily_available_water_mm,
    root_depth_m,
    total_available_water_mm,
)
from pipeline.agronomy.soils import Soil, soils
from tests.published.seasons.weather import weather_from

WEEKLY_MM = 25.0
BEFORE_STRESS = 0.8  # of RAW: where a full irrigation refills, so that the next day finds no stress


@dataclass(frozen=True)
class Course:
    """A season day by day, each (days,).

    Attributes
    ----------
    etc_mm, etc_adjusted_mm
        What crop and soil would take, and took. [mm]
    evaporation_mm
        The soil's part of it. [mm]
    depletion_mm
        Of the root zone at the day's end. [mm]
    ks
        Stress coefficient. [-]
    """

    etc_mm: np.ndarray
    etc_adjusted_mm: np.ndarray
    evaporation_mm: np.ndarray
    depletion_mm: np.ndarray
    ks: np.ndarray


@dataclass(frozen=True)
class Curves:
    """What of a crop changes from day to day, each (days,): Kcb or Kc [-], height, roots [m]."""

    kc: np.ndarray
    height_m: np.ndarray
    root_m: np.ndarray


@dataclass(frozen=True)
class Season:
    """A crop on a soil.

    Attributes
    ----------
    crop_name, soil_name
        Built in.
    planted_on
        Day of planting, `2025-05-15`.
    irrigation_mm : (days,)
        Net, over the whole surface; none if empty. [mm]
    dual
        Whether the soil's evaporation stands apart.
    stage_days
        The crop's own lengths; the table's if empty.
    rainless
        Whether what rain there is stays away, so that irrigation brings all water.
    """

    crop_name: str
    soil_name: str
    planted_on: str
    irrigation_mm: tuple[float, ...] = ()
    dual: bool = True
    stage_days: tuple[int, int, int, int] | None = None
    rainless: bool = False

    @cached_property
    def crop(self) -> Crop:
        """With the lengths asked for."""
        crop = built_in_crops()[self.crop_name]
        if self.stage_days is None:
            return crop
        ini, dev, mid, late = self.stage_days
        return replace(crop, ini_days=ini, dev_days=dev, mid_days=mid, late_days=late)

    @cached_property
    def soil(self) -> Soil:
        """Its texture class."""
        return soils()[self.soil_name]

    @property
    def field_capacity(self) -> float:
        """The middle of the class. [m³/m³]"""
        return (self.soil.theta_fc_min + self.soil.theta_fc_max) / 2

    @property
    def wilting_point(self) -> float:
        """So far below it as the available water is. [m³/m³]"""
        return self.field_capacity - self.soil.available_water_mm_m / 1000

    @property
    def total_evaporable_mm(self) -> float:
        """From the middle of both contents of the class, TEW. [mm]"""
        middle_of_wilting = (self.soil.theta_wp_min + self.soil.theta_wp_max) / 2
        return float(total_evaporable_water_mm(self.field_capacity, middle_of_wilting))

    @property
    def readily_evaporable_mm(self) -> float:
        """The middle of the class, REW. [mm]"""
        return (self.soil.readily_evaporable_min_mm + self.soil.readily_evaporable_max_mm) / 2

    @cached_property
    def weather(self) -> pd.DataFrame:
        """Of the season's days."""
        return self.weather_of(self.crop.season_days)

    def weather_of(self, days: int) -> pd.DataFrame:
        """Of some days from planting."""
        return weather_from(self.planted_on, days, rainless=self.rainless)

    @property
    def irrigated_mm(self) -> np.ndarray:
        """Net, of each day. [mm]"""
        return np.array(self.irrigation_mm) if self.irrigation_mm else np.zeros(len(self.weather))

    def watered(self, how: str) -> "Season":
        """The season on rain alone, with a little each week, or with all that it takes."""
        if how == "weekly":
            given = np.zeros(len(self.weather))
            given[6::7] = WEEKLY_MM
            return replace(self, irrigation_mm=tuple(given))
        return fully_irrigated(self) if how == "full" else self

    def coefficients(self) -> tuple[float, float, float]:
        """Kcb of Table 17, or Kc of Table 12."""
        basal = basal_coefficients()[self.crop_name]
        return tuple(basal) if self.dual else (self.crop.kc_ini, self.crop.kc_mid, self.crop.kc_end)

    def curves(self) -> Curves:
        """Kcb or Kc, height and roots, as the programme's figures have them."""
        crop, days = self.crop, np.arange(1, self.crop.season_days + 1)
        stages = (crop.ini_days, crop.dev_days, crop.mid_days, crop.late_days)
        grown = np.clip(days / (crop.ini_days + crop.dev_days), 0.0, 1.0)
        roots = root_depth_m(days, LEAST_ROOT_DEPTH_M, crop.root_depth_min_m, crop.ini_days, crop.dev_days)
        return Curves(crop_coefficient(days, *self.coefficients(), *stages), grown * crop.height_m, roots)


def surface(season: Season, curves: Curves) -> SurfaceLayer:
    """The drying surface, day by day."""
    weather = season.weather
    greatest = kc_max(curves.kc, weather["wind_ms"], weather["rh_min_pct"], curves.height_m)
    return surface_layer(
        weather["et0_mm"].to_numpy()[:, np.newaxis],
        weather["rain_mm"].to_numpy()[:, np.newaxis],
        season.irrigated_mm[:, np.newaxis],
        curves.kc[:, np.newaxis],
        greatest[:, np.newaxis],
        covered_share(curves.kc, greatest, curves.height_m)[:, np.newaxis],
        1.0,
        season.total_evaporable_mm,
        season.readily_evaporable_mm,
        season.total_evaporable_mm,
    )


def ours(season: Season) -> Course:
    """Follow a season as the programme's figures do."""
    curves, et0 = season.curves(), season.weather["et0_mm"].to_numpy()
    evaporation = surface(season, curves).evaporation_mm[:, 0] if season.dual else np.zeros(len(et0))
    water = season.weather["rain_mm"].to_numpy() + season.irrigated_mm
    return root_zone(season, curves.kc * et0 + evaporation, evaporation, curves.root_m, water)


def root_zone(
    season: Season, etc: np.ndarray, evaporation: np.ndarray, root_m: np.ndarray, water: np.ndarray
) -> Course:
    """The balance alone, of a need, roots and water that are given. [mm, m]"""
    balance = root_zone_balance(
        etc[:, np.newaxis],
        water[:, np.newaxis],
        0.0,
        total_available_water_mm(season.soil.available_water_mm_m, root_m)[:, np.newaxis],
        depletion_fraction(season.crop.depletion_fraction, etc)[:, np.newaxis],
        0.0,
        evaporation_mm=evaporation[:, np.newaxis],
    ).driest
    columns = (balance.etc_adjusted_mm, balance.depletion_mm, balance.ks)
    taken, depletion, ks = (column[:, 0] for column in columns)
    return Course(etc, taken, evaporation, depletion, ks)


def fully_irrigated(season: Season) -> Season:
    """The season with the water that a refill takes each time the depletion nears RAW."""
    given = np.zeros(len(season.weather))
    curve = season.curves()
    taw = total_available_water_mm(season.soil.available_water_mm_m, curve.root_m)
    for _ in given:
        course = ours(replace(season, irrigation_mm=tuple(given)))
        raw = readily_available_water_mm(
            taw, depletion_fraction(season.crop.depletion_fraction, course.etc_mm)
        )
        dry = np.flatnonzero((course.depletion_mm > BEFORE_STRESS * raw)[:-1] & (given[1:] == 0))
        if not len(dry):
            break
        given[dry[0] + 1] += course.depletion_mm[dry[0]]
    return replace(season, irrigation_mm=tuple(given))
