"""Texture classes of the soil, FAO-56 Table 19. Its values here are from memory."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType


@dataclass(frozen=True)
class Soil:
    """A texture class, with the ranges of Table 19.

    Attributes
    ----------
    soil
        Name.
    theta_fc_min, theta_fc_max, theta_wp_min, theta_wp_max
        Water content at field capacity and at wilting point. [m³/m³]
    readily_evaporable_min_mm, readily_evaporable_max_mm
        Water that evaporates from the wet surface without hindrance, REW. [mm]
    total_evaporable_min_mm, total_evaporable_max_mm
        Water that can evaporate from the top 0.10 m, TEW. [mm]
    """

    soil: str
    theta_fc_min: float
    theta_fc_max: float
    theta_wp_min: float
    theta_wp_max: float
    readily_evaporable_min_mm: float
    readily_evaporable_max_mm: float
    total_evaporable_min_mm: float
    total_evaporable_max_mm: float

    @property
    def available_water_mm_m(self) -> float:
        """Water between field capacity and wilting point, from the middles of the ranges [mm/m]."""
        capacity = self.theta_fc_min + self.theta_fc_max
        wilting = self.theta_wp_min + self.theta_wp_max
        return 1000.0 * (capacity - wilting) / 2.0


@cache
def soils() -> Mapping[str, Soil]:
    """Texture classes by name.

    Examples
    --------
    >>> round(soils()["loamy_sand"].available_water_mm_m)
    85
    """
    table = files("pipeline.agronomy").joinpath("soils.csv").read_text(encoding="utf-8")
    return MappingProxyType({row["soil"]: _soil(row) for row in csv.DictReader(table.splitlines())})


def _soil(row: Mapping[str, str]) -> Soil:
    ranges = {column: float(text) for column, text in row.items() if column not in {"soil", "how_known"}}
    return Soil(soil=row["soil"], **ranges)
