"""Site: how one site is, since when and why; on one A4 too."""

from datetime import date, timedelta
from html import escape
from typing import Any

import streamlit as st

from dashboard import choices, data
from dashboard.access import Viewer
from dashboard.charts.blocks import blocks
from dashboard.charts.energy import energy, is_low
from dashboard.charts.legend import Sign
from dashboard.charts.season import FILLS, MOST_LANES, lanes, season
from dashboard.charts.water_need import by_area, water_need
from dashboard.downloads import downloads
from dashboard.draw import draw
from dashboard.links import link
from dashboard.numbers import figure as shown
from dashboard.numbers import share
from dashboard.outlook import SHOWN_DAYS
from dashboard.records import record
from dashboard.site import data as site_data
from dashboard.site import numbers as site_numbers
from dashboard.site import panel as site_panel
from dashboard.site.data import Measured
from dashboard.site.paper import FIT, PRINT, STYLE
from dashboard.start import start, waiting
from pipeline.config import Settings
from pipeline.measures.indicators import BY_NAME
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]
Period = tuple[date, date]


def page() -> None:
    """Draw the page, or the way out where there is nothing to draw."""
    begun = start(say("dashboard.site"), STYLE)
    if begun is None:
        return
    who, version, sites, days = begun.who, begun.version, begun.sites, begun.days
    asked = st.query_params.get("site")
    top = st.container()
    with st.container(key="choices"):
        columns = st.columns([3, 3, 6, 3, 3], vertical_alignment="bottom")
    period = choices.period(columns[:2], days)
    with columns[2]:
        names = {s["site_id"]: say("dashboard.site_option", name=s["name"], site=s["site_id"]) for s in sites}
        chosen = choices.choose("site", list(names), say("site_page.pick_here"), names)
    columns[3].html(f'<p class="back">{link("", say("site_page.back"))}</p>')
    site = next((s for s in sites if s["site_id"] == chosen), None)
    if site is None:
        text = say("site_page.gone" if asked else "site_page.pick")
        top.html(f'<p class="answer">{escape(text)}</p>')
        return
    if columns[4].button(say("site_page.print"), key="print_site"):
        st.html(PRINT, unsafe_allow_javascript=True)
    _site(top, version, who, site, period)


def _site(top: Any, version: int, who: Viewer, site: dict[str, Any], period: Period) -> None:
    site_id = site["site_id"]
    settings = data.settings(version)
    with top, st.spinner(say("dashboard.computing")):
        found = site_data.measured(version, who, site_id, *period)
        visit = next((v for v in data.visits(version, who, period[1]) if v["site_id"] == site_id), None)
    figure = found.figure or {}
    with top:
        st.html(site_panel.heading(site) + site_panel.answer(figure, visit, settings))
        waiting(version, who)
    _nothing(version, who, site_id, figure, period)
    st.html(site_panel.cautions(data.hazards(version, who, site_id)))
    with st.container(key="site_charts"):
        left, right = st.columns([3, 2], gap="medium")
        with left, st.container(key="cell_water"):
            _water(found, period, settings)
        with right, st.container(key="cell_energy"):
            _energy(found, period, settings)
        left, right = st.columns([3, 2], gap="medium")
        with left, st.container(key="cell_season"):
            _season(found, period)
        with right, st.container(key="cell_blocks"):
            _blocks(site_data.blocks(version, who, site_id), site)
    with st.container(key="site_after"):
        record.draw(version, who, site_id, period)
        st.html(site_panel.figures_table(figure, period, settings))
        st.html(f"<h3>{escape(say('site_page.days_of', start=period[0], end=period[1]))}</h3>")
        downloads(site_data.days(version, who, site_id, *period), "site_days")
    st.html(FIT, unsafe_allow_javascript=True)


def _nothing(version: int, who: Viewer, site_id: str, figure: dict[str, Any], period: Period) -> None:
    """Where nothing is known in the period: the way to days of which something is."""
    if any(figure[name] is not None for name in ("water_m3", "need_m3", "energy_kwh", "uptime")):
        return
    days = site_data.known_days(version, who, site_id)
    text = say("site_page.nothing_in", start=period[0], end=period[1])
    if days is None:
        st.html(f'<p class="empty">{escape(text)} {escape(say("site_page.never_told"))}</p>')
        return
    start = max(days[0], days[1] - timedelta(days=SHOWN_DAYS - 1))
    way = link("site", say("site_page.look_at", start=start, end=days[1]), **{"from": start, "to": days[1]})
    st.html(f'<p class="empty">{escape(text)} {way}</p>')


def _head(name: str, period: Period | None, below: str) -> None:
    """A chart's title, its period, and what it rests on."""
    days = escape(say("site_page.days", start=period[0], end=period[1])) if period else ""
    title = escape(say(f"site_page.{name}_title"))
    ground_line = f'<p class="quiet">{escape(below)}</p>' if below else ""
    st.html(f'<h3>{title} <span class="quiet">{days}</span></h3>{ground_line}')


