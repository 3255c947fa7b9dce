"""Water in the root zone, and the yield that dryness costs."""

from functools import cache

import numpy as np

from pipeline.agronomy.crops import built_in_crops
from pipeline.agronomy.root_zone import RootZone, root_zone_balance
from pipeline.agronomy.soil_water import (
    depletion_fraction,
    readily_available_water_mm,
    root_depth_m,
    stress_coefficient,
    total_available_water_mm,
)
from pipeline.agronomy.yield_response import relative_yield_loss
from tests.published.examples.example import Example

# FAO-56, Table 24, p. 181, after FAO-33 (Doorenbos, Kassam 1979)
YIELD_RESPONSE = {
    "onion_dry": 1.10,
    "tomato": 1.05,
    "maize": 1.25,
    "cabbage": 0.95,
    "beans_dry": 1.15,
    "watermelon": 1.10,
    "potato": 1.10,
    "pepper_bell": 1.10,
}
# FAO-56, Example 36, p. 166: onion, tomato and maize; loamy sand, silt and silty clay
ROOTS_M, FRACTIONS, AVAILABLE_MM_M = [[0.4], [0.8], [1.2]], [[0.30], [0.40], [0.55]], [90, 170, 120]


def days(values: list[float]) -> np.ndarray:
    """One field, day by day."""
    return np.array(values)[:, np.newaxis]


def available_mm() -> np.ndarray:
    """TAW of Example 36, crops by soils."""
    return total_available_water_mm(AVAILABLE_MM_M, ROOTS_M)


@cache
def tomatoes_without_water() -> RootZone:
    """The ten days of Example 37, on a silty soil."""
    return root_zone_balance(np.full((10, 1), 5.0 * 1.2), 0.0, 0.0, 160.0, 0.40, 55.0).driest


@cache
def a_schedule_that_avoids_stress() -> RootZone:
    """The ten days of Example 38: 40 mm at first, a rain on day 6, 27 mm on day 10; roots grow into wet soil."""
    return root_zone_balance(
        etc_mm=days([5.5, 6.1, 4.0, 2.9, 2.5, 2.7, 4.7, 2.8, 2.2, 6.3]),
        rain_mm=days([0, 0, 0, 0, 0, 6, 0, 0, 0, 0]),
        irrigation_mm=days([40, 0, 0, 0, 0, 0, 0, 0, 0, 27]),
        taw_mm=days(list(130 * np.linspace(0.30, 0.35, 10))),
        depletion_fraction=0.6,
        start_depletion_mm=78 * 0.30,
        subsoil_depletion_share=0.0,
    ).driest


EXAMPLES = (
    Example(
        "Example 36, p. 166",
        "TAW of onion, tomato and maize, each on loamy sand, silt and silty clay",
        (36, 68, 48, 72, 136, 96, 108, 204, 144),
        "mm",
        1e-6,
        available_mm,
    ),
    Example(
        "Example 36, p. 166",
        "RAW of the same",
        (11, 20, 14, 29, 54, 38, 59, 112, 79),
        "mm",
        0.51,
        lambda: readily_available_water_mm(available_mm(), FRACTIONS),
    ),
    Example(
        "p. 162 and Table 22, note 2",
        "p of 0.40 at 7 and at 2 mm/d; its limits",
        (0.32, 0.52, 0.1, 0.8),
        "–",
        1e-9,
        lambda: depletion_fraction([0.40, 0.40, 0.30, 0.65], [7, 2, 12, 0]),
    ),
    Example(
        "Example 37, p. 168",
        "ten days without water, tomatoes: Ks",
        (1, 1, 0.97, 0.91, 0.85, 0.80, 0.75, 0.70, 0.66, 0.62),
        "–",
        0.006,
        lambda: tomatoes_without_water().ks,
    ),
    Example(
        "Example 37, p. 168",
        "what they take up on each",
        (6, 6, 5.8, 5.4, 5.1, 4.8, 4.5, 4.2, 3.9, 3.7),
        "mm/d",
        0.06,
        lambda: tomatoes_without_water().etc_adjusted_mm,
    ),
    Example(
        "Example 37, p. 168",
        "depletion at the end of each",
        (61, 67, 72.8, 78.3, 83.4, 88.2, 92.6, 96.9, 100.8, 104.5),
        "mm",
        0.06,
        lambda: tomatoes_without_water().depletion_mm,
    ),
    Example(
        "Example 38, p. 173",
        "ten days of a schedule: depletion at the end of each",
        (5, 12, 16, 18, 21, 18, 22, 25, 27, 6),
        "mm",
        0.8,
        lambda: a_schedule_that_avoids_stress().depletion_mm,
        "whole millimetres, some cut off; water comes early in the day, as its note 5 says",
    ),
    Example(
        "Example 38, p. 173",
        "deep percolation on the first",
        17.0,
        "mm",
        0.5,
        lambda: a_schedule_that_avoids_stress().deep_percolation_mm[0],
        "eq. 85 and 88 by the letter would make 11.5",
    ),
    Example(
        "Example 39, p. 182",
        "Ks of beans with TAW 110 and RAW 44 mm, at 44, 50, 60 … 110 mm",
        (1, 0.91, 0.76, 0.61, 0.45, 0.30, 0.15, 0),
        "–",
        0.006,
        lambda: stress_coefficient([44, 50, 60, 70, 80, 90, 100, 110], 110, 44),
        "without its salt",
    ),
    Example(
        "Annex 8, Box 8.1, p. 274",
        "roots of beans at planting and when the mid-season starts",
        (0.2, 0.8),
        "m",
        1e-9,
        lambda: root_depth_m([1, 51], 0.2, 0.8, 25, 25),
    ),
    Example(
        "Table 24, p. 181 (FAO-33)",
        "Ky of onion, tomato, maize, cabbage, beans, watermelon, potato and pepper",
        tuple(YIELD_RESPONSE.values()),
        "–",
        0.0,
        lambda: [built_in_crops()[name].yield_response for name in YIELD_RESPONSE],
    ),
    Example(
        "eq. 90, p. 176 (FAO-33)",
        "yield lost with a tenth of the water: maize, cabbage",
        (12.5, 9.5),
        "%",
        1e-6,
        lambda: 100 * relative_yield_loss(450.0, 500.0, [YIELD_RESPONSE["maize"], YIELD_RESPONSE["cabbage"]]),
        "recomputed, not printed",
    ),
)
