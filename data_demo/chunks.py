"""A chunk of sites, run through all days."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from data_demo import diary
from data_demo.climate import Climate
from data_demo.instruments import Counter, counters
from data_demo.paper import Row
from data_demo.simulate import Chance, Event, Outcome, State, draw_chance, first_state, run_on
from data_demo.sites import Floats, Planting, Sites, block_kc, gross_need_m3, make_plantings, make_sites

AT_ONCE = 250  # sites in memory


@dataclass(frozen=True)
class World:
    """Some sites and all that chance will do to them; what happens is not yet decided."""

    weather: Climate
    sites: Sites
    plantings: list[Planting]
    need_m3: Floats
    chance: Chance

    def go_on(
        self, state: State, days: int, visits: Iterable[tuple[int, int]] = ()
    ) -> tuple[State, Outcome, list[Event]]:
        """Run from a morning for so many days, with visits of (position of the site, day) or without."""
        return run_on(self.sites, self.weather, self.need_m3, self.chance, state, days, visits)


@dataclass(frozen=True)
class Chunk:
    """Some sites and all that happened there."""

    seed: int
    number: int
    tag: str  # at the end of its files' names; empty where there is one chunk only
    weather: Climate
    sites: Sites
    plantings: list[Planting]
    need_m3: Floats
    outcome: Outcome
    meters: list[Counter]
    jobs: list[tuple[int, Row]]

    @property
    def first_day(self) -> date:
        """The programme's first day."""
        return self.day(0)

    @property
    def days(self) -> int:
        """How many days the programme has."""
        return len(self.weather.day)

    def day(self, position: int) -> date:
        """Return the day at a position; negative ones lie before the first."""
        first: date = self.weather.day[0].astype(date)
        return first + timedelta(days=position)


def world_of(seed: int, number: int, first: int, count: int, weather: Climate, *, paper_only: bool) -> World:
    """Return a chunk of sites before their first day."""
    days = len(weather.day)
    sites = make_sites(seed, number, first, count, days, paper_only=paper_only)
    plantings = make_plantings(seed, number, sites, days)
    need = gross_need_m3(sites, block_kc(sites, plantings, days), weather)
    return World(weather, sites, plantings, need, draw_chance(seed, number, count, days))


def simulate_chunk(
    seed: int, number: int, first: int, count: int, weather: Climate, *, paper_only: bool, tag: str = ""
) -> Chunk:
    """Run a chunk of sites through all days."""
    world = world_of(seed, number, first, count, weather, paper_only=paper_only)
    state, outcome, events = world.go_on(first_state(world.sites), len(weather.day))
    events += diary.open_jobs(state)
    meters = counters(seed, number, world.sites, outcome)
    jobs = list(diary.jobs(seed, number, world.sites, events, outcome, weather.day[0].astype(date)))
    return Chunk(
        seed, number, tag, weather, world.sites, world.plantings, world.need_m3, outcome, meters, jobs
    )
