"""Texture classes of the soil: FAO-56 Table 19 (p. 144), and how fast they take in water.

The basic intake rates are those of Table 7 of Brouwer, Prins, Kay, Heibloem (1988), Irrigation
methods, FAO Irrigation Water Management Training Manual 5, annex 2, as others quote it: it has sand,
sandy loam, loam, clay loam and clay. Where `soils.csv` says `neighbour` the class has no line of its
own, or (sand, "less than 30") no lower end: its range then reaches over the lines of the coarser and
the finer neighbour, as a finer soil takes in no more.
"""

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
    available_min, available_max
        Water between the two, as printed: soils at the dry end of the one range are seldom at the wet
        end of the other. [m³/m³]
    readily_evaporable_min_mm, readily_evaporable_max_mm
        Water that evaporates from the wet surface without hindrance, REW. [mm]
    total_evaporable_min_mm, total_evaporable_max_mm
        Water that can evaporate from the top 0.10 m, TEW. [mm]
    basic_intake_min_mm_h, basic_intake_max_mm_h
        What the soil takes in once it is wet. [mm/h]
    """

    soil: str
    theta_fc_min: float
    theta_fc_max: float
    theta_wp_min: float
    theta_wp_max: float
    available_min: float
    available_max: float
    readily_evaporable_min_mm: float
    readily_evaporable_max_mm: float
    total_evaporable_min_mm: float
    total_evaporable_max_mm: float
    basic_intake_min_mm_h: float
    basic_intake_max_mm_h: float

    @property
    def available_water_mm_m(self) -> float:
        """Water between field capacity and wilting point, the middle of its range [mm/m]."""
        return 1000.0 * (self.available_min + self.available_max) / 2.0

    @property
    def is_coarse(self) -> bool:
        """Whether FAO-56 counts it among the coarse textures (p. 117): sands and loamy sands."""
        return self.soil in {"sand", "loamy_sand"}


@cache
def soils() -> Mapping[str, Soil]:
    """Texture classes by name.

    Examples
    --------
    >>> round(soils()["loamy_sand"].available_water_mm_m)
    90
    """
    table = files("pipeline.agronomy").joinpath("soils.csv").read_text(encoding="utf-8")
    return MappingProxyType({row["soil"]: _soil(row) for row in csv.DictReader(table.splitlines())})


def _soil(row: Mapping[str, str]) -> Soil:
    told = {"soil", "how_known", "basic_intake_how_known"}
    ranges = {column: float(text) for column, text in row.items() if column not in told}
    return Soil(soil=row["soil"], **ranges)
