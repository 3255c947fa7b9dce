"""The simulator goes on from any day, with a visit or without it, on the same chance."""

from dataclasses import dataclass

import numpy as np
import pytest

from data_demo.climate import Climate, climate
from data_demo.simulate import FAULTS, KINDS, STOPS, Chance, Outcome, State, draw_chance, first_state, run_on
from data_demo.sites import Floats, Sites, block_kc, gross_need_m3, make_plantings, make_sites

SEED, COUNT, DAYS = 1, 60, 549


@dataclass(frozen=True)
class World:
    sites: Sites
    weather: Climate
    need_m3: Floats
    chance: Chance

    def go_on(
        self, state: State, days: int, visits: tuple[tuple[int, int], ...] = ()
    ) -> tuple[State, Outcome]:
        end, outcome, _ = run_on(self.sites, self.weather, self.need_m3, self.chance, state, days, visits)
        return end, outcome


@pytest.fixture(scope="module")
def world() -> World:
    weather = climate(SEED, np.arange(np.datetime64("2025-05-01"), np.datetime64("2026-11-01")))
    sites = make_sites(SEED, 0, 0, COUNT, DAYS, paper_only=False)
    need = gross_need_m3(sites, block_kc(sites, make_plantings(SEED, 0, sites, DAYS), DAYS), weather)
    return World(sites, weather, need, draw_chance(SEED, 0, COUNT, DAYS))


@pytest.fixture(scope="module")
def base(world: World) -> Outcome:
    return world.go_on(first_state(world.sites), DAYS)[1]


def test_going_on_without_a_visit_is_the_base_run(world: World, base: Outcome) -> None:
    """Stopped on any morning and gone on with, the programme has the same days to the last bit."""
    for day in (1, 170, 400):
        morning, _ = world.go_on(first_state(world.sites), day)
        _, rest = world.go_on(morning, DAYS - day)
        for name in ("water_m3", "energy_kwh", "up_h", "down_h", "cause", "severity"):
            np.testing.assert_array_equal(getattr(rest, name), getattr(base, name)[:, day:], err_msg=name)


def test_going_on_leaves_the_morning_as_it_was(world: World) -> None:
    """One state serves both runs, so neither may write on it."""
    morning, _ = world.go_on(first_state(world.sites), 200)
    before = morning.severity.copy(), morning.since.copy(), morning.job_open.copy()
    world.go_on(morning, 30, ((0, 205),))
    for was, now in zip(before, (morning.severity, morning.since, morning.job_open), strict=True):
        np.testing.assert_array_equal(was, now)


def test_a_visit_gives_a_broken_site_its_water_and_no_other_site_anything(
    world: World, base: Outcome
) -> None:
    """A stop that lasts is mended on the visit's day; every other site has the same days as without."""
    down = base.down_h > 0
    lasts = down[:, :-3] & down[:, 1:-2] & down[:, 2:-1] & down[:, 3:]
    site, day = (int(x) for x in np.argwhere(lasts & (world.need_m3[:, :-3] > 5))[0])
    morning, _ = world.go_on(first_state(world.sites), day)
    _, with_it = world.go_on(morning, 14, ((site, day),))
    _, without = world.go_on(morning, 14)
    assert without.water_m3[site, 0] == 0
    assert with_it.water_m3[site, 0] > 0
    assert (with_it.water_m3[site, :4] >= without.water_m3[site, :4]).all()
    others = np.arange(COUNT) != site
    np.testing.assert_array_equal(with_it.water_m3[others], without.water_m3[others])
    np.testing.assert_array_equal(with_it.severity[others], without.severity[others])


def test_a_visit_to_any_site_never_takes_water_on_its_day(world: World, base: Outcome) -> None:
    """Mending can only help on the day itself; where a leak ends, the same need takes less water."""
    for day in (60, 150, 480):
        morning, _ = world.go_on(first_state(world.sites), day)
        _, without = world.go_on(morning, 1)
        _, with_it = world.go_on(morning, 1, tuple((s, day) for s in range(COUNT)))
        leak = base.severity[:, day, KINDS.index("main_leak")] > 0
        assert (with_it.water_m3 >= without.water_m3 - 1e-9)[~leak].all()


def test_a_stopped_site_pumps_nothing_and_counts_as_down(base: Outcome) -> None:
    """Water, energy and up time are none on each day of a stop."""
    stopped = (base.severity[:, :, STOPS] >= 1).any(2)
    assert stopped.sum() > 100
    for name in ("water_m3", "energy_kwh", "up_h"):
        assert (getattr(base, name)[stopped] == 0).all(), name


def test_healthy_sites_meet_about_their_need_in_the_dry_season(world: World, base: Outcome) -> None:
    """Between 0.7 and 1.2 of the crop's need, half of the sites well inside (the design's aim)."""
    months = world.weather.day.astype("datetime64[M]").astype(int) % 12 + 1
    dry = np.isin(months, (6, 7, 8, 9, 10))
    healthy = (base.cause < 0) & dry[None, :] & (world.need_m3 > 0)
    enough = healthy.sum(1) > 30  # days to judge a site by
    assert enough.sum() > 50
    supply = (base.water_m3 * healthy)[enough].sum(1) / (world.need_m3 * healthy)[enough].sum(1)
    assert 0.7 < np.quantile(supply, 0.05) < np.quantile(supply, 0.95) < 1.2


def test_lifting_a_cubic_metre_takes_what_a_pump_of_the_trade_takes(world: World) -> None:
    """3 kW lift about 13 m³/h by 30 m (common practice, no source): a third to a half of the power."""
    hydraulic_kw = 9.80665 / 3600 * world.sites.flow_m3h * world.sites.head_m
    share = hydraulic_kw / world.sites.power_kw
    assert (share > 0.3).all()
    assert (share < 0.5).all()
    assert 0.3 < 9.80665 / 3600 * 13 * 30 / 3.0 < 0.5


def test_every_kind_of_fault_happens_in_the_default_programme(base: Outcome) -> None:
    """Slow declines and stops, each at some site on some day."""
    for i, kind in enumerate(FAULTS):
        assert (base.severity[:, :, i] > 0).any(), kind


def test_a_site_that_was_given_up_needs_and_gives_nothing_more(world: World, base: Outcome) -> None:
    """From that day on it has no crop, no water, no time in service and nothing wrong."""
    given_up = np.flatnonzero(world.sites.closed < DAYS)
    assert 1 <= len(given_up) <= 4
    for site in given_up:
        rest = slice(int(world.sites.closed[site]), None)
        assert world.need_m3[site, : rest.start].sum() > 0
        for figure in (world.need_m3, base.water_m3, base.up_h, base.down_h, base.severity.max(2)):
            assert (figure[site, rest] == 0).all()


def test_a_paused_site_pumps_nothing_and_is_not_down(world: World, base: Outcome) -> None:
    """Flood and dispute are out of service time."""
    paused = np.flatnonzero(world.sites.paused_from >= 0)
    assert len(paused) >= 2
    for site in paused:
        days = slice(world.sites.paused_from[site], world.sites.paused_to[site] + 1)
        for name in ("water_m3", "energy_kwh", "up_h", "down_h"):
            assert (getattr(base, name)[site, days] == 0).all(), name


def test_rain_falls_in_one_season(world: World) -> None:
    """November to April holds nine tenths of the year's rain."""
    year = slice(0, 365)
    months = world.weather.day[year].astype("datetime64[M]").astype(int) % 12 + 1
    rain = world.weather.rain_mm[year]
    assert rain[(months >= 11) | (months <= 4)].sum() > 0.9 * rain.sum()
    assert 500 < rain.sum() < 1300
