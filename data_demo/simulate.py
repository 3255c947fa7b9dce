"""What truly happens at a chunk of sites, day by day.

All chance is drawn before the first day, by site, day and purpose; the state then runs over it. From
any day the run can go on with a visit or without one: the same streams, other consequences.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from data_demo.climate import Climate
from data_demo.sites import Floats, Ints, Sites
from data_demo.streams import stream

Bools = npt.NDArray[np.bool_]

# kind: onsets a year and site, growth a day (0: at once), highest severity
FAULTS = {
    "pump_stopped": (0.50, 0.0, 1.0),
    "controller_stopped": (0.40, 0.0, 1.0),
    "tamper": (0.10, 0.0, 1.0),
    "array_loss": (0.20, 0.0, 0.45),
    "array_soiled": (2.00, 0.006, 0.35),
    "intake_blocked": (0.55, 0.012, 0.85),
    "pump_worn": (0.25, 0.002, 0.5),
    "main_leak": (0.12, 0.004, 0.5),
    "laterals_blocked": (0.30, 0.008, 0.6),
    "blocks_doubled": (0.25, 0.0, 0.5),
    "water_unused": (0.18, 0.0, 0.8),
    "meter_stuck": (0.12, 0.0, 1.0),
    "data_silent": (0.20, 0.0, 1.0),
    "source_low": (0.0, 0.0, 0.45),  # comes and goes with the season, see below
}
KINDS = tuple(FAULTS)
STOPS = np.array([k in ("pump_stopped", "controller_stopped", "tamper") for k in KINDS])
SLOW = np.array([k in ("array_soiled", "intake_blocked", "laterals_blocked", "main_leak") for k in KINDS])
SOON = np.array([k in ("blocks_doubled", "water_unused") for k in KINDS])
SOURCE = KINDS.index("source_low")
LOW_SOURCE = FAULTS["source_low"][2]
LOW_MONTHS = (9, 10, 11)
CLEANING_RAIN_MM = 8.0
NOTICED = 0.4  # severity from which somebody sees it
REPAIRABLE = np.array([k != "source_low" for k in KINDS])


@dataclass(frozen=True)
class Chance:
    """Everything that is drawn, (sites, days) each, onset (sites, days, kinds)."""

    onset: Bools
    report: Floats
    repair: Floats
    service: Floats
    use: Floats
    dry: Bools  # sites whose source falls in the late dry season


@dataclass(frozen=True)
class State:
    """The sites on the morning of a day."""

    day: int
    severity: Floats  # (sites, kinds)
    since: Ints  # (sites, kinds): day of the onset, -1 where there is none
    job_open: Ints  # day of the report, -1
    last_service: Ints


@dataclass(frozen=True)
class Outcome:
    """What truly happened, (sites, days) each."""

    water_m3: Floats
    energy_kwh: Floats
    up_h: Floats
    down_h: Floats
    delivered: Floats  # share of the pumped water that reaches the blocks
    cause: Ints  # position in KINDS, -1: none
    potential_m3: Floats
    severity: Floats  # (sites, days, kinds)


@dataclass(frozen=True)
class Event:
    """A job, a service or a fault."""

    site: int
    kind: str  # stop, repair, service, fault
    cause: str
    from_day: int
    until_day: int  # -1: not yet


def draw_chance(seed: int, chunk: int, count: int, days: int) -> Chance:
    """Draw all that chance decides, before anything happens."""
    onset = np.zeros((count, days, len(KINDS)), bool)
    for position, (kind, (yearly, _, _)) in enumerate(FAULTS.items()):
        onset[:, :, position] = stream(seed, f"onset {kind}", chunk).random((count, days)) < yearly / 365
    uniform = {
        name: stream(seed, name, chunk).random((count, days))
        for name in ("report", "repair", "service", "use")
    }
    return Chance(onset, **uniform, dry=stream(seed, "dry", chunk).random(count) < 0.15)


def first_state(sites: Sites) -> State:
    """Return the sites in good order, last serviced at different times."""
    count = sites.count
    return State(
        0,
        np.zeros((count, len(KINDS))),
        np.full((count, len(KINDS)), -1),
        np.full(count, -1),
        -((np.arange(count) * 37) % 200),
    )


def run_on(
    sites: Sites,
    weather: Climate,
    need_m3: Floats,
    chance: Chance,
    state: State,
    days: int,
    visits: Iterable[tuple[int, int]] = (),
    *,
    routine: bool = True,
) -> tuple[State, Outcome, list[Event]]:
    """Run from a state for so many days.

    Parameters
    ----------
    sites, weather, need_m3, chance
        The programme, with what was drawn for it.
    state
        As it stood on the morning of a day; not changed.
    days
        How many to run.
    visits
        (site, day): on that morning a crew mends whatever is wrong there.
    routine
        Whether the programme's own reports, repairs and services go on meanwhile.

    Returns
    -------
    State, Outcome, list of Event
        The state on the morning after the last day, and what happened.
    """
    wanted = set(visits)
    severity, since = state.severity.copy(), state.since.copy()
    job_open, last_service = state.job_open.copy(), state.last_service.copy()
    outcome = _blank(sites.count, days)
    events: list[Event] = []
    for day in range(state.day, state.day + days):
        in_service = sites.in_service(day)
        gone = sites.closed <= day
        severity[gone], since[gone], job_open[gone] = 0, -1, -1
        if weather.rain_mm[day] > CLEANING_RAIN_MM:
            severity[:, KINDS.index("array_soiled")] = 0
        _begin_and_grow(severity, since, chance, day, in_service)
        low = chance.dry & in_service & (_month(weather, day) in LOW_MONTHS)
        _draw_down(severity, since, low, day, events)
        mend = np.zeros_like(severity, bool)
        for site, visit_day in wanted:
            if visit_day == day:
                mend[site] = True
        if routine:
            mend |= _routine(severity, since, job_open, last_service, chance, day, in_service, events)
        mend[:, SOURCE] = False  # no crew raises the water
        _mend(severity, since, mend, day, events)
        job_open[mend[:, STOPS].any(1) | (severity[:, STOPS].max(1) < 1)] = -1
        for name, values in _one_day(sites, weather, need_m3, chance, severity, day, in_service).items():
            getattr(outcome, name)[:, day - state.day] = values
    return State(state.day + days, severity, since, job_open, last_service), outcome, events


def _blank(count: int, days: int) -> Outcome:
    """Room for what will happen."""
    figures = {
        name: np.zeros((count, days))
        for name in ("water_m3", "energy_kwh", "up_h", "down_h", "delivered", "potential_m3")
    }
    cause, severity = np.full((count, days), -1), np.zeros((count, days, len(KINDS)))
    return Outcome(**figures, cause=cause, severity=severity)


def _begin_and_grow(severity: Floats, since: Ints, chance: Chance, day: int, in_service: Bools) -> None:
    begins = chance.onset[:, day, :] & (since < 0) & in_service[:, None]
    since[begins] = day
    growth = np.array([g for _, g, _ in FAULTS.values()])
    highest = np.array([h for _, _, h in FAULTS.values()])
    severity[begins & (growth == 0)] = np.broadcast_to(highest, severity.shape)[begins & (growth == 0)]
    severity += np.where(since >= 0, growth, 0.0)
    np.minimum(severity, highest, out=severity)


def _month(weather: Climate, day: int) -> int:
    return int(weather.day[day].astype("datetime64[M]").astype(int)) % 12 + 1


def _draw_down(severity: Floats, since: Ints, low: Bools, day: int, events: list[Event]) -> None:
    """The sources that fall in the late dry season, and come back with the rains."""
    begins, ends = low & (since[:, SOURCE] < 0), ~low & (since[:, SOURCE] >= 0)
    events.extend(
        Event(int(site), "fault", "source_low", int(since[site, SOURCE]), day)
        for site in np.flatnonzero(ends)
    )
    since[begins, SOURCE] = day
    since[ends, SOURCE] = -1
    severity[:, SOURCE] = np.where(low, LOW_SOURCE, 0.0)


def _routine(
    severity: Floats, since: Ints, job_open: Ints, last_service: Ints, chance: Chance, day: int, in_service: Bools,
    events: list[Event],
) -> Bools:  # fmt: skip
    """The programme's own work: stops are reported and mended, services come when they come."""
    stopped = severity[:, STOPS].max(1) >= 1
    job_open[(job_open < 0) & stopped & (chance.report[:, day] < 0.3)] = day
    mended = (job_open >= 0) & (job_open < day) & (chance.repair[:, day] < 0.06)
    for site in np.flatnonzero(mended):
        cause = KINDS[int(np.argmax(severity[site] * STOPS))]
        events.append(Event(int(site), "stop", cause, int(job_open[site]), day))
    due = in_service & (day - last_service > 170) & (chance.service[:, day] < 0.012)
    last_service[due] = day
    events.extend(Event(int(site), "service", "", day, day) for site in np.flatnonzero(due))
    soon = (since >= 0) & (day - since > 60) & SOON
    others = severity.max(1) >= NOTICED
    noticed = others & ~stopped & (chance.report[:, day] < 0.012)
    for site in np.flatnonzero(noticed):
        worst = KINDS[int(np.argmax(severity[site] * REPAIRABLE))]
        if severity[site, KINDS.index(worst)] > 0:
            events.append(Event(int(site), "repair", worst, day, day))
    mend: Bools = (mended[:, None] & STOPS) | (due[:, None] & SLOW) | soon | noticed[:, None]
    return mend


