"""Crop coefficients of a day, of a climate and of the initial stage; the tables of crops."""

import numpy as np

from pipeline.agronomy.crop_coefficient import crop_coefficient, kc_end_in_climate, kc_mid_in_climate
from pipeline.agronomy.crops import built_in_crops
from pipeline.agronomy.kc_ini import (
    Wettings,
    between_light_and_heavy,
    kc_ini,
    kc_ini_heavy,
    kc_ini_light,
    wettings,
)
from tests.published.examples.example import Example

# FAO-56, Box 15, p. 130: dry beans, Kc 0.15, 1.19, 0.35 in stages of 25, 25, 30 and 20 days
BEAN_STAGES = {"ini_days": 25, "dev_days": 25, "mid_days": 30, "late_days": 20}
DRY_BEANS = {"kc_ini": 0.15, "kc_mid": 1.19, "kc_end": 0.35, **BEAN_STAGES}
# FAO-56, Figure 36, p. 132: Kc, ET0 and ETc [mm/d] of dry beans in each ten days
DECADE_KC = (0.15, 0.15, 0.20, 0.57, 0.98, 1.19, 1.19, 1.19, 0.98, 0.56)
DECADE_ET0_MM = (3.0, 3.4, 4.0, 4.2, 4.5, 5.1, 5.6, 6.0, 5.5, 5.2)
DECADE_ETC_MM = (0.5, 0.5, 0.8, 2.4, 4.4, 6.1, 6.7, 7.1, 5.4, 2.9)

# FAO-56 Tables 11 (p. 104 to 108), 12 (p. 110 to 113) and 22 (p. 163 to 165)
# crop: (stage lengths), total; (Kc), height; (root depth), depletion fraction
CROP_TABLES = {
    "tomato": ((30, 40, 45, 30), 145, (0.6, 1.15, 0.8), 0.6, (0.7, 1.5), 0.40),  # Kc end prints 0.70–0.90
    "onion_dry": ((15, 25, 70, 40), 150, (0.7, 1.05, 0.75), 0.4, (0.3, 0.6), 0.30),
    "pepper_bell": ((30, 35, 40, 20), 125, (0.6, 1.05, 0.9), 0.7, (0.5, 1.0), 0.30),  # initial prints 25/30
    "eggplant": ((30, 45, 40, 25), 140, (0.6, 1.05, 0.9), 0.8, (0.7, 1.2), 0.45),
    "beans_green": ((20, 30, 30, 10), 90, (0.5, 1.05, 0.9), 0.4, (0.5, 0.7), 0.45),
    "maize": ((30, 50, 60, 40), 180, (0.3, 1.2, 0.6), 2.0, (1.0, 1.7), 0.55),  # harvested wet
    "sweet_potato": ((15, 30, 50, 30), 125, (0.5, 1.15, 0.65), 0.4, (1.0, 1.5), 0.65),
    "groundnut": ((25, 35, 45, 25), 130, (0.4, 1.15, 0.6), 0.4, (0.5, 1.0), 0.50),
    "cassava_year_1": ((20, 40, 90, 60), 210, (0.3, 0.8, 0.3), 1.0, (0.5, 0.8), 0.35),
    "banana_first_year": ((120, 90, 120, 60), 390, (0.5, 1.1, 1.0), 3.0, (0.5, 0.9), 0.35),
    "citrus": ((60, 90, 120, 95), 365, (0.65, 0.6, 0.65), 3.0, (1.1, 1.5), 0.50),  # canopy 50 %
    "carrot": ((30, 40, 60, 20), 150, (0.7, 1.05, 0.95), 0.3, (0.5, 1.0), 0.35),
    "pineapple": ((60, 120, 600, 10), 790, (0.5, 0.3, 0.3), 0.9, (0.3, 0.6), 0.50),  # height prints 0.6–1.2
    "rice": ((30, 30, 60, 30), 150, (1.05, 1.2, 0.75), 1.0, (0.5, 1.0), 0.20),  # Kc end prints 0.90–0.60
}


