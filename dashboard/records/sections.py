"""The sections of a site's record, in their order: which columns each shows, and what fills it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

from dashboard.records import cells
from dashboard.records.table import Cell

Row = dict[str, Any]


@dataclass(frozen=True)
class Section:
    """One kind of record: its columns' words, and a row's cells under them."""

    name: str
    heads: tuple[str, ...]
    cells_of: Callable[[Row], list[Cell]]
    fills: str  # the table that brings its rows
    times: int = 1
    leaves: bool = True  # whether it can be had as a file


def sections(currency: str, last: date) -> tuple[Section, ...]:
    """Return the sections in the order of the page.

    Parameters
    ----------
    currency
        Of costs.
    last
        The day by which a warranty is over or not.
    """
    return (
        Section("open_jobs", ("reported", "age", "waits_for", "water", "component", "technician"), cells.open_job, "maintenance"),
        Section("contacts", ("person", "telephone", "language", "consent"), cells.contact, "contacts", 0, leaves=False),
        Section("calls", ("time", "answer", "next_step"), cells.call, "calls"),
        Section("alarms", ("raised", "cleared", "kind"), cells.alarm, "alarms", 2),
        Section("visits", ("arrived", "left", "found", "mended", "next_step"), cells.visit, "visit_outcomes", 2),
        Section("surveys", ("day", "measured", "conditions", "seen"), cells.survey, "surveys"),
        Section("maintenance", ("reported", "restored", "to_water", "job", "done", "parts", "cost"), partial(cells.job, currency=currency), "maintenance", 2),
        Section("trainings", ("day", "topic", "attended"), cells.training, "trainings"),
        Section("components", ("installed", "component", "warranty", "taken_out"), partial(cells.component, last=last), "components"),
        Section("meters", ("meter", "counts", "register", "installed", "taken_out"), cells.meter, "meters", 0),
        Section("intervals", ("from", "until", "meter", "counted", "verdict", "readings"), cells.interval, "meter_readings", 2),
        Section("notes", ("time", "what", "reason", "who"), cells.note, "decisions"),
    )  # fmt: skip
