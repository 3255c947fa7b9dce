"""Transpiration and evaporation apart."""

from functools import cache

import numpy as np

from pipeline.agronomy.dual_crop_coefficient import (
    SurfaceLayer,
    covered_share,
    evaporation_coefficient,
    evaporation_reduction,
    exposed_wetted_share,
    kc_max,
    surface_layer,
    total_evaporable_water_mm,
)
from pipeline.agronomy.soils import Soil, soils
from tests.published.examples.example import Example

# FAO-56, Table 19, p. 144: field capacity, wilting point, between them [m³/m³]; REW, TEW [mm]
TABLE_19: dict[str, tuple[float, ...]] = {
    "sand": (0.07, 0.17, 0.02, 0.07, 0.05, 0.11, 2, 7, 6, 12),
    "loamy_sand": (0.11, 0.19, 0.03, 0.10, 0.06, 0.12, 4, 8, 9, 14),
    "sandy_loam": (0.18, 0.28, 0.06, 0.16, 0.11, 0.15, 6, 10, 15, 20),
    "loam": (0.20, 0.30, 0.07, 0.17, 0.13, 0.18, 8, 10, 16, 22),
    "silt_loam": (0.22, 0.36, 0.09, 0.21, 0.13, 0.19, 8, 11, 18, 25),
    "silt": (0.28, 0.36, 0.12, 0.22, 0.16, 0.20, 8, 11, 22, 26),
    "silt_clay_loam": (0.30, 0.37, 0.17, 0.24, 0.13, 0.18, 8, 11, 22, 27),
    "silty_clay": (0.30, 0.42, 0.17, 0.29, 0.13, 0.19, 8, 12, 22, 28),
    "clay": (0.32, 0.40, 0.20, 0.24, 0.12, 0.20, 8, 12, 22, 29),
}

# FAO-56, Example 35, p. 154 and 155: a sandy loam, irrigated on day 1 over 0.8 of it, a rain on day 6
EXAMPLE_35_ET0_MM = np.array([4.5, 5.0, 3.9, 4.2, 4.8, 2.7, 5.8, 5.1, 4.7, 5.2])
EXAMPLE_35_KCB = np.array([0.30, 0.31, 0.32, 0.33, 0.34, 0.36, 0.37, 0.38, 0.39, 0.40])
EXAMPLE_35_EXPOSED = np.array([0.92, 0.91, 0.91, 0.90, 0.89, 0.89, 0.88, 0.87, 0.87, 0.86])
OFF_DAY = 2  # the third


def table_19_row(soil: Soil) -> tuple[float, ...]:
    """What we keep of a texture class, in the order of `TABLE_19`."""
    return (
        *(soil.theta_fc_min, soil.theta_fc_max, soil.theta_wp_min, soil.theta_wp_max),
        *(soil.available_min, soil.available_max),
        *(soil.readily_evaporable_min_mm, soil.readily_evaporable_max_mm),
        *(soil.total_evaporable_min_mm, soil.total_evaporable_max_mm),
    )


@cache
def bare_loam() -> SurfaceLayer:
    """The ten days of Example 31."""
    return surface_layer(np.full((10, 1), 4.5), 0.0, 0.0, 0.15, 1.20, 0.0, 1.0, 20.0, 9.0, 0.0)


@cache
def example_35() -> SurfaceLayer:
    """The ten days of Example 35, from a dry surface."""
    tew_mm = total_evaporable_water_mm(0.23, 0.10)
    return surface_layer(
        et0_mm=EXAMPLE_35_ET0_MM[:, np.newaxis],
        rain_mm=np.array([0, 0, 0, 0, 0, 6, 0, 0, 0, 0])[:, np.newaxis],
        irrigation_mm=np.array([40] + 9 * [0])[:, np.newaxis],
        kcb=EXAMPLE_35_KCB[:, np.newaxis],
        greatest_kc=kc_max(0.30, 1.6, 35, 0.3),
        covered=1 - EXAMPLE_35_EXPOSED[:, np.newaxis],
        irrigation_wets_share=0.8,
        tew_mm=tew_mm,
        rew_mm=8.0,
        start_depletion_mm=tew_mm,
    )


def example_35_etc_mm() -> np.ndarray:
    """Crop and soil together."""
    return (EXAMPLE_35_KCB + example_35().ke.ravel()) * EXAMPLE_35_ET0_MM


def cotton(wetted_share: float, *, under_canopy: bool = False) -> list[float]:
    """Kc max, cover, wet and exposed share, Ke and Kc of cotton that has just been irrigated."""
    greatest = kc_max(0.9, 3.0, 20.0, 1.0)
    cover = covered_share(0.9, greatest, 1.0, 0.15)
    share = exposed_wetted_share(cover, wetted_share, emitters_under_canopy=under_canopy)
    ke = evaporation_coefficient(1.0, greatest, 0.9, share)
    return [float(each) for each in (greatest, cover, share, ke, 0.9 + ke)]


