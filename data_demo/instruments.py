"""What the instruments show of what happened: counters, and the controller's log."""

from dataclasses import dataclass

import numpy as np

from data_demo.climate import Climate
from data_demo.simulate import KINDS, Outcome
from data_demo.sites import Floats, Sites
from data_demo.streams import stream

STEPS = 96  # quarters of an hour in a day


@dataclass(frozen=True)
class Counter:
    """One register: its true total each evening, and how it shows it."""

    meter_id: str
    site: int
    quantity: str
    block: int  # -1: at the source
    digits: int
    unit: str
    total: Floats  # m³ or kWh at the end of each day, from the register's zero
    installed: int  # day's position; -1: from the start
    removed: int  # -1: still there
    daily: bool

    def shown(self, day: int) -> int:
        """Return what stands on the register at the end of a day; -1 is the evening before the first."""
        amount = self.total[day] if day >= 0 else self.total[0]
        scale = 1000 if self.unit == "l" else 1
        return int(amount * scale % 10**self.digits)


def counters(seed: int, chunk: int, sites: Sites, outcome: Outcome) -> list[Counter]:
    """Return the meters of a chunk's sites."""
    draw = stream(seed, "meters", chunk)
    stuck = outcome.severity[:, :, KINDS.index("meter_stuck")] > 0
    found: list[Counter] = []
    for site in range(sites.count):
        sid = sites.site_id(site)
        kind, start = draw.random(), float(draw.integers(200, 9000))
        if sites.metered[site]:
            seen = np.where(stuck[site], 0.0, outcome.water_m3[site])
            found += _water(sid, site, seen, kind, start, daily=bool(sites.remote[site]))
        if sites.energy_metered[site]:
            total = float(draw.integers(100, 4000)) + np.cumsum(outcome.energy_kwh[site])
            found.append(
                Counter(f"E{sid[1:]}", site, "energy", -1, 6, "kWh", total, -1, -1, bool(sites.remote[site]))
            )
        if sites.block_metered[site]:
            found += _of_blocks(sid, site, sites, outcome)
    return found


def _water(sid: str, site: int, seen: Floats, kind: float, start: float, *, daily: bool) -> list[Counter]:
    name, days = f"W{sid[1:]}", len(seen)
    if kind < 0.08:  # a small register that goes round
        return [Counter(name, site, "water", -1, 4, "m3", start + np.cumsum(seen), -1, -1, daily)]
    if kind < 0.14:
        return [Counter(name, site, "water", -1, 8, "l", start + np.cumsum(seen), -1, -1, daily)]
    if kind < 0.22 and days > 200:  # exchanged for another one
        day = days // 2
        first = Counter(name, site, "water", -1, 6, "m3", start + np.cumsum(seen), -1, day, daily)
        rest = np.cumsum(np.where(np.arange(days) > day, seen, 0.0))
        return [first, Counter(f"{name}-2", site, "water", -1, 6, "m3", rest, day, -1, daily)]
    if kind < 0.26 and days > 200:  # reset under the same id
        total = start + np.cumsum(seen)
        day = days * 2 // 3
        total = np.where(np.arange(days) >= day, total - total[day] + seen[day], total)
        return [Counter(name, site, "water", -1, 6, "m3", total, -1, -1, daily)]
    return [Counter(name, site, "water", -1, 6, "m3", start + np.cumsum(seen), -1, -1, daily)]


def _of_blocks(sid: str, site: int, sites: Sites, outcome: Outcome) -> list[Counter]:
    share = sites.block_ha[site] / sites.block_ha[site].sum()
    water = outcome.water_m3[site] * outcome.delivered[site]
    return [
        Counter(
            f"K{sid[1:]}-{b + 1}", site, "water", b, 6, "m3", np.cumsum(water * share[b]), -1, -1, daily=False
        )
        for b in range(int(sites.blocks[site]))
    ]


def day_curve() -> Floats:
    """Return the clear sky's shape over the quarters of a day, ends at their marks; sums to 1."""
    hour = (np.arange(STEPS) + 0.5) / 4
    shape = np.clip(np.sin((hour - 6.1) / 11.9 * np.pi), 0, None) ** 1.15
    return np.asarray(shape / shape.sum(), dtype=np.float64)


def log_of_day(
    seed: int, chunk: int, sites: Sites, weather: Climate, outcome: Outcome, members: np.ndarray, day: int
) -> dict[str, Floats]:
    """Return a day's log of some sites: flow, input, irradiance and tank level, (members, quarters) each."""
    draw = stream(seed, f"log {day}", chunk)
    clouds = np.clip(1 + draw.normal(0, 0.10, (len(members), STEPS)), 0.3, 1.15)
    shape = day_curve()[None, :] * clouds
    irradiance = weather.solar_mj_m2[day] / 3.6 * 1000 * 4 * shape / shape.sum(1, keepdims=True)
    able = np.clip((irradiance - 180) / 650, 0, 1)
    flow = (
        able / np.maximum(able.sum(1, keepdims=True), 1e-9) * outcome.potential_m3[members, day][:, None] * 4
    )
    before = np.cumsum(flow, 1) / 4 - flow / 4
    flow = np.clip(np.minimum(flow, (outcome.water_m3[members, day][:, None] - before) * 4), 0, None)
    kwh_m3 = np.where(
        outcome.water_m3[members, day] > 0,
        outcome.energy_kwh[members, day] / np.maximum(outcome.water_m3[members, day], 1e-9),
        0,
    )
    lifted = np.cumsum(flow, 1) / 4 >= outcome.water_m3[members, day][:, None] - 1e-6
    running = outcome.up_h[members, day] > 0
    full = lifted & running[:, None] & (outcome.water_m3[members, day] > 0)[:, None]
    tank = np.where(full, 100.0, np.clip(40 + 25 * draw.random((len(members), STEPS)), 0, 94))
    tank = np.where(sites.tank_m3[members][:, None] > 0, tank, np.nan)
    return {
        "flow_m3h": flow.round(2),
        "input_kw": (flow * kwh_m3[:, None]).round(3),
        "irradiance_wm2": irradiance.round(0),
        "tank_level_pct": tank.round(0),
    }
