"""Names that would run, fetch or break a page if it let them, in every text that a page shows."""

import csv
import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from pipeline.tables import TABLES, Column, Kind

NAMES = (
    "<script>window.ran=1</script>",
    "<img src=http://example.invalid/a.png onerror=window.ran=1>",
    "${window.ran=1}`\\",
    "![x](http://example.invalid/b.png)",
    "=cmd|'/c calc'!A0",
    "{{7*7}} **bold** :red[x]",
    "{% raw %}",
    "</script><script>window.ran=1</script>",
    "<a href='javascript:window.ran=1'>go</a>",
    "[go](javascript:window.ran=1)",
    "\u202edrow a fo tuo",
    "W" * 200,
)


DAY, MOMENT = "2026-09-20", "2026-09-20 08:00"
CELLS = {  # of what is no text: whatever the contract takes
    Kind.NUMBER: "1", Kind.WHOLE: "30", Kind.DATE: DAY, Kind.INSTANT: MOMENT, Kind.NUMBERS: "1", Kind.CLOCK: "08:00",
    Kind.TIMEZONE: "Africa/Blantyre",
}  # fmt: skip
TEXTS = (Kind.ID, Kind.TEXT, Kind.NAMES)
PLACE = {"latitude": "-13.55", "longitude": "33.55"}


def write_every_text(folder: Path) -> int:
    """Write a row for each name in every table of the contract, the name in all its texts and ids; return how many.

    A row's parents are called the same, so that none waits. Of other cells only those are filled that must be.
    """
    folder.mkdir(parents=True)
    tables = [table for table in TABLES.values() if not table.geometry or not table.geometry.required]
    for table in tables:
        rows = [
            {c.name: _cell(c, name) for c in table.columns if c.required or c.kind in TEXTS} for name in NAMES
        ]
        _write(folder / f"{table.name}.csv", rows)
    return len(tables) * len(NAMES)


def _cell(column: Column, name: str) -> str:
    if column.kind in TEXTS:
        return name
    if column.kind in (Kind.CHOICE, Kind.CHOICES):
        return column.choices[0]
    return PLACE.get(column.name, CELLS[column.kind])


def write_hostile(folder: Path) -> None:
    """Write sites, hazards, jobs, bases, districts and roads with such names, each site at a place of its own."""
    folder.mkdir(parents=True)
    sites = [f"H{n}" for n in range(len(NAMES))]
    _write(folder / "sites.csv", [
        {"site_id": s, "name": name, "district": name, "latitude": -13.55, "longitude": 33.05 + n / 20, "commissioned_on": "2026-08-01"}
        for n, (s, name) in enumerate(zip(sites, NAMES, strict=True))
    ])  # fmt: skip
    _write(folder / "hazards.csv", [
        {"site_id": s, "hazard": "well", "note": name, "seen_on": "2026-08-01"} for s, name in zip(sites, NAMES, strict=True)
    ])  # fmt: skip
    _write(folder / "maintenance.csv", [
        {"record_id": f"J{name}"[:60], "site_id": s, "kind": "corrective", "reported_at": "2026-09-20 08:00", "water_stopped": "yes", "component": name, "action": name}
        for s, name in zip(sites, NAMES, strict=True)
    ])  # fmt: skip
    _write(folder / "bases.csv", [
        {"base_id": f"HB{n}", "name": name, "latitude": -13.56, "longitude": 33.1 + n / 20} for n, name in enumerate(NAMES)
    ])  # fmt: skip
    outline = [[[33.0, -13.6], [33.9, -13.6], [33.9, -13.5], [33.0, -13.6]]]
    _shapes(folder / "districts.geojson", [({"district": name}, {"type": "Polygon", "coordinates": outline}) for name in NAMES])  # fmt: skip
    _shapes(folder / "roads.geojson", [
        ({"class": name}, {"type": "LineString", "coordinates": [[33.0, -13.6 + n / 200], [33.9, -13.5]]})
        for n, name in enumerate(NAMES)
    ])  # fmt: skip


def _write(path: Path, rows: Sequence[Mapping[str, object]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def _shapes(path: Path, features: Sequence[tuple[dict[str, object], dict[str, object]]]) -> None:
    made = [{"type": "Feature", "properties": p, "geometry": g} for p, g in features]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": made}), encoding="utf-8")
