"""What the page of sprays asks: the blocks on a day, and a site's surveys with cans."""

from datetime import date
from typing import Any

import streamlit as st

from dashboard.access import Viewer
from dashboard.data import reading, within
from pipeline.measures.spray_cans import catch_can_surveys
from pipeline.measures.sprays import block_sprays

Rows = list[dict[str, Any]]


@st.cache_data(show_spinner=False, max_entries=20)
def blocks(version: int, viewer: Viewer, to_day: date) -> Rows:
    """Return each block of the sites in service on a day: what `sunrill sprays` writes."""
    with reading(version) as reader:
        return block_sprays(reader, to_day, sites=within(viewer))


@st.cache_data(show_spinner=False, max_entries=20)
def surveys(version: int, viewer: Viewer, site_id: str, to_day: date) -> Rows:
    """Return a site's surveys with cans up to a day, the newest first; nothing of a site outside the scope."""
    if viewer.sites is not None and site_id not in viewer.sites:
        return []
    with reading(version) as reader:
        return catch_can_surveys(reader, to_day, sites=[site_id])
