"""A programme with harvests: weighed, recalled, without a price, without a planting, before enough is known."""

import shutil
from pathlib import Path

from pipeline.store import Store
from tests.unit.dashboard.week_programme import HOSTILE, load


def lay_harvests(programme: Store, folder: Path) -> Store:
    """Beans weighed and recalled at N1, lettuce at N2, tomato at S1; S1's maize was planted before the weather begins."""
    shutil.copytree(programme.path, folder / "store")
    store = Store(folder / "store")
    load(
        store,
        folder / "files",
        blocks="site_id|block_id|area_ha|irrigation_method\nN1|H|1|furrow\nN2|H|1|furrow\nS1|H|1|furrow",
        plantings="site_id|block_id|crop|planted_on\nN1|H|beans|2026-08-01\nN2|H|lettuce|2026-08-01\nS1|H|tomato|2026-08-02",
        harvests="site_id|block_id|crop|harvested_on|harvest_kg|price_per_kg|how_known\n"
        "N1|H|beans|2026-09-20|900|1000|weighed\nN1|H|beans|2026-09-25|100||recall\n"
        "N2|H|lettuce|2026-09-24|2000|200|recall\n"
        "S1|H|tomato|2026-09-28|12000|500|buyer_slip\n"
        f"S1|B|maize|2026-09-10|300||recall\nN2|B|{HOSTILE}|2026-09-05|40||",
    )
    return store