def flat(row: tuple[object, ...]) -> tuple[float, ...]:
    """A row of the tables as plain numbers."""
    return tuple(float(n) for part in row for n in (part if isinstance(part, tuple) else (part,)))


def built_in_row(name: str) -> tuple[object, ...]:
    """What we keep of a crop, in the order of `CROP_TABLES`."""
    crop = built_in_crops()[name]
    return (
        (crop.ini_days, crop.dev_days, crop.mid_days, crop.late_days),
        crop.season_days,
        (crop.kc_ini, crop.kc_mid, crop.kc_end),
        crop.height_m,
        (crop.root_depth_min_m, crop.root_depth_max_m),
        crop.depletion_fraction,
    )


def decade_kc() -> np.ndarray:
    """Mean coefficient of each ten days of the season of dry beans."""
    return crop_coefficient(np.arange(1, 101), **DRY_BEANS).reshape(10, 10).mean(axis=1)


def rains_of_a_month() -> Wettings:
    """What is counted of 5 mm on every eighth, and of 20 mm on every second day."""
    rains_mm = np.zeros((30, 2))
    rains_mm[::8, 0] = 5
    rains_mm[::2, 1] = 20
    return wettings(rains_mm, 4.0)


EXAMPLES = (
    Example(
        "Example 23, p. 116",
        "20 mm a month as rains of 5 mm, 300 mm as rains of 20 mm: how many, and days between them",
        (4, 15, 7, 2),
        "–",
        0.0,
        lambda: [*rains_of_a_month().events, *rains_of_a_month().interval_days.round()],
    ),
    Example(
        "Example 24, p. 116",
        "Kc ini, light wettings every other day at 4 mm/d",
        0.85,
        "–",
        0.04,
        lambda: kc_ini_light(4, 2),
        "the print is read off Figure 29; the figure's own equation (Annex 7) gives 0.89",
    ),
    Example(
        "Example 24, p. 116",
        "ETc of that, from the figure's 0.85",
        3.4,
        "mm/d",
        1e-9,
        lambda: 4 * between_light_and_heavy(0.85, 1.15, 10),
    ),
    Example(
        "Example 25, p. 119",
        "Kc ini at 5 mm/d, light wettings every 3.5 days",
        0.55,
        "–",
        0.02,
        lambda: kc_ini_light(5, 3.5),
        "read off Figure 29",
    ),
    Example(
        "Example 25, p. 119",
        "the same, heavy ones on a coarse soil",
        0.70,
        "–",
        0.06,
        lambda: kc_ini_heavy(5, 3.5, coarse=True),
        "read off Figure 30a; Example 7-1 has 0.75",
        decimals=2,
    ),
    Example(
        "Example 25, p. 119",
        "between them, 20 mm each time",
        0.60,
        "–",
        1e-9,
        lambda: between_light_and_heavy(0.55, 0.70, 20),
        decimals=2,
    ),
    Example(
        "Example 25, p. 119",
        "ETc by the equations alone",
        3.0,
        "mm/d",
        0.1,
        lambda: 5 * kc_ini(5, 3.5, 20, coarse=True),
        "the print goes by the figures",
        decimals=1,
    ),
    Example(
        "Example 7-1, p. 268",
        "the heavy one by its equation",
        0.75,
        "–",
        0.005,
        lambda: kc_ini_heavy(5, 3.5, coarse=True),
    ),
    Example(
        "Example 7-1, p. 268",
        "the light one by its equation",
        0.57,
        "–",
        0.05,
        lambda: kc_ini_light(5, 3.5),
        "its own line, (10 − 7.3 exp(−2.39)) / 17.5, gives our 0.53",
    ),
    Example(
        "Example 26, p. 120",
        "Kc ini of heavy wettings every other day at 4 mm/d, fine soil",
        1.15,
        "–",
        0.005,
        lambda: kc_ini_heavy(4, 2, coarse=False),
    ),
    Example(
        "Example 26, p. 120",
        "drip on 0.4 of the field, 12 mm every other day at 4 mm/d: Kc where it wets",
        1.05,
        "–",
        0.015,
        lambda: kc_ini(4, 2, 12 / 0.4, coarse=False),
        "the print goes by the figures' 0.85 and 1.15",
    ),
    Example(
        "Example 26, p. 120",
        "over the whole field",
        0.42,
        "–",
        0.006,
        lambda: kc_ini(4, 2, 12, coarse=False, wetted_share=0.4),
        "from there",
    ),
    Example(
        "Example 26, p. 120",
        "between the figures' 0.85 and 1.15 at 30 mm",
        1.05,
        "–",
        1e-9,
        lambda: between_light_and_heavy(0.85, 1.15, 12 / 0.4),
    ),
    Example(
        "Example 26, p. 120",
        "ETc over the field",
        1.7,
        "mm/d",
        0.02,
        lambda: 4 * kc_ini(4, 2, 12, coarse=False, wetted_share=0.4),
    ),
    Example(
        "Example 27, p. 125",
        "Kc mid of maize where it is humid and calm, and where it is arid and windy",
        (1.07, 1.30),
        "–",
        0.005,
        lambda: kc_mid_in_climate(1.20, [1.3, 4.6], [75, 44], 2.0),
    ),
    Example(
        "Box 15, p. 130",
        "Kc mid of dry beans at 2.2 m/s and 30 %",
        1.19,
        "–",
        0.005,
        lambda: kc_mid_in_climate(1.15, 2.2, 30, 0.4),
    ),
    Example(
        "Example 28, p. 133",
        "Kc of dry beans on days 20, 40, 70 and 95",
        (0.15, 0.77, 1.19, 0.56),
        "–",
        0.006,
        lambda: crop_coefficient([20, 40, 70, 95], **DRY_BEANS),
    ),
    Example(
        "Figure 36, p. 132",
        "Kc of dry beans in each ten days",
        DECADE_KC,
        "–",
        0.03,
        decade_kc,
        "the print reads its curve off; the third has 0.15 in its middle and 0.20 in the mean",
    ),
    Example(
        "Figure 36, p. 132",
        "need of the season, ten times ten days",
        10 * sum(DECADE_ETC_MM),
        "mm",
        3,
        lambda: 10 * (decade_kc() * DECADE_ET0_MM).sum(),
        "the sum of the printed days is ours",
    ),
    Example(
        "Example 29, eq. 70",
        "Kcb of dry beans, mid and end, from 1.10 and 0.25 at 2.2 m/s and 30 %",
        (1.14, 0.25),
        "–",
        0.005,
        lambda: [kc_mid_in_climate(1.10, 2.2, 30, 0.4), kc_end_in_climate(0.25, 2.2, 30, 0.4)],
        "the print from memory",
    ),
    Example(
        "Example 30",
        "Kcb of dry beans on days 20, 40, 70 and 95",
        (0.15, 0.74, 1.14, 0.47),
        "–",
        0.006,
        lambda: crop_coefficient([20, 40, 70, 95], 0.15, 1.14, 0.25, **BEAN_STAGES),
        "the print from memory",
    ),
    Example(
        "Example 40, p. 185",
        "Kc mid of tomatoes at 1.1 m/s and 30 %",
        1.22,
        "–",
        0.006,
        lambda: kc_mid_in_climate(1.20, 1.1, 30, 0.75),
        "what the print takes off for bare ground we do not compute",
    ),
    Example(
        "Tables 11, 12 and 22, p. 104 to 165",
        f"stages, Kc, height, roots and p of {len(CROP_TABLES)} crops",
        tuple(n for row in CROP_TABLES.values() for n in flat(row)),
        "–",
        0.0,
        lambda: [n for name in CROP_TABLES for n in flat(built_in_row(name))],
        "where the print has a range the middle counts",
    ),
)
