"""What people write down as it happens: jobs, trainings, calls, alarms, pauses, harvests."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime, time, timedelta

import numpy as np

from data_demo import places
from data_demo.paper import Row
from data_demo.simulate import KINDS, LOW_SOURCE, STOPS, Event, Outcome, State
from data_demo.sites import CROPS, Planting, Sites
from data_demo.streams import stream

Dated = tuple[int, Row]  # position of the day on which it was written

WORDS = {
    "pump_stopped": ("pump", "pump does not turn, capacitor", "pump taken out and repaired", "pump seal kit"),
    "controller_stopped": ("controller", "controller dead after storm", "controller exchanged", "controller"),
    "tamper": ("array", "two panels stolen", "panels replaced, fence mended", "PV module;cable"),
    "array_loss": ("array", "a string gives nothing, fuse blown", "fuse changed, string back", "string fuse"),
    "array_soiled": ("array", "panels grey with dust", "panels washed before sunrise", None),
    "intake_blocked": ("strainer", "strainer full of silt", "strainer lifted and cleaned", "strainer basket"),
    "pump_worn": ("pump", "impeller worn by sand", "impeller changed", "impeller"),
    "main_leak": ("main", "leak at a joint of the main", "joint made new", "pipe coupling"),
    "laterals_blocked": ("laterals", "emitters choked", "lines flushed, end caps changed", "end cap"),
    "blocks_doubled": ("valves", "two blocks opened together", "turns agreed with the committee", None),
    "water_unused": ("plots", "plots not worked, seed came late", "talked with the committee", None),
    "meter_stuck": ("meter", "counter does not turn", "meter cleaned and set back", "water meter"),
    "data_silent": ("modem", "no signal, card out of credit", "card topped up", None),
}
# a season's yield of a hectare, and what a kilogram brings in the programme's currency (both invented)
YIELD_KG_HA = {"maize": 5200, "tomato": 24000, "onion": 17000, "cabbage": 26000, "beans": 1500, "potato": 15000, "pepper": 11000, "groundnut": 1700, "leaf mustard": 14000}  # fmt: skip
PRICE_PER_KG = {"maize": 450, "tomato": 700, "onion": 900, "cabbage": 350, "beans": 1400, "potato": 600, "pepper": 1100, "groundnut": 1500, "leaf mustard": 300}  # fmt: skip


def _at(start: date, day: int, hour: float) -> datetime:
    return datetime.combine(start + timedelta(days=day), time()) + timedelta(minutes=round(hour * 60))


def jobs(
    seed: int, chunk: int, sites: Sites, events: list[Event], outcome: Outcome, start: date
) -> Iterator[Dated]:
    """Yield the maintenance records: stops, repairs, services; a job comes again when it is closed."""
    draw = stream(seed, "jobs", chunk)
    last = outcome.water_m3.shape[1]
    for number, e in enumerate(
        sorted((e for e in events if e.kind != "fault"), key=lambda e: (e.from_day, e.site))
    ):
        row: Row = {"record_id": f"J{sites.first:05d}-{number + 1:04d}", "site_id": sites.site_id(e.site)}
        if e.kind == "service":
            done = _at(start, e.from_day, 11)
            yield e.from_day, row | _service(done, float(draw.integers(15, 40)) * 1000)
            continue
        if e.kind == "repair":
            yield (
                e.from_day,
                row
                | _repair(_at(start, e.from_day, 10), e.cause, float(draw.integers(20, 150)) * 1000, number),
            )
            continue
        component, cause, action, parts = WORDS[e.cause]
        reported = row | {
            "kind": "security" if e.cause == "tamper" else "corrective",
            "reported_at": _at(start, e.from_day, 8 + 8 * draw.random()),
            "arrived_at": None, "restored_at": None, "water_stopped": "yes", "status": "waiting_part" if draw.random() < 0.3 else "open",
            "component": component, "cause": None, "action": None, "parts_used": None, "cost": None, "technician": None,
        }  # fmt: skip
        yield e.from_day, reported
        if 0 <= e.until_day < last:
            closed = reported | {
                "arrived_at": _at(start, e.until_day, 9.5), "restored_at": _at(start, e.until_day, 13 + 2 * draw.random()),
                "status": "closed", "cause": cause, "action": action, "parts_used": parts,
                "cost": float(draw.integers(40, 900)) * 1000, "technician": places.person(number),
            }  # fmt: skip
            yield e.until_day, closed


def _repair(arrived: datetime, cause: str, cost: float, number: int) -> Row:
    """A fault that somebody noticed while water still came."""
    component, found, action, parts = WORDS[cause]
    return {
        "kind": "corrective", "reported_at": arrived - timedelta(days=2), "arrived_at": arrived, "restored_at": arrived + timedelta(hours=3),
        "water_stopped": "no", "status": "closed", "component": component, "cause": found,
        "action": action, "parts_used": parts, "cost": cost, "technician": places.person(number),
    }  # fmt: skip


def _service(done: datetime, cost: float) -> Row:
    return {
        "kind": "preventive", "reported_at": done, "arrived_at": done, "restored_at": done + timedelta(hours=2),
        "water_stopped": "no", "status": "closed", "component": "filter", "cause": None,
        "action": "flushed lines, opened strainer, cleaned panels", "parts_used": None, "cost": cost, "technician": places.person(int(cost) % 17),
    }  # fmt: skip


def open_jobs(state: State) -> Iterator[Event]:
    """Yield an event for each stop that is reported and not yet mended."""
    for site in np.flatnonzero(state.job_open >= 0):
        cause = KINDS[int(np.argmax(state.severity[site] * STOPS))]
        yield Event(int(site), "stop", cause, int(state.job_open[site]), -1)


def visit_outcomes(jobs: Iterable[Dated]) -> Iterator[Dated]:
    """Yield what the crews found at the stops that they mended."""
    for day, job in jobs:
        if job["restored_at"] is None or job["kind"] == "preventive":
            continue
        yield day, {
            "site_id": job["site_id"], "crew_id": "C1" if int(job["site_id"][1:]) % 2 else "C2", "arrived_at": job["arrived_at"],
            "left_at": job["restored_at"] + timedelta(minutes=20), "cause_found": job["cause"], "mended": "yes",
            "next_step": "watch for a week" if job["component"] == "controller" else None,
        }  # fmt: skip


def alarms(seed: int, chunk: int, sites: Sites, outcome: Outcome, start: date) -> Iterator[Dated]:
    """Yield the alarms of sites with a log; one that is cleared in a later month comes again."""
    for kind, alarm in (
        ("tamper", "tamper"),
        ("controller_stopped", "controller_fault"),
        ("source_low", "dry_run"),
    ):
        on = (outcome.severity[:, :, KINDS.index(kind)] >= LOW_SOURCE) & sites.telemetry[:, None]
        edges = np.diff(np.pad(on, ((0, 0), (1, 1))).astype(np.int8), axis=1)
        # the starts and the ends of a site alternate, so that the two lists pair up
        for (site, day), (_, end) in zip(np.argwhere(edges == 1), np.argwhere(edges == -1), strict=True):
            row: Row = {
                "site_id": sites.site_id(int(site)), "kind": alarm,
                "raised_at": _at(start, int(day), 10.25), "cleared_at": None,
            }  # fmt: skip
            yield int(day), row
            yield int(end), row | {"cleared_at": _at(start, int(end), 9.25)}
    yield from _full_tanks(seed, chunk, sites, outcome, start)


def _full_tanks(seed: int, chunk: int, sites: Sites, outcome: Outcome, start: date) -> Iterator[Dated]:
    """On some of the days on which the sun gave more than was drawn, the float switch reports."""
    spare = (outcome.water_m3 > 1) & (outcome.water_m3 < 0.8 * outcome.potential_m3)
    with_tank = (sites.telemetry & (sites.tank_m3 > 0))[:, None]
    chance = stream(seed, "full tanks", chunk).random(spare.shape)
    for site, day in np.argwhere(spare & with_tank & (chance < 0.05)):
        yield int(day), {
            "site_id": sites.site_id(int(site)), "kind": "tank_full",
            "raised_at": _at(start, int(day), 14.5), "cleared_at": _at(start, int(day), 16),
        }  # fmt: skip


def pauses(sites: Sites, start: date) -> Iterator[Dated]:
    """Yield the floods and disputes, told when they are over."""
    for site in np.flatnonzero(sites.paused_from >= 0):
        begin, end = int(sites.paused_from[site]), int(sites.paused_to[site])
        yield end, {
            "site_id": sites.site_id(int(site)), "from_on": start + timedelta(days=begin),
            "to_on": start + timedelta(days=end), "reason": "flood" if end - begin > 6 else "dispute over turns",
        }  # fmt: skip


def trainings(seed: int, chunk: int, sites: Sites, days: int, start: date) -> Iterator[Dated]:
    """Yield the farmer trainings."""
    draw = stream(seed, "trainings", chunk)
    topics = ("one block at a time", "flushing lines", "opening the strainer", "keeping the log book")
    for site in range(sites.count):
        for _ in range(int(draw.integers(0, 4))):
            day = int(draw.integers(0, min(days, int(sites.closed[site]))))
            women, men = int(draw.integers(4, 24)), int(draw.integers(3, 18))
            yield day, {
                "site_id": sites.site_id(site), "held_on": start + timedelta(days=day), "topic": topics[int(draw.integers(0, 4))],
                "women": women, "men": men, "youth": int((women + men) * 0.3),
            }  # fmt: skip


def calls(seed: int, chunk: int, sites: Sites, outcome: Outcome, start: date) -> Iterator[Dated]:
    """Yield telephone calls, more of them where something is wrong."""
    draw = stream(seed, "calls", chunk)
    wrong = outcome.severity.max(2) > 0.4
    chance = draw.random(wrong.shape)
    open_ = np.arange(wrong.shape[1]) < sites.closed[:, None]
    for site, day in np.argwhere((chance < np.where(wrong, 0.012, 0.002)) & open_):
        answer = "water is low since last week" if wrong[site, day] else "all well, second turn of the week"
        yield int(day), {
            "site_id": sites.site_id(int(site)), "called_at": _at(start, int(day), 14.5), "answer": answer,
            "next_step": "crew to look" if wrong[site, day] else None,
        }  # fmt: skip


def harvests(
    seed: int, chunk: int, sites: Sites, plantings: list[Planting], outcome: Outcome, start: date
) -> Iterator[Dated]:
    """Yield the harvests of crops that were cleared."""
    draw = stream(seed, "harvests", chunk)
    for p in plantings:
        if p.crop not in CROPS or not p.cleared or p.end >= outcome.water_m3.shape[1] or p.end < 10:
            continue
        kg = (
            YIELD_KG_HA[p.crop]
            * p.share
            * float(sites.block_ha[p.site, p.block])
            * float(draw.uniform(0.6, 1.1))
        )
        yield p.end, {
            "site_id": sites.site_id(p.site), "block_id": f"{p.block + 1}", "crop": p.crop,
            "harvested_on": start + timedelta(days=p.end), "harvest_kg": round(kg, 0),
            "price_per_kg": round(PRICE_PER_KG[p.crop] * float(draw.uniform(0.7, 1.4)), -1), "market": ("home", "local", "export")[int(draw.integers(0, 3))],
            "how_known": ("weighed", "buyer_slip", "recall")[int(draw.integers(0, 3))],
        }  # fmt: skip
