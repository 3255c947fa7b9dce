"""Published rules for effective rain."""

from pipeline.agronomy.effective_rain import RainStore, effective_rain_mm
from pipeline.agronomy.effective_rain_published import (
    dependable_mm,
    storage_factor,
    texas_daily_mm,
    tr21_mm,
    training_manual_mm,
    usda_scs_mm,
)
from tests.published.examples.example import Example

# where the store has room for it and the crop takes it
ROOMY = RainStore(effective_share=0.80, least_rain_mm=0.0, capacity_mm=1000.0)
FROM_MEMORY = "from memory, recomputed"

EXAMPLES = (
    Example(
        "FAO Paper 46 (Smith 1992), USDA-SCS",
        "of 0, 25, 50, 100, 150, 200, 250, 300 and 400 mm a month",
        (0, 24, 46, 84, 114, 136, 150, 155, 165),
        "mm",
        1e-6,
        lambda: usda_scs_mm([0, 25, 50, 100, 150, 200, 250, 300, 400]),
        f"{FROM_MEMORY}; a web page prints 72 at 100 mm",
    ),
    Example(
        "FAO Training Manual 3 (Brouwer, Heibloem 1986)",
        "of 10, 20, 50, 75, 100, 150, 200 and 250 mm a month",
        (0, 2, 20, 35, 55, 95, 135, 175),
        "mm",
        1e-6,
        lambda: training_manual_mm([10, 20, 50, 75, 100, 150, 200, 250]),
        FROM_MEMORY,
    ),
    Example(
        "FAO Paper 46 (Smith 1992), dependable rain",
        "of 10, 20, 50, 70, 100, 150 and 200 mm a month",
        (0, 2, 20, 32, 56, 96, 136),
        "mm",
        1e-6,
        lambda: dependable_mm([10, 20, 50, 70, 100, 150, 200]),
        FROM_MEMORY,
    ),
    Example(
        "FAO Paper 46 (Smith 1992), fixed percentage",
        "80 % of 100 mm",
        80.0,
        "mm",
        1e-9,
        lambda: effective_rain_mm([[100.0]], [[500.0]], rain_store=ROOMY).drawn_mm,
        FROM_MEMORY,
    ),
    Example(
        "TR-21 (USDA-SCS 1970), in NRCS NEH 623 ch. 2",
        "storage factor at 3 inches",
        1.000674,
        "–",
        1e-6,
        lambda: storage_factor(3 * 25.4),
    ),
    Example(
        "TR-21 (USDA-SCS 1970)",
        "of 100 mm with a need of 150 mm",
        73.3,
        "mm",
        0.1,
        lambda: tr21_mm(100, 150, 75),
        "recomputed, not printed: 0.70917 stands outside the power",
    ),
    Example(
        "Texas A&M AgriLife, TexasET Network",
        "of 2, 25.4, 50.8 and 80 mm in a day",
        (0, 22.86, 39.793, 39.793),
        "mm",
        0.001,
        lambda: texas_daily_mm([2, 25.4, 50.8, 80]),
    ),
)
