"""The programme runs on from any day, with a given visit and without it, on the same chance."""

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pytest
from pyarrow import parquet

from data_demo import futures, generate
from data_demo.arrivals import LAST_DAY
from data_demo.chunks import World, world_of
from data_demo.climate import weather_of
from data_demo.simulate import STOPS, first_state

SITES, DAYS, SEED = 12, 150, 1
FIRST_DAY = LAST_DAY - timedelta(days=DAYS - 1)
FIGURES = ("water_m3", "energy_kwh", "up_h", "down_h", "cause")


@pytest.fixture(scope="module")
def truth(tmp_path_factory: pytest.TempPathFactory) -> pa.Table:
    """What happened in the programme as it was written."""
    out = generate(tmp_path_factory.mktemp("programme"), sites=SITES, days=DAYS, seed=SEED)
    return parquet.read_table(out / "truth" / "site_days.parquet")


@pytest.fixture(scope="module")
def world() -> World:
    return world_of(SEED, 0, 0, SITES, weather_of(SEED, DAYS), paper_only=False)


def between(table: pa.Table, first: date, days: int) -> pa.Table:
    last = first + timedelta(days=days - 1)
    inside = pc.and_(pc.greater_equal(table["day"], first), pc.less_equal(table["day"], last))
    return table.filter(inside)


@pytest.mark.parametrize("after", [0, 1, 77, DAYS - 14])
def test_without_the_visit_the_days_are_those_that_happened(truth: pa.Table, after: int) -> None:
    """From the first morning, from the second, and to the last evening: to the last bit."""
    day = FIRST_DAY + timedelta(days=after)
    without = futures("S00003", day, sites=SITES, days=DAYS, seed=SEED).without
    assert without.equals(between(truth, day, 14))


@pytest.mark.parametrize("site_id", ["S00001", "S00005", "S00012"])
def test_with_the_visit_only_its_site_differs(site_id: str) -> None:
    """Every other site has the same days, whichever site is visited."""
    day = FIRST_DAY + timedelta(days=100)
    visited, without = futures(site_id, day, for_days=50, sites=SITES, days=DAYS, seed=SEED)
    others = pc.not_equal(visited["site_id"], site_id)
    assert visited.filter(others).equals(without.filter(others))
    assert others.to_pylist().count(False) == 50


def test_a_visit_changes_no_day_before_it(world: World) -> None:
    """The same run to the end, with a visit at each site on another day: all alike before it."""
    start = first_state(world.sites)
    _, plain, _ = world.go_on(start, DAYS)
    changed = 0
    for site in range(SITES):
        day = 30 + 10 * site
        _, visited, _ = world.go_on(start, DAYS, [(site, day)])
        for name in FIGURES:
            here, there = getattr(visited, name), getattr(plain, name)
            assert (here[:, :day] == there[:, :day]).all(), (name, site)
            others = [i for i in range(SITES) if i != site]
            assert (here[others] == there[others]).all(), (name, site)
        changed += int((visited.water_m3[site] != plain.water_m3[site]).any())
    assert changed >= 3  # the visit finds something to mend at some of them


def test_a_visit_at_a_stop_brings_the_water_back(world: World) -> None:
    """On the morning of a stop that lasts, the visited site pumps and the unvisited one doesn't."""
    _, plain, _ = world.go_on(first_state(world.sites), DAYS)
    stopped = np.asarray((plain.severity[:, :, STOPS] >= 1).any(2))
    lasting = [(s, d) for s in range(SITES) for d in range(1, DAYS - 3) if stopped[s, d - 1 : d + 3].all()]
    assert lasting
    site, position = lasting[0]
    day = FIRST_DAY + timedelta(days=position)
    site_id = world.sites.site_id(site)
    there, left = (
        t.filter(pc.equal(t["site_id"], site_id))["water_m3"][0].as_py()
        for t in futures(site_id, day, for_days=2, sites=SITES, days=DAYS, seed=SEED)
    )
    assert left == 0
    assert there > 0


def test_a_later_chunk_runs_on_as_it_was_written(tmp_path: Path) -> None:
    """Site 251 lies in the second chunk, simulated with those beside it."""
    out = generate(tmp_path, sites=253, days=20)
    truth = parquet.read_table(out / "truth" / "site_days.parquet")
    day = LAST_DAY - timedelta(days=9)
    without = futures("S00252", day, for_days=10, sites=253, days=20).without
    assert set(without["site_id"].to_pylist()) == {"S00251", "S00252", "S00253"}
    mine = pc.is_in(truth["site_id"], pa.array(["S00251", "S00252", "S00253"]))
    assert without.equals(between(truth.filter(mine), day, 10))


@pytest.mark.parametrize(
    ("site_id", "after", "for_days", "said"),
    [
        ("S00013", 10, 14, "no site S00013"),
        ("S00001", -1, 14, "don't lie within 2026-06-04 to 2026-10-31"),
        ("S00001", DAYS - 13, 14, "don't lie within"),
        ("S00001", 10, 0, "don't lie within"),
    ],
)
def test_a_day_or_site_outside_the_programme_is_told(
    site_id: str, after: int, for_days: int, said: str
) -> None:
    """The message names what is there."""
    day = FIRST_DAY + timedelta(days=after)
    with pytest.raises(ValueError, match=said):
        futures(site_id, day, for_days=for_days, sites=SITES, days=DAYS, seed=SEED)
