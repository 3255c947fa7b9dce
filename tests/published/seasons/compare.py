"""Seasons of ours beside the libraries', as plain figures."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from tests.published.seasons.by_aquacrop import by_aquacrop
from tests.published.seasons.by_pyfao56 import balance_alone, by_pyfao56
from tests.published.seasons.season import Season, fully_irrigated, ours

CROPS, SOILS = ("maize", "tomato", "beans_dry"), ("loam", "sandy_loam")
# how a season is watered, and when it is planted: late in the rains, so that rain alone ends dry, or in the dry season
WATERED = {"rain": "2026-01-15", "weekly": "2025-05-15", "full": "2025-05-15"}
COOL, HOT = "2025-05-01", "2025-09-01"


def pyfao56_seasons() -> Iterator[tuple[Season, str]]:
    """Each crop on each soil, watered in each way, by both coefficients."""
    for dual in (True, False):
        for how, planted_on in WATERED.items():
            for crop in CROPS:
                for soil in SOILS:
                    yield Season(crop, soil, planted_on, dual=dual), how


def aquacrop_seasons() -> Iterator[Season]:
    """Each crop on loam without a drop of rain, in the cool and in the hot dry season."""
    for crop in CROPS:
        for planted_on in (COOL, HOT):
            yield Season(crop, "loam", planted_on, rainless=True)


def beside_pyfao56(season: Season, how: str) -> dict[str, Any]:
    """Return what both make of a season, and how far apart they are."""
    watered = season.watered(how)
    we, theirs = ours(watered), by_pyfao56(watered)
    they, alone = theirs.course, balance_alone(watered, theirs)
    apart_mm = np.abs(we.depletion_mm - they.depletion_mm)
    totals = {
        name: float(round(number, 1))
        for name, number in {
            "irrigation_mm": watered.irrigated_mm.sum(),
            "rain_mm": watered.weather["rain_mm"].sum(),
            "ours_mm": we.etc_adjusted_mm.sum(),
            "theirs_mm": they.etc_adjusted_mm.sum(),
            "our_evaporation_mm": we.evaporation_mm.sum(),
            "their_evaporation_mm": they.evaporation_mm.sum(),
            "depletion_apart_mean_mm": apart_mm.mean(),
            "depletion_apart_most_mm": apart_mm.max(),
        }.items()
    }
    share = we.etc_adjusted_mm.sum() / they.etc_adjusted_mm.sum() - 1
    alone_mm = np.abs(alone.depletion_mm - they.depletion_mm).max()
    return {
        "crop": season.crop_name, "soil": season.soil_name, "watered": how,
        "coefficient": "dual" if season.dual else "single",
        **totals,
        "ours_over_theirs_less_1": round(float(share), 4),
        "our_ks_mean": round(float(we.ks.mean()), 3),
        "their_ks_mean": round(float(they.ks.mean()), 3),
        "balance_alone_depletion_apart_most_mm": round(float(alone_mm), 9),
        "balance_alone_ks_apart_most": round(float(np.abs(alone.ks - they.ks).max()), 9),
    }  # fmt: skip


def beside_aquacrop(season: Season) -> dict[str, Any]:
    """Return what a season takes by both: ours over its days and stages, and over those of the table."""
    theirs, as_printed = by_aquacrop(season), by_aquacrop(season, as_printed=True)
    alike = fully_irrigated(replace(season, stage_days=theirs.stage_days))
    printed = fully_irrigated(season)
    we = ours(alike)
    alike_mm, printed_mm = we.etc_adjusted_mm.sum(), ours(printed).etc_adjusted_mm.sum()
    return {
        "crop": season.crop_name,
        "planted_on": season.planted_on,
        "their_days": sum(theirs.stage_days),
        "their_stage_days": ", ".join(map(str, theirs.stage_days)),
        "their_taken_mm": round(theirs.taken_mm, 1),
        "their_irrigation_mm": round(theirs.irrigation_mm, 1),
        "their_taken_by_printed_kcb_mm": round(as_printed.taken_mm, 1),
        "their_evaporation_by_printed_kcb_mm": round(as_printed.evaporation_mm, 1),
        "our_evaporation_over_their_days_mm": round(float(we.evaporation_mm.sum()), 1),
        "our_taken_over_their_days_mm": round(float(alike_mm), 1),
        "our_irrigation_over_their_days_mm": round(float(alike.irrigated_mm.sum()), 1),
        "theirs_over_ours_less_1": round(theirs.taken_mm / float(alike_mm) - 1, 4),
        "theirs_by_printed_kcb_over_ours_less_1": round(as_printed.taken_mm / float(alike_mm) - 1, 4),
        "table_days": season.crop.season_days,
        "our_taken_mm": round(float(printed_mm), 1),
        "our_irrigation_mm": round(float(printed.irrigated_mm.sum()), 1),
    }
