"""From any day on, with a given visit and without it: the same chance, other consequences."""

from datetime import date
from typing import NamedTuple

import pyarrow as pa

from data_demo.chunks import AT_ONCE, world_of
from data_demo.climate import weather_of
from data_demo.simulate import Outcome, first_state
from data_demo.truth import true_days


class Futures(NamedTuple):
    """A row a site and day each, as in `truth/site_days.parquet`."""

    with_visit: pa.Table
    without: pa.Table


def futures(
    site_id: str, day: date, *, for_days: int = 14, sites: int = 60, days: int = 549, seed: int = 1,
    paper_only: bool = False,
) -> Futures:  # fmt: skip
    """Run the programme on from a day, once with a visit to a site on that morning and once without.

    Parameters
    ----------
    site_id : str
        Where a crew mends whatever is wrong, on the morning of `day`.
    day : date
        A day of the programme.
    for_days : int
        How many days to run on, within the programme's days.
    sites, days, seed, paper_only
        The programme, as for `generate`.

    Returns
    -------
    Futures
        What happens at the site and at those simulated together with it, with the visit and without.

    Raises
    ------
    ValueError
        Where the programme has no such site, or not so many days from that day on.
    """
    weather = weather_of(seed, days)
    number = int(site_id[1:]) - 1
    morning = (day - weather.day[0].astype(date)).days
    if not 0 <= number < sites:
        raise ValueError(f"The programme has no site {site_id}: it has {sites} sites.")
    if morning < 0 or for_days < 1 or morning + for_days > days:
        first, last = (weather.day[i].astype(date) for i in (0, -1))
        raise ValueError(f"{for_days} days from {day} on don't lie within {first} to {last}.")
    chunk, place = divmod(number, AT_ONCE)
    first_site = chunk * AT_ONCE
    world = world_of(
        seed, chunk, first_site, min(AT_ONCE, sites - first_site), weather, paper_only=paper_only
    )
    state, _, _ = world.go_on(first_state(world.sites), morning)
    window = slice(morning, morning + for_days)

    def told(outcome: Outcome) -> pa.Table:
        return true_days(world.sites, weather.day[window], world.need_m3[:, window], outcome)

    return Futures(
        told(world.go_on(state, for_days, [(place, morning)])[1]), told(world.go_on(state, for_days)[1])
    )
