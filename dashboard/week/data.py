"""What the page of the week asks: what changed between two days."""

from datetime import date, timedelta
from typing import Any

import streamlit as st

from dashboard import data
from dashboard.access import Viewer
from pipeline.visits import changes as changes_of

Rows = list[dict[str, Any]]

USUAL_DAYS = 7  # between the two days, until somebody chooses


def usual_days(known: tuple[date, date], to: date | None = None) -> tuple[date | None, date]:
    """Return the two days that are compared until somebody chooses others; the earlier is None where there is none.

    Parameters
    ----------
    known
        First and last day of which figures are known.
    to
        The later day; the last known if left out.
    """
    last = known[1] if to is None else to
    return (max(known[0], last - timedelta(days=USUAL_DAYS)) if last > known[0] else None), last


@st.cache_data(show_spinner=False, max_entries=20)
def changed(version: int, viewer: Viewer, since: date, to: date) -> Rows:
    """Return what changed between two days, a row for each site in service: what `sunrill changes` writes."""
    before, now = (
        changes_of.Day(
            day,
            data.on_day(version, viewer, day)["ranking"],
            data.indicators(version, viewer, *changes_of.window(day)),
        )
        for day in (since, to)
    )
    return changes_of.changes(before, now, data.settings(version))
