"""A programme with sprays: uneven cans, dry ends, a dry strip by design, a site without cans, and hostile ids."""

import shutil
from pathlib import Path

from pipeline.store import Store
from tests.unit.dashboard.week_programme import HOSTILE, load

UNEVEN = ";".join(["5"] * 6 + ["15"] * 6)  # mean 10: Christiansen and low quarter 0.5
DRY_ENDS = ";".join(["0"] * 2 + ["12"] * 10)


def lay_sprays(programme: Store, folder: Path) -> Store:
    """N1 has two blocks and uneven cans, N2 one block and dry ends, a new site N3 no cans; S1 keeps its furrow."""
    folder.mkdir(exist_ok=True)
    shutil.copytree(programme.path, folder / "store")
    store = Store(folder / "store")
    load(
        store,
        folder / "files",
        sites=f"site_id|name|district|latitude|longitude|commissioned_on\nN3|{HOSTILE}|North|-13.25|33.5|2026-08-01",
        blocks="site_id|block_id|area_ha|irrigation_method|design_flow_m3h|lateral_spacing_m|wetted_diameter_m|soil\n"
        f"N1|B|1|spray_tube|10|3|3|clay\nN1|C|0.05|spray_tube|10|3|2.4|loam\nN2|B|1|sprinkler|8|||\nN3|{HOSTILE}|1||||||",
        surveys="survey_id|site_id|surveyed_on|mean_spray_diameter_m|catch_depths_mm\n"
        f"V0|N1|2026-08-10||8;10;12;10\nV1|N1|2026-09-20|2.85|{UNEVEN}\nV2|N2|2026-09-10||{DRY_ENDS}",
    )  # fmt: skip
    return store