def _water(found: Measured, period: Period, settings: Settings) -> None:
    weeks = found.weeks
    _head("water", period, _water_ground(found))
    if not any(w["water_m3"] is not None or w["need_m3"] is not None for w in weeks):
        st.html(f'<p class="quiet">{escape(say("site_page.no_weeks"))}</p>')
        return
    draw(water_need(weeks, period), "water", _water_signs(weeks, settings))
    if any(w["long_water_days"] for w in weeks):
        text = say("site_page.long_interval", days=f"{settings.longest_month_interval_days:g}")
        st.html(f'<p class="quiet">{escape(text)}</p>')
    st.html(site_numbers.weeks_table(weeks))


def _water_ground(found: Measured) -> str:
    """How much of the time the bars rest on, and over which area they are drawn."""
    figure = found.figure or {}
    if figure["water_coverage"] is None:
        return ""
    known = say(
        "site_page.water_ground",
        water=share(figure["water_coverage"]),
        both=share(figure["supply_coverage"]),
    )
    if not by_area(found.weeks):
        return f"{known} {say('site_page.no_area')}"
    return f"{known} {say('site_page.over_area', area=shown(figure['area_ha'], BY_NAME['area_ha']))}"


def _water_signs(weeks: Rows, settings: Settings) -> list[tuple[str, str]]:
    """The legend: of what is low or unknown only where it is drawn."""
    low = say("site_page.legend_week_low", share=share(settings.judged_coverage))
    signs = [("water", say("site_page.legend_water")), ("need", say("site_page.legend_need"))]
    if any(
        w[f"{name}_m3"] is not None and not w[f"{name}_judged"] for w in weeks for name in ("water", "need")
    ):
        signs.append(("water_low", low))
    if any(w["water_m3"] is None for w in weeks):
        signs.append(("dashed", say("site_page.legend_no_water")))
    if any(w["need_m3"] is None for w in weeks):
        signs.append(("gap", say("site_page.legend_no_need")))
    return signs


def _energy(found: Measured, period: Period, settings: Settings) -> None:
    figure, months = found.figure or {}, found.months
    known, water = figure["energy_coverage"], share(figure["water_coverage"])
    _head(
        "energy",
        period,
        "" if known is None else say("site_page.energy_ground", energy=share(known), water=water),
    )
    if all(m["energy_kwh_per_m3"] is None and m["lift_efficiency"] is None for m in months):
        st.html(f'<p class="quiet">{escape(say("site_page.no_energy"))}</p>')
        return
    signs = [("energy", say("site_page.legend_month"))]
    if any(m["energy_kwh_per_m3"] is not None and is_low(m, settings.judged_coverage) for m in months):
        low = say("site_page.legend_month_low", share=share(settings.judged_coverage))
        signs.append(("energy_low", low))
    if any(m["energy_kwh_per_m3"] is None or m["lift_efficiency"] is None for m in months):
        signs.append(("gap", say("site_page.legend_gap")))
    draw(energy(months, period, settings.judged_coverage), "energy", signs if len(signs) > 1 else [])
    st.html(site_numbers.energy_table(months))


def _season(found: Measured, period: Period) -> None:
    figure, months, stages = found.figure or {}, found.months, found.stages
    _head("season", period, _uptime_ground(figure))
    if not stages:
        st.html(f'<p class="quiet">{escape(say("site_page.no_crops"))}</p>')
    if not stages and figure["uptime_low"] is None:
        return
    draw(season(stages, months, period), "season", _season_signs(stages, months))
    left_out = len(lanes(stages)) - MOST_LANES
    if left_out > 0:
        st.html(f'<p class="quiet">{escape(say_n("site_page.more_lanes", left_out))}</p>')
    st.html(site_numbers.season_tables(months, stages))
    st.html(f"<p>{link('crop_water', say('crop_water_page.open'))}</p>")


def _uptime_ground(figure: dict[str, Any]) -> str:
    if figure["uptime"] is None:
        return say("site_page.no_uptime")
    return say(
        "site_page.uptime_ground",
        uptime=share(figure["uptime"]),
        unknown=share(figure["uptime_unknown"]),
        low=share(figure["uptime_low"]),
        high=share(figure["uptime_high"]),
    )


def _season_signs(stages: Rows, months: Rows) -> list[tuple[Sign, str]]:
    """The legend: only of what is drawn."""
    there = {("fallow" if row["fallow"] else row["stage"]) for row in stages}
    signs: list[tuple[Sign, str]] = [
        (FILLS[stage], say(f"site_page.stage_{stage}")) for stage in FILLS if stage in there
    ]
    if "fallow" in there:
        signs.append(("fallow", say("site_page.fallow")))
    if None in there:
        signs.append(("no_stage", say("site_page.stage_unknown")))
    known = [m for m in months if m["uptime_low"] is not None]
    drawn = {
        "up": any(m["uptime_low"] for m in known),
        "down": any(m["uptime_high"] < 1 for m in known),
        "unknown": any(m["uptime_unknown"] for m in known),
    }
    return [*signs, *((sign, say(f"site_page.legend_{sign}")) for sign in drawn if drawn[sign])]


def _blocks(rows: Rows, site: dict[str, Any]) -> None:
    outlined = sum(bool(row["shape"]) for row in rows)
    _head("blocks", None, say_n("site_page.blocks_drawn", len(rows), outlined=outlined))
    draw(blocks(rows, site), "blocks", [("site", say("site_page.legend_site"))])
    st.html(f"<p>{link('sprays', say('site_page.to_sprays'), site=site['site_id'])}</p>")


page()
