"""Who and what belongs to a site: contacts, hazards, parts in place, permits, the names on the old list."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

import numpy as np

from data_demo import places
from data_demo.diary import WORDS, Dated
from data_demo.paper import Row
from data_demo.sites import Sites
from data_demo.streams import stream

PARTS = (("pump", "Mvula Pumps", 5), ("controller", "Mvula Pumps", 5), ("array", "Dzuwa ndi Mphepo", 10), ("filter", "Mvula Pumps", 1))  # fmt: skip


def alias(number: int) -> str:
    """Return what a site is called on the old list."""
    return f"{places.village(number)[:5].upper()}/{number + 1}"


def _components(sites: Sites, site: int, start: date) -> Iterator[Row]:
    """What was put in when a site was commissioned; the suppliers are invented."""
    installed = start + timedelta(days=int(sites.commissioned[site]))
    for component, supplier, years in PARTS:
        yield {
            "site_id": sites.site_id(site), "component": component, "serial": f"{component[0].upper()}{1000 + sites.first + site}",
            "installed_on": installed, "supplier": supplier, "warranty_until": installed + timedelta(days=365 * years),
        }  # fmt: skip


def exchanged_controllers(sites: Sites, jobs: Iterable[Dated], start: date) -> list[Row]:
    """Return the controllers that were taken out, and those that came in their place."""
    known = {sites.site_id(i): [list(_components(sites, i, start))[1]] for i in range(sites.count)}
    for _, job in jobs:
        if job["action"] == WORDS["controller_stopped"][2]:
            in_place, on = known[job["site_id"]], job["restored_at"].date()
            in_place[-1] = in_place[-1] | {"removed_on": on}
            new = {"serial": f"C-{job['record_id']}", "installed_on": on, "removed_on": None}
            in_place.append(in_place[0] | new | {"warranty_until": on + timedelta(days=730)})
    return [row for in_place in known.values() if len(in_place) > 1 for row in in_place]


def kept(seed: int, chunk: int, sites: Sites, start: date) -> dict[str, list[Row]]:
    """Return contacts, hazards, components, limits and aliases."""
    draw = stream(seed, "people", chunk)
    ids = [sites.site_id(i) for i in range(sites.count)]
    seen_on = start - timedelta(days=20)
    wells = np.flatnonzero(draw.random(sites.count) < 0.3)
    limited = np.flatnonzero(draw.random(sites.count) < 0.4)
    # a permit of what the pump can lift in five to eight hours, in tens of cubic metres
    permits = np.ceil(sites.flow_m3h * draw.uniform(5, 8, sites.count) / 10) * 10
    return {
        "contacts": [
            {"site_id": s, "role": "chair", "name": places.person((sites.first + i) * 3), "phone": f"+265 000 {sites.first + i:05d}", "language": "Chichewa", "consent_on": start}
            for i, s in enumerate(ids)
        ],
        "hazards": [{"site_id": s, "hazard": "live_dc", "note": "array is live whenever the sun is up", "seen_on": seen_on} for s in ids]
        + [{"site_id": ids[i], "hazard": "well", "note": "open ring, keep the cover on", "seen_on": seen_on} for i in wells]
        + [{"site_id": ids[i], "hazard": "tank", "note": "ladder to the tank, nobody goes up alone", "seen_on": seen_on} for i in np.flatnonzero(sites.tank_m3 > 0)],
        "components": [row for i in range(sites.count) for row in _components(sites, i, start)],
        "abstraction_limits": [{"site_id": ids[i], "m3_per_day": float(permits[i]), "permit_until": date(2028, 3, 31)} for i in limited],
        "site_aliases": [{"alias": alias(sites.first + i), "site_id": ids[i]} for i in range(sites.count)],
    }  # fmt: skip
