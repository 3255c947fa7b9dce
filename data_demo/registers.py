"""What everybody keeps: sites, blocks, meters, crews, agreements, roads."""

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta

import numpy as np

from data_demo import places
from data_demo.instruments import Counter
from data_demo.paper import Row
from data_demo.sites import METHODS, OWN_CROPS, Planting, Sites, site_id
from data_demo.streams import stream

SOURCES = ("borehole", "river", "lake", "reservoir", "wetland", "canal")
SOILS = ("sandy_loam", "loam", "silt_loam", "loamy_sand", "silty_clay")
PART_NEEDS = (
    ("pump_stopped", "pump seal kit", 1), ("controller_stopped", "controller", 1), ("array_loss", "string fuse", 2),
    ("intake_blocked", "strainer basket", 1), ("laterals_blocked", "end cap", 10), ("pump_worn", "impeller", 1),
)  # fmt: skip
FUNDERS = (
    ("AG-1", "Mwera Water Fund", "Green plots of the two northern districts"),
    ("AG-2", "Ndolera Trust", "Dry-season gardens"),
    ("AG-3", "Ministry programme for small lifts", "Small lifts, second phase"),
)


def site_rows(seed: int, chunk: int, sites: Sites, start: date) -> Iterator[Row]:
    """Yield the rows of `sites`; old ones lack much."""
    draw = stream(seed, "site rows", chunk)
    for i in range(sites.count):
        lacking = draw.random() < 0.08
        surface = draw.random() < 0.4
        yield {
            "site_id": sites.site_id(i),
            "name": places.village(sites.first + i),
            "district": places.DISTRICTS[sites.district[i]],
            "latitude": round(float(sites.latitude[i]), 5),
            "longitude": round(float(sites.longitude[i]), 5),
            "elevation_m": None if lacking else float(sites.elevation_m[i]),
            "commissioned_on": start + timedelta(days=int(sites.commissioned[i])),
            "timezone": None if i % 11 == 7 else "Africa/Blantyre",  # then the programme's
            "water_source": SOURCES[int(draw.integers(0, len(SOURCES)))],
            "pump_type": "surface" if surface else "submersible",
            "pump_rated_power_kw": float(sites.power_kw[i]),
            "pump_rated_flow_m3h": None if lacking else float(sites.flow_m3h[i]),
            "total_dynamic_head_m": None if lacking else float(sites.head_m[i]),
            "pv_capacity_kwp": float(sites.pv_kwp[i]),
            "pv_tilt_deg": 15.0,
            "pv_azimuth_deg": 0.0,
            "tank_volume_m3": float(sites.tank_m3[i]) or None,
            "households": int(draw.integers(12, 90)),
            "households_counted_on": start - timedelta(days=int(draw.integers(20, 300))),
            "lift_before": ("none", "can", "treadle", "petrol", "diesel")[int(draw.integers(0, 5))],
            "other_uses": "n/a" if draw.random() < 0.5 else "drinking point at the pump house",
        }


def closed_rows(sites: Sites, start: date, days: int) -> list[Row]:
    """Return the sites that were given up, as the list tells them afterwards."""
    return [
        {
            "site_id": sites.site_id(int(i)), "name": places.village(sites.first + int(i)),
            "latitude": round(float(sites.latitude[i]), 5), "longitude": round(float(sites.longitude[i]), 5),
            "decommissioned_on": start + timedelta(days=int(sites.closed[i])),
        }
        for i in np.flatnonzero(sites.closed < days)
    ]  # fmt: skip