def _mend(severity: Floats, since: Ints, mend: Bools, day: int, events: list[Event]) -> None:
    for site, kind in np.argwhere(mend & (since >= 0)):
        events.append(Event(int(site), "fault", KINDS[kind], int(since[site, kind]), day))
    severity[mend] = 0
    since[mend] = -1


def _one_day(
    sites: Sites,
    weather: Climate,
    need_m3: Floats,
    chance: Chance,
    severity: Floats,
    day: int,
    in_service: Bools,
) -> dict[str, Floats]:
    """Water, energy and time of each site on one day."""
    s = {kind: severity[:, i] for i, kind in enumerate(KINDS)}
    in_service = in_service & ((day < sites.paused_from) | (day > sites.paused_to))
    running = in_service & (severity[:, STOPS].max(1) < 1)
    sun_h = weather.solar_mj_m2[day] / 3.6
    array = (1 - s["array_loss"]) * (1 - s["array_soiled"])
    flow = sites.flow_m3h * (1 - s["intake_blocked"]) * (1 - s["pump_worn"]) * (1 - s["source_low"])
    hours = np.clip(sun_h * 0.82 * array**0.8 * np.sqrt(sites.pv_kwp / sites.power_kw / 1.3), 0, 9.0)
    potential = flow * hours * running
    wanted = need_m3[:, day] * sites.zeal * (0.85 + 0.3 * chance.use[:, day]) / (1 - 0.6 * s["main_leak"])
    wanted *= 1 - s["water_unused"]
    wanted = np.maximum(wanted, 0.02 * sites.flow_m3h)  # drinking, washing, filling cans
    water = np.minimum(potential, wanted)
    kwh_m3 = (
        sites.power_kw
        / sites.flow_m3h
        / np.maximum((1 - s["pump_worn"]) * (1 - 0.5 * s["intake_blocked"]), 0.2)
    )
    up = np.where(running, weather.service_h[day], 0.0)
    worst = np.where(severity.max(1) > 0.08, severity.argmax(1), -1)
    return {
        "water_m3": water,
        "energy_kwh": water * kwh_m3,
        "up_h": up * in_service,
        "down_h": (weather.service_h[day] - up) * in_service,
        "delivered": 1 - 0.6 * s["main_leak"],
        "cause": np.where(in_service, worst, -1),
        "potential_m3": potential,
        "severity": severity.copy(),
    }
