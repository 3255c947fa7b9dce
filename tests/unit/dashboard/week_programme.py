"""A programme in which something happened: a stop, a counter that stands, jobs, contacts and calls, with hostile texts."""

import shutil
from pathlib import Path

from pipeline.measures import run
from pipeline.store import Store
from tests.unit.dashboard.conftest import write_csv

HOSTILE = "<img src=x onerror=window.ran=1>"
WEEK = {"since": "2026-09-23", "to": "2026-09-30"}


def load(store: Store, folder: Path, **tables: str) -> None:
    folder.mkdir()
    for table, text in tables.items():
        write_csv(folder, table, text)
    report = store.load([folder])
    assert (report.faults, report.unreadable) == ([], [])
    run.refresh(store)


def lay_happened(programme: Store, folder: Path) -> Store:
    """N1 stopped on the last day; a new site N3 whose counter stands; a job of S1 open since August."""
    shutil.copytree(programme.path, folder / "store")
    store = Store(folder / "store")
    days = [f"2026-{month:02d}-{day:02d}" for month in (8, 9) for day in range(1, 31)]
    still = "\n".join(f"WN3|{day} 07:00|{min(1000 + 40 * n, 2800)}" for n, day in enumerate(days))
    load(
        store,
        folder / "files",
        sites=f"site_id|name|district|latitude|longitude|commissioned_on|pump_rated_flow_m3h\nN3|{HOSTILE}|North|-13.25|33.5|2026-08-01|10",
        blocks="site_id|block_id|area_ha|irrigation_method\nN3|B|1|furrow",
        plantings="site_id|block_id|crop|planted_on\nN3|B|maize|2026-07-01",
        meters="meter_id|site_id|quantity|digits\nWN3|N3|water|6",
        meter_readings=f"meter_id|read_at|value\n{still}",
        contacts=f"site_id|role|name|phone|language|consent_on\nN3|chair{HOSTILE}|Ann {HOSTILE}|+265 (0) 00-333|{HOSTILE}|2026-08-01\n"
        f"N3|watchman|Zed|javascript:window.ran=1||\nS1|chair|Southern Chair|+265 000 44444|Chichewa|2026-08-01",
        calls=f"site_id|called_at|answer|next_step\nN3|2026-09-20 10:00|{HOSTILE}|ring {HOSTILE}\nS1|2026-09-20 10:00|southern words|",
        maintenance="record_id|site_id|kind|reported_at|water_stopped|status|component\n"
        f"J-N1|N1|corrective|2026-09-30 08:00|yes|open|{HOSTILE}\nJ-S1|S1|inspection|2026-08-05 08:00|no|waiting_part|southern pipe",
    )  # fmt: skip
    return store
