"""A chunk of sites, run through all days."""

from dataclasses import dataclass
from datetime import date, timedelta

from data_demo import diary
from data_demo.climate import Climate
from data_demo.instruments import Counter, counters
from data_demo.paper import Row
from data_demo.simulate import Outcome, draw_chance, first_state, run_on
from data_demo.sites import Floats, Planting, Sites, block_kc, gross_need_m3, make_plantings, make_sites

AT_ONCE = 250  # sites in memory


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


def simulate_chunk(
    seed: int, number: int, first: int, count: int, weather: Climate, *, paper_only: bool, tag: str = ""
) -> Chunk:
    """Run a chunk of sites through all days."""
    days = len(weather.day)
    start = weather.day[0].astype(date)
    sites = make_sites(seed, number, first, count, days, paper_only=paper_only)
    plantings = make_plantings(seed, number, sites, days)
    need = gross_need_m3(sites, block_kc(sites, plantings, days), weather)
    state, outcome, events = run_on(
        sites, weather, need, draw_chance(seed, number, count, days), first_state(sites), days
    )
    events += diary.open_jobs(state)
    meters = counters(seed, number, sites, outcome)
    jobs = list(diary.jobs(seed, number, sites, events, outcome, start))
    return Chunk(seed, number, tag, weather, sites, plantings, need, outcome, meters, jobs)