COTTON = "cotton, just irrigated by {}: Kc max, cover, wet and exposed share, Ke, Kc"
EXAMPLES = (
    Example(
        "Table 19, p. 144",
        f"water contents, REW and TEW of {len(TABLE_19)} soils",
        tuple(n for row in TABLE_19.values() for n in row),
        "–",
        0.0,
        lambda: [n for name in TABLE_19 for n in table_19_row(soils()[name])],
    ),
    Example(
        "Example 31, p. 146",
        "ten days of bare loam after a heavy rain: Kr",
        (1, 1, 0.96, 0.55, 0.31, 0.18, 0.10, 0.06, 0.03, 0.02),
        "–",
        0.006,
        lambda: bare_loam().kr,
    ),
    Example(
        "Example 31, p. 146",
        "what evaporates on each",
        (4.73, 4.73, 4.53, 2.59, 1.47, 0.84, 0.48, 0.27, 0.16, 0.09),
        "mm/d",
        0.01,
        lambda: bare_loam().evaporation_mm,
        "day 9 prints 0.16 for 0.15",
    ),
    Example(
        "Example 31, p. 146",
        "depletion at the end of each",
        (4.73, 9.45, 13.98, 16.57, 18.04, 18.88, 19.36, 19.64, 19.79, 19.88),
        "mm",
        0.01,
        lambda: bare_loam().depletion_mm,
    ),
    Example(
        "Example 31, p. 146",
        "ETc of each",
        (5.4, 5.4, 5.2, 3.3, 2.1, 1.5, 1.2, 0.9, 0.8, 0.8),
        "mm/d",
        0.06,
        lambda: (0.15 + bare_loam().ke) * 4.5,
    ),
    Example(
        "Example 32, p. 150",
        COTTON.format("sprinkler"),
        (1.30, 0.53, 0.47, 0.40, 1.30),
        "–",
        0.006,
        lambda: cotton(1.0),
    ),
    Example(
        "Example 33, p. 150",
        COTTON.format("every other furrow"),
        (1.30, 0.53, 0.30, 0.39, 1.29),
        "–",
        0.006,
        lambda: cotton(0.3),
    ),
    Example(
        "Example 34, p. 151",
        COTTON.format("drippers under the crop"),
        (1.30, 0.53, 0.19, 0.25, 1.15),
        "–",
        0.006,
        lambda: cotton(0.3, under_canopy=True),
    ),
    Example(
        "Example 35, p. 154",
        "TEW of the sandy loam",
        18.0,
        "mm",
        0.005,
        lambda: total_evaporable_water_mm(0.23, 0.10),
    ),
    Example("Example 35, p. 154", "Kc max", 1.21, "–", 0.005, lambda: kc_max(0.30, 1.6, 35, 0.3)),
    Example(
        "Example 35, p. 155",
        "ten days, irrigated on the first, rain on the sixth: wet and exposed share",
        (0.80, 0.80, 0.80, 0.80, 0.80, 0.89, 0.88, 0.87, 0.87, 0.86),
        "–",
        1e-9,
        lambda: example_35().exposed_wetted_share,
    ),
    Example(
        "Example 35, p. 155",
        "percolation through the surface layer on each",
        (32, 0, 0, 0, 0, 0, 0, 0, 0, 0),
        "mm",
        1e-9,
        lambda: example_35().percolation_mm,
    ),
    Example(
        "Example 35, p. 155",
        "depletion at the end of each",
        (5, 11, 14, 16, 17, 13, 16, 17, 18, 18),
        "mm",
        0.7,
        lambda: example_35().depletion_mm,
        "whole millimetres, some cut off; the print goes on from them",
    ),
    Example(
        "Example 35, p. 155",
        "Kr of each",
        (1, 1, 0.70, 0.40, 0.20, 0.75, 0.53, 0.20, 0.09, 0.05),
        "–",
        0.05,
        lambda: example_35().kr,
        "from those whole millimetres",
    ),
    Example(
        "Example 35, p. 155",
        "Kr of days 3 to 5 from the print's own 11, 14 and 16 mm",
        (0.70, 0.40, 0.20),
        "–",
        1e-9,
        lambda: evaporation_reduction([11, 14, 16], 18.0, 8.0),
    ),
    Example(
        "Example 35, p. 155",
        "Ke of each",
        (0.91, 0.90, 0.62, 0.35, 0.18, 0.64, 0.45, 0.17, 0.08, 0.04),
        "–",
        0.04,
        lambda: example_35().ke,
        "from that Kr; Example 38 prints 0.72 for day 3",
    ),
    Example(
        "Example 35, p. 155",
        "what evaporates on each but the third",
        (4.1, 4.5, 1.5, 0.8, 1.7, 2.6, 0.9, 0.4, 0.2),
        "mm/d",
        0.15,
        lambda: np.delete(example_35().evaporation_mm, OFF_DAY),
        "day 3 prints 2.8 mm, where its 3.9 × 0.62 is 2.4",
    ),
    Example(
        "Example 35, p. 155",
        "ETc of each but the third",
        (5.5, 6.1, 2.9, 2.5, 2.7, 4.7, 2.8, 2.2, 2.3),
        "mm/d",
        0.15,
        lambda: np.delete(example_35_etc_mm(), OFF_DAY),
        "day 3 prints Kc 1.04 and 4.0 mm, where its Kcb and Ke make 0.94 and 3.7 mm",
    ),
)
