"""A season by pyfao56 1.4.3 (K. Thorp, USDA-ARS), which follows FAO-56 chapters 7 and 8."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
import pyfao56

from pipeline.agronomy.soil_water import LEAST_ROOT_DEPTH_M
from tests.published.seasons.season import Course, Curves, Season, root_zone, surface
from tests.published.seasons.weather import ELEVATION_M, LATITUDE_DEG

FIRST_HEIGHT_M = 0.10  # the least that FAO-56 eq. 62 is held to be valid for (p. 123)
COVERED = 0.99  # so that it evaporates next to nothing where the single coefficient counts all


@dataclass(frozen=True)
class Theirs:
    """What it makes of a season, and the curves that it went by."""

    course: Course
    curves: Curves


def by_pyfao56(season: Season) -> Theirs:
    """Run its model over the season, with our ET0 for the weather's part."""
    keys = [day.strftime("%Y-%j") for day in season.weather.index]
    model = pyfao56.Model(
        keys[0],
        keys[-1],
        _parameters(season),
        _weather(season, keys),
        irr=_irrigation(season),
        upd=None if season.dual else _covered(keys),
    )
    with np.errstate(invalid="ignore"):  # its cover of a Kc below the first one, which ours replaces
        model.run()
    found = {name: model.odata[name].to_numpy(dtype=float) for name in _READ}
    return Theirs(
        Course(found["ETc"], found["ETa"], found["E"], found["Dr"], found["Ks"]),
        Curves(found["Kcb"], found["h"], found["Zr"]),
    )


def surface_alone(season: Season, theirs: Theirs) -> np.ndarray:
    """What evaporates by ours with its curves, the water of a day coming after it, as theirs. [mm]"""
    later = (0.0, *season.irrigated_mm[:-1])
    return surface(replace(season, irrigation_mm=later), theirs.curves).evaporation_mm[:, 0]


def balance_alone(season: Season, theirs: Theirs) -> Course:
    """Our balance of its need, its roots and its order of the day: the water comes after the crop drank."""
    water = season.weather["rain_mm"].to_numpy() + season.irrigated_mm
    need, soil = theirs.course.etc_mm, theirs.course.evaporation_mm
    course = root_zone(season, need, soil, theirs.curves.root_m, np.r_[0.0, water[:-1]])
    return replace(course, depletion_mm=np.maximum(course.depletion_mm - water, 0.0))


_READ = ("ETc", "ETa", "E", "Dr", "Ks", "Kcb", "h", "Zr")


def _parameters(season: Season) -> pyfao56.Parameters:
    crop, (initial, middle, final) = season.crop, season.coefficients()
    return pyfao56.Parameters(
        Kcbini=initial,
        Kcbmid=middle,
        Kcbend=final,
        Lini=crop.ini_days,
        Ldev=crop.dev_days,
        Lmid=crop.mid_days,
        Lend=crop.late_days,
        hini=FIRST_HEIGHT_M,
        hmax=crop.height_m,
        thetaFC=season.field_capacity,
        thetaWP=season.wilting_point,
        theta0=season.field_capacity,
        Zrini=LEAST_ROOT_DEPTH_M,
        Zrmax=crop.root_depth_min_m,
        pbase=crop.depletion_fraction,
        Ze=season.total_evaporable_mm / 1000 / (season.field_capacity - season.wilting_point / 2),
        REW=season.readily_evaporable_mm,
    )


def _weather(season: Season, keys: list[str]) -> pyfao56.Weather:
    theirs, ours = pyfao56.Weather(), season.weather
    theirs.z, theirs.lat, theirs.wndht = ELEVATION_M, LATITUDE_DEG, 2.0
    unknown = np.full(len(ours), np.nan)
    theirs.wdata = pd.DataFrame(
        {
            "Srad": ours["solar_mj_m2"].to_numpy(),
            "Tmax": ours["tmax_c"].to_numpy(),
            "Tmin": ours["tmin_c"].to_numpy(),
            "Vapr": unknown,
            "Tdew": unknown,
            "RHmax": unknown,
            "RHmin": ours["rh_min_pct"].to_numpy(),
            "Wndsp": ours["wind_ms"].to_numpy(),
            "Rain": ours["rain_mm"].to_numpy(),
            "ETref": ours["et0_mm"].to_numpy(),
            "MorP": "M",
        },
        index=keys,
    )
    return theirs


def _irrigation(season: Season) -> pyfao56.Irrigation:
    theirs = pyfao56.Irrigation()
    for day, depth_mm in zip(season.weather.index, season.irrigated_mm, strict=True):
        if depth_mm > 0:
            theirs.addevent(day.year, day.dayofyear, depth_mm, 1.0)
    return theirs


def _covered(keys: list[str]) -> pyfao56.Update:
    """The ground as good as covered on each day: Kc is then what the crop's coefficient says."""
    update, unknown = pyfao56.Update(), np.nan
    update.udata = pd.DataFrame({"Kcb": unknown, "h": unknown, "fc": COVERED}, index=keys)
    return update
