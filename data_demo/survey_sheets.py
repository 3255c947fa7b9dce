"""What a surveyor measures and sees at a site on a day."""

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from data_demo import places
from data_demo.diary import Dated
from data_demo.paper import Row
from data_demo.simulate import KINDS, STOPS, Outcome
from data_demo.sites import Sites
from data_demo.streams import stream


def surveys(seed: int, chunk: int, sites: Sites, outcome: Outcome, start: date) -> Iterator[Dated]:
    """Yield a survey of each site about every hundred days."""
    draw = stream(seed, "surveys", chunk)
    for site in range(sites.count):
        day = int(max(sites.commissioned[site], 0) + draw.integers(5, 100))
        while day < min(outcome.water_m3.shape[1], int(sites.closed[site])):
            s = {kind: float(outcome.severity[site, day, i]) for i, kind in enumerate(KINDS)}
            stopped = max(float(x) for x in outcome.severity[site, day, STOPS]) >= 1
            row: Row = {
                "survey_id": f"V{sites.first + site + 1:05d}-{day:04d}",
                "site_id": sites.site_id(site),
                "surveyed_on": start + timedelta(days=day),
                "surveyor": places.person(site + day),
            }
            yield (
                day,
                row | _measured(draw, sites, site, s, stopped=stopped) | _seen(draw, s, stopped=stopped),
            )
            day += int(draw.integers(75, 140))


def _measured(
    draw: np.random.Generator, sites: Sites, site: int, s: dict[str, float], *, stopped: bool
) -> Row:
    """What gauge, meter and catch cans say; where the pump stands there is little to measure.

    Blocked laterals raise the pressure; blocks opened together and a leaking main lower it. Half of the
    head is lift, a third pressure, the rest friction.
    """
    head = float(sites.head_m[site])
    flow = float(sites.flow_m3h[site])
    for kind in ("intake_blocked", "pump_worn", "source_low"):
        flow *= 1 - s[kind]
    doubled, blocked = s["blocks_doubled"], s["laterals_blocked"]
    pressure = head / 3 * 9.80665 * (1 + 0.6 * blocked) * (1 - 0.9 * doubled) * (1 - 0.5 * s["main_leak"])
    spray = 3.0 * (1 - 0.4 * blocked) * (1 - 0.7 * doubled)
    cans = np.clip(draw.normal(6, 6 * (0.12 + 0.6 * blocked + 0.3 * doubled), 16), 0.2, None).round(1)
    level, *factors = (float(x) for x in draw.normal([0, 1, 1, 1, 1], [0.4, 0.03, 0.03, 0.04, 0.04]))
    flow, pressure, spray = flow * factors[0], pressure * factors[2], spray * factors[3]
    kw = float(sites.power_kw[site]) * (1 - s["array_loss"]) * 0.9 * factors[1]
    by_sprays = sites.method[site] == 0 and not stopped
    return {
        "static_water_level_m": round(head * (0.4 + 0.3 * s["source_low"]), 1),
        "pumping_water_level_m": None if stopped else round(head * (0.5 + 0.4 * s["source_low"]) + level, 1),
        "measured_flow_m3h": None if stopped else round(flow, 1),
        "measured_input_kw": None if stopped else round(kw, 2),
        "measured_pressure_kpa": None if stopped else round(pressure, 0),
        "mean_spray_diameter_m": round(spray, 2) if by_sprays else None,
        "catch_depths_mm": ";".join(str(x) for x in cans) if by_sprays else None,
    }  # fmt: skip


def _seen(draw: np.random.Generator, s: dict[str, float], *, stopped: bool) -> Row:
    """What eyes and hands find."""
    strainer = "clean" if s["intake_blocked"] < 0.15 else ("silt", "sand", "plants")[int(draw.integers(0, 3))]
    return {
        "strainer_found": "not_opened" if draw.random() < 0.3 else strainer,
        "auxiliary_voltage_v": round(float(draw.normal(24.6, 0.6)), 1),
        "alarm_tested": "yes" if draw.random() < 0.6 else "no",
        "pv_condition": 2 if max(s["array_soiled"], s["tamper"]) > 0.15 else 4,
        "pump_condition": 1 if stopped else 2 if s["pump_worn"] > 0.2 else 4,
        "filter_condition": 2 if s["intake_blocked"] > 0.3 else 4,
        "laterals_condition": 2 if s["laterals_blocked"] > 0.25 else 4,
        "security_condition": 1 if s["tamper"] else int(draw.integers(2, 6)),
        "notes": _note(draw.random()),
    }


def _note(chance: float) -> str | None:
    if chance < 0.02:
        return "<script>alert('x')</script> farmers ask for shade"
    if chance < 0.04:
        return '=HYPERLINK("http://example.invalid","see photo")'
    return "valves run by turns" if chance < 0.3 else None
