"""What the page of the crops' water asks: of one site, within the viewer's scope, kept by the store's version."""

from datetime import date
from typing import Any, NamedTuple

import streamlit as st

from dashboard.access import Viewer
from dashboard.data import IN_SCOPE, ask, reading
from pipeline.measures.planting_groups import planting_groups
from pipeline.measures.planting_water import planting_water, without_balance

Rows = list[dict[str, Any]]


class Watered(NamedTuple):
    """A site's plantings in a period: those whose water was followed and the others; by group, day and week."""

    plantings: Rows
    without: Rows
    days: Rows
    weeks: Rows


@st.cache_data(show_spinner=False, max_entries=20)
def watered(version: int, viewer: Viewer, site_id: str, from_day: date, to_day: date) -> Watered:
    """Return the water of the plantings that stood in a period; nothing of a site outside the scope."""
    if viewer.sites is not None and site_id not in viewer.sites:
        return Watered([], [], [], [])
    only, period = [site_id], (from_day, to_day)
    with reading(version) as reader:
        plantings = planting_water(reader, *period, sites=only).to_pylist()
        without = without_balance(reader, *period, sites=only).to_pylist()
        groups = planting_groups(reader, *period, sites=only)
    return Watered(plantings, without, groups.days.to_pylist(), groups.weeks.to_pylist())


@st.cache_data(show_spinner=False, max_entries=20)
def stood(version: int, viewer: Viewer, site_id: str) -> tuple[date, date] | None:
    """Return the first and the last day on which a planting's water can be followed; None: on none."""
    row = ask(
        f"SELECT min(day) AS first, max(day) AS last FROM root_zone_days WHERE site_id = $site_id AND {IN_SCOPE}",  # noqa: S608 - our own condition
        version,
        viewer,
        site_id=site_id,
    )[0]
    return None if row["first"] is None else (row["first"], row["last"])
