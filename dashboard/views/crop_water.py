"""Crop water: whether the crops of a site lacked water, how sure that is, and how it came about."""

from datetime import date, timedelta
from html import escape
from typing import Any

import streamlit as st

from dashboard import choices, data
from dashboard.access import Viewer
from dashboard.crop_water import data as water_data
from dashboard.crop_water import sections, week
from dashboard.crop_water.answer import answer
from dashboard.links import link
from dashboard.look import LINE, QUIET
from dashboard.outlook import SHOWN_DAYS
from dashboard.records import table as records_table
from dashboard.site import panel as site_panel
from dashboard.start import Start, start, waiting
from pipeline.words import say

Period = tuple[date, date]

SECTIONS = (  # from above; each takes what the page looks at
    sections.glance,
    sections.courses,
    sections.plantings,
    week.farmers_week,
    sections.rests_on,
)
STYLE = f"""{records_table.STYLE}<style>
.record .days {{white-space:nowrap}}
.numbers summary {{cursor:pointer;color:{QUIET};font-size:.9rem;padding:.2rem 0}} .numbers .figures {{font-size:.9rem}}
.stApp h3 .quiet {{font-weight:400}} .stApp h3 {{margin-top:.8rem}}
.stApp h4 {{font-size:.95rem;font-weight:700;padding:0;margin:.5rem 0 0;overflow-wrap:anywhere;font-family:'Atkinson Hyperlegible',sans-serif}}
.stApp p.method, .stApp p.shared, .stApp .ground {{max-width:66rem}} .stApp .ground li {{margin:.2rem 0}}
.stApp .sheet img {{width:100%;max-width:66rem;border:1px solid {LINE};display:block}}
@media (max-width: 640px) {{ .stApp .sheet img {{width:54rem;max-width:none}} }}
@media (min-width: 641px) {{ .st-key-choices .back {{padding-bottom:.55rem;white-space:nowrap}} }}
</style>"""


def page() -> None:
    """Draw the page, or the way out where there is nothing to draw."""
    begun = start(say("crop_water_page.title"), STYLE)
    if begun is None:
        return
    asked = st.query_params.get("site")
    top = st.container()
    with st.container(key="choices"):
        columns = st.columns([3, 3, 6, 4], vertical_alignment="bottom")
    period = choices.period(columns[:2], begun.days)
    with columns[2]:
        names = {s["site_id"]: say("dashboard.site_option", name=s["name"], site=s["site_id"]) for s in begun.sites}  # fmt: skip
        chosen = choices.choose("site", list(names), say("site_page.pick_here"), names)
    site = next((s for s in begun.sites if s["site_id"] == chosen), None)
    if site is None:
        text = say("site_page.gone" if asked else "crop_water_page.pick")
        way = link("", say("crop_water_page.to_portfolio"))
        top.html(f'<p class="answer">{escape(text)}</p><p>{way}</p>')
        return
    columns[3].html(f'<p class="back">{link("site", say("crop_water_page.to_site"))}</p>')
    _site(top, begun, site, period)


def _site(top: Any, begun: Start, site: dict[str, Any], period: Period) -> None:
    version, who = begun.version, begun.who
    settings = data.settings(version)
    with top:
        st.html(site_panel.heading(site))
        with st.spinner(say("dashboard.computing")):
            found = water_data.watered(version, who, site["site_id"], *period)
        if not found.plantings and not found.without:
            st.html(_none_stood(version, who, site["site_id"], period))
        else:
            told = answer(found.plantings, found.without, period, settings)
            st.html(
                f'<p class="answer">{escape(told)}</p><p class="method">{escape(say("crop_water_page.method"))}</p>'
                f'<p><a href="#week">{escape(say("crop_water_page.to_week"))}</a></p>'
            )
        waiting(version, who)
    seen = sections.Seen(version, who, site, begun.days, period, settings, found)
    for section in SECTIONS if found.plantings or found.without else (week.farmers_week,):
        section(seen)


def _none_stood(version: int, who: Viewer, site_id: str, period: Period) -> str:
    """Where no planting stood in the period: the way to days on which one did."""
    text = say("crop_water_page.none_stood", start=period[0], end=period[1])
    days = water_data.stood(version, who, site_id)
    if days is None:
        return f'<p class="answer">{escape(text)} {escape(say("crop_water_page.none_ever"))}</p>'
    begin = max(days[0], days[1] - timedelta(days=SHOWN_DAYS - 1))
    way = link(
        "crop_water", say("site_page.look_at", start=begin, end=days[1]), **{"from": begin, "to": days[1]}
    )
    return f'<p class="answer">{escape(text)} {way}</p>'


page()
