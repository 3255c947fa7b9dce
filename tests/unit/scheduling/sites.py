"""Sites to plan for: small ones for the head, and any number of random ones."""

import random
from dataclasses import replace
from datetime import date, timedelta
from math import inf, pi, sin
from typing import Any

from pipeline.scheduling.inputs import BlockInput, Rules, SiteInput

MONDAY = date(2026, 9, 7)
WEEK = tuple(MONDAY + timedelta(days=k) for k in range(7))
EIGHT_TO_FOUR = (480, 960)
EVEN_DAY = tuple(10.0 if 8 <= hour < 16 else 0.0 for hour in range(24))  # 80 m³


def block(name: str = "A", need_mm: float = 4.0, area_ha: float = 0.5, flow_m3h: float = 10.0, **more: Any) -> BlockInput:  # fmt: skip
    """A block of half a hectare that needs 20 m³ a day: two hours of 10 m³/h."""
    return BlockInput(name, flow_m3h, (area_ha,) * 7, (need_mm,) * 7, **more)


def site(*blocks: BlockInput, **more: Any) -> SiteInput:
    """A site without a tank: 10 m³/h from 8 to 16 o'clock, no time to change over."""
    taken: dict[str, Any] = {"rules": Rules(usual_min=60, least_min=10, changeover_min=0), **more}
    made = SiteInput("S1", WEEK, (EIGHT_TO_FOUR,) * 7, EVEN_DAY, blocks)
    return replace(made, **taken)


def random_site(seed: int) -> SiteInput:
    """A site as a programme might have it, and as none should: blocks, tank, pump, sun, need, soil."""
    r = random.Random(seed)  # noqa: S311 - the same sites every time
    peak = r.uniform(3, 40)
    steep = r.choice([0.5, 1, 1, 2])
    hours = tuple(
        round(peak * max(sin(pi * (hour + 0.5 - 6) / 12), 0) ** steep, 3) if 6 <= hour < 18 else 0.0
        for hour in range(24)
    )
    count = r.choice([1, 2, 3, 3, 4, 4, 5, 5, 6, 6, 6, 8, 12])
    window = (r.randint(380, 440), r.randint(950, 1020))
    return SiteInput(
        site_id=f"S{seed}",
        days=WEEK,
        windows=tuple(None if r.random() < 0.04 else window for _ in WEEK),
        hourly_m3h=hours,
        blocks=tuple(_random_block(r, f"B{k}", peak) for k in range(count)),
        tank_m3=r.choice([0, 0, 0, 5, 10, 20, 60]),
        limit_m3_per_day=r.choice([inf, inf, inf, 60, 150]),
        rules=Rules(r.choice([30, 60, 90]), r.choice([5, 10, 15]), r.choice([0, 2, 2, 5])),
    )


def _random_block(r: random.Random, name: str, peak: float) -> BlockInput:
    need = [r.uniform(0, 9)] * 7 if r.random() < 0.6 else [r.choice([0.0, r.uniform(0, 9)]) for _ in WEEK]
    known: dict[str, float] = {}
    if r.random() < 0.5:
        taw = r.uniform(20, 150)
        known = {"taw_mm": taw, "raw_mm": taw * r.uniform(0.2, 0.7), "start_depletion_mm": r.uniform(0, taw)}
    return BlockInput(
        block_id=name,
        flow_m3h=peak * r.choice([1, 1, 1, 0.5, 1.5]),
        area_ha=(r.uniform(0.05, 0.8),) * 7,
        need_mm=tuple(need),
        efficiency=r.choice([0.6, 0.75, 0.9]),
        intake_mm_h=r.choice([inf, inf, 25, 15, 8, 3, 1]),
        yield_response=r.choice([0.7, 1, 1.25]),
        season_mm=r.uniform(250, 1500),
        **known,
    )