def block_shape(sites: Sites, site: int, block: int) -> list[list[float]]:
    """Return a block's outline: strips beside the pump house, of the block's area."""
    side_deg = (float(sites.block_ha[site, block]) * 10_000) ** 0.5 / 110_000
    west = float(sites.longitude[site]) + 0.0004 + (block % 3) * 0.0016
    south = float(sites.latitude[site]) + 0.0004 + (block // 3) * 0.0016
    ring = [(0, 0), (1, 0), (1, 1), (0, 1), (0, 0)]
    return [[round(west + x * side_deg, 6), round(south + y * side_deg, 6)] for x, y in ring]


def block_rows(seed: int, chunk: int, sites: Sites, *, shapes: bool) -> Iterator[Row]:
    """Yield the rows of `blocks`, with their outlines as GeoJSON where there are any."""
    draw = stream(seed, "block rows", chunk)
    for i in range(sites.count):
        for b in range(int(sites.blocks[i])):
            method = METHODS[sites.method[i]]
            row: Row = {
                "site_id": sites.site_id(i),
                "block_id": f"{b + 1}",
                "area_ha": float(sites.block_ha[i, b]),
                "irrigation_method": method,
                "design_flow_m3h": float(sites.flow_m3h[i]),
                "application_efficiency": float(sites.efficiency[i])
                if sites.efficiency_measured[i]
                else None,
                "lateral_spacing_m": 3.0 if method == "spray_tube" else None,
                "wetted_diameter_m": 3.0 if method == "spray_tube" else None,
                "soil": SOILS[int(draw.integers(0, len(SOILS)))],
            }
            if shapes:
                row["geometry"] = {"type": "Polygon", "coordinates": [block_shape(sites, i, b)]}
            yield row


def planting_rows(
    sites: Sites, plantings: list[Planting], start: date, until: int
) -> Iterator[tuple[int, Row]]:
    """Yield the position of the day on which a planting is known, and its row."""
    for p in plantings:
        row = {
            "site_id": sites.site_id(p.site),
            "block_id": f"{p.block + 1}",
            "crop": p.crop,
            "area_ha": round(p.share * float(sites.block_ha[p.site, p.block]), 3) if p.share < 1 else None,
            "planted_on": start + timedelta(days=p.start),
            "cleared_on": start + timedelta(days=p.end + 1) if p.cleared and p.end < until else None,
        }
        yield (p.end + 1 if row["cleared_on"] else p.start), row
        if row["cleared_on"]:
            yield p.start, row | {"cleared_on": None}


def meter_rows(counters: list[Counter], sites: Sites, start: date) -> Iterator[Row]:
    """Yield the rows of `meters`."""
    for c in counters:
        yield {
            "meter_id": c.meter_id,
            "site_id": sites.site_id(c.site),
            "quantity": c.quantity,
            "block_id": f"{c.block + 1}" if c.block >= 0 else None,
            "digits": c.digits,
            "unit": c.unit if c.unit == "l" else None,
            "carries": "pump" if c.quantity == "energy" else None,
            "installed_on": start + timedelta(days=c.installed) if c.installed >= 0 else None,
            "removed_on": start + timedelta(days=c.removed) if c.removed >= 0 else None,
        }


def crews() -> dict[str, list[Row]]:
    """Return bases, crews, and the parts that a cause takes."""
    bases = [
        {"base_id": b.base_id, "name": b.name, "latitude": b.latitude, "longitude": b.longitude, "lodging": "yes", "workshop": "yes" if b.base_id == "B1" else "no"}
        for b in places.BASES
    ]  # fmt: skip
    teams = [
        ("C1", "B1", "pump;electrical", 2, "pickup"),
        ("C2", "B2", "pump;electrical;agronomy", 2, "pickup"),
        ("C3", "B2", "agronomy;security", 1, "motorbike"),
    ]
    crew_rows = [
        {"crew_id": c, "base_id": b, "skills": s, "day_start": "07:00", "day_end": "17:30", "max_driving_h": 5.0, "people": n, "vehicle": v}
        for c, b, s, n, v in teams
    ]  # fmt: skip
    needs = [{"cause": c, "part": p, "quantity": n} for c, p, n in PART_NEEDS]
    return {"bases": bases, "crews": crew_rows, "part_needs": needs}


def shelves(seed: int, counted_on: date) -> dict[str, list[Row]]:
    """Return what is on the two bases' shelves on a day."""
    draw = stream(seed, f"shelves {counted_on}")
    ordered = counted_on + timedelta(days=20)
    stock = [
        {"base_id": b.base_id, "part": part, "quantity": q, "counted_on": counted_on, "next_delivery_on": None if q else ordered}
        for b in places.BASES
        for _, part, _ in PART_NEEDS
        for q in [int(draw.integers(0, 5))]
    ]  # fmt: skip
    return {"stock": stock}


def absences(last: date) -> list[Row]:
    """Return the weeks after the last day in which a crew is away."""
    away = (("C1", 9, 13), ("C3", 2, 3))
    return [
        {"crew_id": c, "from_on": last + timedelta(days=a), "to_on": last + timedelta(days=b)}
        for c, a, b in away
    ]


def crop_rows() -> list[Row]:
    """Return the programme's own crops."""
    columns = {
        "kc_ini": "kc_ini", "kc_mid": "kc_mid", "kc_end": "kc_end", "ini_days": "ini_days", "dev_days": "dev_days",
        "mid_days": "mid_days", "late_days": "late_days", "root_depth_m": "root_depth_max_m",
        "depletion_fraction": "depletion_fraction", "height_m": "height_m", "yield_response": "yield_response",
    }  # fmt: skip
    return [
        {"crop": name} | {column: getattr(values, field) for column, field in columns.items()}
        for name, values in OWN_CROPS.items()
    ]


def decision_rows(last: date, sites: int) -> list[Row]:
    """Return what the office decided in the last weeks."""
    said = (
        (24, 2, "note", "the committee meets on Friday"),
        (17, 5, "visit put off", "road closed for the bridge works"),
        (10, 3, "cause corrected", "the chair says that the new valves are used together"),
        (3, 8, "stop kept", "the pump is at the workshop"),
        (0, 1, "note", "farmers ask for a second tap at the pump house"),
    )
    return [
        {"decided_at": datetime.combine(last - timedelta(days=before), time(9, 30)), "about": site_id(number % sites), "what": what, "who": places.person(3 + before), "why": why}
        for before, number, what, why in said
    ]  # fmt: skip


def agreements(sites: Sites, start: date) -> dict[str, list[Row]]:
    """Return agreements, the sites they pay for, and what was promised."""
    members = [
        {"agreement_id": FUNDERS[i % 4][0], "site_id": sites.site_id(i), "share": 0.5 if i % 7 == 0 else None}
        for i in range(sites.count)
        if i % 4 < 3
    ]
    promised = [
        ("relative_irrigation_supply", 0.5, 0.8),
        ("uptime", 0.8, 0.95),
        ("trainings_held", 0.0, 20.0),
    ]
    return {
        "agreements": [
            {"agreement_id": a, "funder": f, "title": t, "start_on": start, "end_on": date(2027, 12, 31)} for a, f, t in FUNDERS
        ],
        "agreement_sites": members,
        "targets": [
            {"agreement_id": a, "indicator": i, "baseline": b, "target": t, "due_on": date(2026, 12, 31)}
            for a, _, _ in FUNDERS
            for i, b, t in promised
        ],
    }  # fmt: skip


def district_rows() -> list[Row]:
    """Return the districts with their boundaries."""
    return [
        {
            "district": name,
            "geometry": {"type": "Polygon", "coordinates": [[list(p) for p in places.outline(i)]]},
        }
        for i, name in enumerate(places.DISTRICTS)
    ]


def trunk_rows(seed: int) -> list[Row]:
    """Return the grid of roads, and the tracks to the bases."""
    bases = [(b.longitude, b.latitude) for b in places.BASES]
    return [_road(*road) for road in (*places.trunk_roads(seed), *places.tracks(seed, bases, "bases"))]


def track_rows(seed: int, chunk: int, sites: Sites) -> list[Row]:
    """Return the tracks that join a chunk's sites to the grid."""
    points = [(float(x), float(y)) for x, y in zip(sites.longitude, sites.latitude, strict=True)]
    return [_road(*road) for road in places.tracks(seed, points, f"tracks {chunk}")]


def _road(kind: str, rain: str, line: list[tuple[float, float]]) -> Row:
    coordinates = [[round(x, 6), round(y, 6)] for x, y in line]
    speed = {"primary": 65, "tertiary": 40}.get(kind)  # nobody has measured the tracks
    return {"class": kind, "speed_kmh": speed, "open_in_rain": rain, "geometry": {"type": "LineString", "coordinates": coordinates}}  # fmt: skip
