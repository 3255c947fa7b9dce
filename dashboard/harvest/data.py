"""What the page of the harvest asks."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import streamlit as st

from dashboard.access import Viewer
from dashboard.data import reading
from pipeline.measures.harvest import harvest_tables

Rows = list[dict[str, Any]]


@st.cache_data(show_spinner=False, max_entries=20)
def harvests(
    version: int, viewer: Viewer, from_day: date, to_day: date, sites: tuple[str, ...]
) -> Mapping[str, Rows]:
    """Return the harvests of some sites within the viewer's scope, as `sunrill harvest` writes them.

    By planting, crop, site and half_year.
    """
    held = [site for site in sites if viewer.sites is None or site in viewer.sites]
    with reading(version) as reader:
        tables = harvest_tables(reader, from_day, to_day, sites=held)
        return {by: list(table.to_pylist()) for by, table in tables.items()}
