"""The checker finds what is wrong: a good week passes, each fault that is put into it is told."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from pipeline.scheduling.checker import faults
from pipeline.scheduling.plan import plan
from pipeline.scheduling.rows import rows
from pipeline.scheduling.runs import Run
from tests.unit.scheduling.sites import MONDAY, block, site

OF = site(block("A", 8), block("B", 16, start_depletion_mm=12.0, raw_mm=30.0, taw_mm=60.0), tank_m3=5.0)
Weeks = tuple[Run, ...]


@pytest.fixture(scope="module")
def week() -> Weeks:
    """A week without a fault."""
    made = plan(OF)
    found = rows(OF, made.turns, made.short_mm, "Africa/Blantyre")
    assert faults(OF, found) == []
    return found


def shifted(run: Run, minutes: int) -> Run:
    assert run.start_at is not None
    assert run.end_at is not None
    by = timedelta(minutes=minutes)
    return replace(run, start_at=run.start_at + by, end_at=run.end_at + by)


def first(change: Callable[[Run], Run]) -> Callable[[Weeks], Weeks]:
    return lambda week: (change(week[0]), *week[1:])


BROKEN: dict[str, tuple[Callable[[Weeks], Weeks], str]] = {
    "a block that nobody knows": (first(lambda r: replace(r, block_id="Z")), "no need on record"),
    "a day of another week": (first(lambda r: replace(r, day=MONDAY - timedelta(days=1))), "outside of the week"),
    "a run in the night": (first(lambda r: shifted(r, -300)), "daylight"),
    "two valves at once": (lambda w: (w[0], shifted(w[1], -5), *w[2:]), "open at once"),
    "water that didn't come": (
        first(lambda r: replace(r, volume_m3=r.volume_m3 + 1, depth_mm=r.depth_mm + 0.2)), "go through the valve"
    ),
    "less water than ran": (
        first(lambda r: replace(r, volume_m3=r.volume_m3 - 1, depth_mm=r.depth_mm - 0.2)), "pump and tank bring"
    ),
    "a depth of another area": (first(lambda r: replace(r, depth_mm=r.depth_mm * 2)), "are not"),
    "a shortage that isn't told": (lambda w: tuple(replace(r, short_mm=0.0) for r in w if r.run_min), "say"),
    "a row of nothing": (
        lambda w: (*w, replace(w[0], start_at=None, end_at=None, volume_m3=0.0, depth_mm=0.0, short_mm=0.0)), "nothing short"
    ),
    "seconds": (
        first(lambda r: replace(r, end_at=r.end_at + timedelta(seconds=20) if r.end_at else None)), "whole minutes"
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BROKEN)
def test_a_fault_is_told(week: Weeks, name: str) -> None:
    """One thing is changed in a good week."""
    change, told = BROKEN[name]
    assert any(told in sentence for sentence in faults(OF, change(week)))


def test_water_below_the_roots_is_told() -> None:
    """What was planned for a dry soil goes through a moist one."""
    dry = site(block(start_depletion_mm=20.0, raw_mm=30.0, taw_mm=60.0))
    made = plan(dry)
    found = rows(dry, made.turns, made.short_mm, "Africa/Blantyre")
    moist = replace(dry, blocks=(replace(dry.blocks[0], start_depletion_mm=1.0),))
    assert any("room for" in sentence for sentence in faults(moist, found))


def test_a_crop_left_dry_is_told() -> None:
    """Rows of nothing for a block that dries out beyond RAW."""
    of = site(block(start_depletion_mm=5.0, raw_mm=10.0, taw_mm=60.0))
    assert any("dries to" in sentence for sentence in faults(of, ()))


def test_standing_water_is_told() -> None:
    """Two hours at once on a soil that takes half of it."""
    of = site(block(need_mm=20.0, area_ha=0.05))
    made = plan(of)
    found = rows(of, made.turns, made.short_mm, "Africa/Blantyre")
    slow = replace(of, blocks=(replace(of.blocks[0], intake_mm_h=5.0),))
    assert any("would stand" in sentence for sentence in faults(slow, found))


def test_more_than_may_be_pumped_is_told() -> None:
    """The same week under a permit of a third of it."""
    of = site(block())
    made = plan(of)
    found = rows(of, made.turns, made.short_mm, "Africa/Blantyre")
    assert faults(replace(of, limit_m3_per_day=7.0), found)
