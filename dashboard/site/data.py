"""What a site's own page asks: each answer within the viewer's scope, kept by the store's version."""

from datetime import date
from typing import Any, NamedTuple

import streamlit as st

from dashboard.access import Viewer
from dashboard.data import IN_SCOPE, ask, reading
from pipeline.measures import figures
from pipeline.measures.seasons import planting_stages, site_weeks

Rows = list[dict[str, Any]]


class Measured(NamedTuple):
    """A site in a period: its figures, by month too; its weeks; its plantings in their stages."""

    figure: dict[str, Any] | None
    months: Rows
    weeks: Rows
    stages: Rows


@st.cache_data(show_spinner=False, max_entries=20)
def measured(version: int, viewer: Viewer, site_id: str, from_day: date, to_day: date) -> Measured:
    """Return what a site's page draws of a period; nothing of a site outside the scope."""
    if viewer.sites is not None and site_id not in viewer.sites:
        return Measured(None, [], [], [])
    only, period = [site_id], (from_day, to_day)
    with reading(version) as reader:
        months = figures.indicators(reader, *period, by_month=True, sites=only).to_pylist()
        whole = figures.indicators(reader, *period, sites=only).to_pylist()
        weeks = site_weeks(reader, *period, sites=only).to_pylist()
        stages = planting_stages(reader, *period, sites=only)
    return Measured(whole[0] if whole else None, months, weeks, stages)


@st.cache_data(show_spinner=False, max_entries=20)
def known_days(version: int, viewer: Viewer, site_id: str) -> tuple[date, date] | None:
    """Return the first and the last day of which a site itself says something; None: it never did."""
    row = ask(
        f"SELECT min(day) AS first, max(day) AS last FROM site_days WHERE site_id = $site_id AND {IN_SCOPE}",  # noqa: S608 - our own condition
        version,
        viewer,
        site_id=site_id,
    )[0]
    return None if row["first"] is None else (row["first"], row["last"])


@st.cache_data(show_spinner=False, max_entries=20)
def blocks(version: int, viewer: Viewer, site_id: str) -> Rows:
    """Return a site's blocks: id, area, method, and the outline as GeoJSON where there is one."""
    return ask(
        f"""SELECT block_id, area_ha, irrigation_method, ST_AsGeoJSON(geometry) AS shape
            FROM blocks WHERE site_id = $site_id AND {IN_SCOPE} ORDER BY block_id""",  # noqa: S608 - our own condition
        version,
        viewer,
        site_id=site_id,
    )


@st.cache_data(show_spinner=False, max_entries=20)
def days(version: int, viewer: Viewer, site_id: str, from_day: date, to_day: date) -> Rows:
    """Return what is known of a site on each local day of a period."""
    return ask(
        f"""SELECT site_id, day, water_m3, water_cover, long_water_m3, long_water_cover, energy_kwh, energy_cover,
                   need_m3, known AS need_known, net_need_m3, effective_rain_m3, planted_ha,
                   service_h, up_h, down_h, unknown_h, paused
            FROM (SELECT * FROM site_days WHERE site_id = $site_id)
            FULL JOIN (SELECT * FROM site_need_days WHERE site_id = $site_id) USING (site_id, day)
            WHERE day BETWEEN $from_day AND $to_day AND {IN_SCOPE} ORDER BY day""",  # noqa: S608 - our own condition
        version,
        viewer,
        site_id=site_id,
        from_day=from_day,
        to_day=to_day,
    )
