"""Uniformity of application, from cans and flows that others published."""

import numpy as np

from pipeline.agronomy.application import application_rate_mm_h
from pipeline.agronomy.soils import soils
from pipeline.agronomy.uniformity import (
    application_efficiency_low_quarter,
    christiansen_from_low_quarter,
    christiansen_uniformity,
    distribution_uniformity_low_half,
    distribution_uniformity_low_quarter,
    potential_efficiency_low_quarter,
)
from tests.published.examples.example import Example

# Merriam, Keller (1978), Farm irrigation system evaluation, Form II-1, p. 29 and 41 to 44 [in/h]
MERRIAM_IN_H = (0.23, 0.31, 0.24, 0.24, 0.28, 0.31, 0.27, 0.22, 0.26, 0.31, 0.31, 0.25, 0.20, 0.22, 0.32)
# Evans, Barker, Smith, Sheffield (1997), NC Cooperative Extension AG-553-1, work sheet 1, p. 13 [in]
EVANS_IN = (
    *(0.57, 0.69, 0.83, 0.65, 0.61, 0.38, 0.27, 0.64),
    *(0.51, 0.26, 0.36, 0.52, 0.79, 0.65, 0.61, 0.86),
)
# examples of the R package spreval (2022), man pages of CU, DU and DU.lh [ml]
SPREVAL_ML = (47, 42, 45, 24, 13, 26, 33, 34, 27, 30, 40, 44, 32, 12, 12)
M3H_PER_GPM, M_PER_FT, MM_PER_IN = 0.227125, 0.3048, 25.4
EVALUATION = "Merriam, Keller (1978)"


def percent(caught: tuple[float, ...]) -> list[float]:
    """Christiansen's coefficient, low quarter and low half."""
    three = (
        christiansen_uniformity,
        distribution_uniformity_low_quarter,
        distribution_uniformity_low_half,
    )
    return [100 * float(measure(caught)) for measure in three]


def delivered_in_h() -> float:
    """4.6 gallons a minute on 30 by 50 feet."""
    rate_mm_h = application_rate_mm_h(4.6 * M3H_PER_GPM, 30 * M_PER_FT, 50 * M_PER_FT)
    return float(rate_mm_h / MM_PER_IN)


def stored_percent(hours: float) -> float:
    """Application efficiency of the low quarter where 4.4 inches are missing."""
    caught, applied = np.multiply(MERRIAM_IN_H, hours), delivered_in_h() * hours
    return 100 * float(application_efficiency_low_quarter(caught, applied, 4.4))


EXAMPLES = (
    Example(
        "A. M. Michael, Irrigation: theory and practice",
        "Christiansen's coefficient of cans of 8, 10, 12, 10 and 10 mm",
        92.0,
        "%",
        1e-6,
        lambda: 100 * christiansen_uniformity([8, 10, 12, 10, 10]),
        "as others quote it",
    ),
    Example(
        f"{EVALUATION}, p. 41",
        "fifteen cans: Christiansen's coefficient, low quarter, low half",
        (87, 82, 88),
        "%",
        0.5,
        lambda: percent(MERRIAM_IN_H),
        "the low half from the R package spreval",
    ),
    Example(
        f"{EVALUATION}, p. 29",
        "rate of 4.6 gal/min on 30 by 50 ft",
        0.29532,
        "in/h",
        0.0002,
        delivered_in_h,
        "96.3 q / (S1 S2), where 96.3 stands for 96.25",
    ),
    Example(
        f"{EVALUATION}, p. 43",
        "potential efficiency of the low quarter",
        74.0,
        "%",
        0.5,
        lambda: 100 * potential_efficiency_low_quarter(MERRIAM_IN_H, delivered_in_h()),
    ),
    Example(
        f"{EVALUATION}, p. 44",
        "application efficiency after 23.5 and after 11.5 h, where 4.4 in are missing",
        (63, 74),
        "%",
        0.5,
        lambda: [stored_percent(23.5), stored_percent(11.5)],
    ),
    Example(
        "Evans and others (1997), AG-553-1, p. 13",
        "sixteen cans of a solid set: the same three",
        (75, 55, 76),
        "%",
        0.5,
        lambda: percent(EVANS_IN),
    ),
    Example(
        "R package spreval (2022), examples",
        "fifteen cans: the same three",
        (69.1396, 49.6204, 71.5835),
        "%",
        0.001,
        lambda: percent(SPREVAL_ML),
        "recomputed, not printed; four cans in the low quarter, eight in the low half",
    ),
    Example(
        "Keller, Bliesner (1990)",
        "Christiansen's coefficient from a low quarter of 75 %",
        84.25,
        "%",
        1e-6,
        lambda: 100 * christiansen_from_low_quarter(0.75),
        "from memory, recomputed",
    ),
    Example(
        "Keller, Karmeli (1974); ASAE EP458",
        "emission uniformity, a low quarter of 3.6 in a mean of 4.0 l/h",
        90.0,
        "%",
        1e-6,
        lambda: 100 * distribution_uniformity_low_quarter(5 * [3.6] + 15 * [62 / 15]),
        "from memory, recomputed",
    ),
    Example(
        "FAO Training Manual 5, annex 2",
        "most that a wet clay and least that a wet loam take in",
        (5, 10),
        "mm/h",
        0.0,
        lambda: [soils()["clay"].basic_intake_max_mm_h, soils()["loam"].basic_intake_min_mm_h],
        "as others quote it",
    ),
)
