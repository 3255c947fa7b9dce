"""Portfolio: which sites fall short of water, and which a visit now is worth most to."""

from datetime import date, timedelta
from html import escape
from typing import Any

import pandas as pd
import streamlit as st
from streamlit_folium import st_folium

from dashboard import data, maps
from dashboard.access import Viewer, viewer
from dashboard.answers import supply_answer
from dashboard.patch import as_uri, patch
from pipeline.outputs import csv_text
from pipeline.words import say

Rows = list[dict[str, Any]]
NEAR_DEG = 1e-4  # a click on a marker brings the marker's own place


def page() -> None:
    """Draw the page, or the way out where there is nothing to draw."""
    who, version = viewer(), data.version()
    days = data.known_days(version) if version else None
    if days is None:
        st.title(say("dashboard.portfolio"))
        st.info(say("dashboard.nothing_yet"))
        return
    from_day, to_day, district = _choices(days, data.sites(version, who))
    with st.spinner(say("dashboard.computing")):
        rows = data.indicators(version, who, from_day, to_day)
        ranking = data.visits(version, who, to_day)
    places = [s for s in data.sites(version, who) if district in (None, s["district"])]
    chosen = {s["site_id"] for s in places}
    figures = [r for r in rows if r["site_id"] in chosen]
    ranking = [r for r in ranking if r["site_id"] in chosen]
    causes = {r["site_id"]: r["cause"] for r in ranking}
    st.html(f'<p class="answer">{escape(supply_answer(figures, causes))}</p>')
    _map_and_table(version, places, figures, ranking)
    _site(version, who, places, figures, ranking, (from_day, to_day))


def _choices(days: tuple[date, date], places: Rows) -> tuple[date, date, str | None]:
    """The period and the district; both live in the address, so a link shows the same page."""
    first, last = days
    params = st.query_params
    left, right, third = st.columns([1, 1, 2])
    start = _day(params.get("from"), max(first, last - timedelta(days=89)), first, last)
    end = _day(params.get("to"), last, first, last)
    from_day = left.date_input(
        say("dashboard.from"),
        start,
        min_value=first,
        max_value=last,
        key="portfolio.from",
        format="YYYY-MM-DD",
    )
    to_day = right.date_input(
        say("dashboard.to"),
        max(end, start),
        min_value=first,
        max_value=last,
        key="portfolio.to",
        format="YYYY-MM-DD",
    )
    names = sorted({s["district"] for s in places if s["district"]})
    asked = params.get("district")
    options = [None, *names]
    district = third.selectbox(
        say("dashboard.district"), options, index=options.index(asked) if asked in names else 0,
        format_func=lambda name: name or say("dashboard.all_districts"), key="portfolio.district",
    )  # fmt: skip
    params["from"], params["to"] = str(from_day), str(to_day)
    if district:
        params["district"] = district
    elif "district" in params:
        del params["district"]
    return from_day, max(to_day, from_day), district


def _day(text: str | None, otherwise: date, first: date, last: date) -> date:
    """A day of the address, kept within what is known; a broken one counts as none."""
    try:
        asked = date.fromisoformat(text or "")
    except ValueError:
        return otherwise
    return min(max(asked, first), last)


def _map_and_table(version: int, places: Rows, figures: Rows, ranking: Rows) -> None:
    by_site = {f["site_id"]: f for f in figures}
    left, right = st.columns([5, 7], gap="medium")
    with right:
        _table(places, by_site, ranking)
    with left:
        drawn = maps.sites_map(places, by_site, data.base_map(version), st.query_params.get("site"))
        digest = f"{version}.{st.query_params.get('from')}.{st.query_params.get('to')}.{st.query_params.get('district')}"
        clicked = st_folium(
            drawn,
            key=f"portfolio.map.{digest}",
            height=430,
            use_container_width=True,
            returned_objects=["last_object_clicked"],
        )
        _choose_clicked(clicked, places)
        st.html(_legend())


def _legend() -> str:
    samples = (
        (0.25, 1.0, "little"),
        (1.0, 1.0, "met"),
        (1.5, 1.0, "over"),
        (0.6, 0.4, "part_known"),
        (None, None, "unknown"),
    )
    return (
        '<p class="legend">'
        + "".join(
            f'<img src="{as_uri(patch(s, c))}" alt=""> {escape(say(f"dashboard.legend_{k}"))}'
            for s, c, k in samples
        )
        + "</p>"
    )


def _choose_clicked(clicked: dict[str, Any] | None, places: Rows) -> None:
    spot = (clicked or {}).get("last_object_clicked")
    if not spot or st.session_state.get("portfolio.clicked") == spot:
        return
    st.session_state["portfolio.clicked"] = spot
    near = [
        s
        for s in places
        if abs(s["latitude"] - spot["lat"]) < NEAR_DEG and abs(s["longitude"] - spot["lng"]) < NEAR_DEG
    ]
    if near:
        st.query_params["site"] = near[0]["site_id"]
        st.rerun()


def _table(places: Rows, by_site: dict[str, dict[str, Any]], ranking: Rows) -> None:
    names = {s["site_id"]: s["name"] for s in places}
    shown = pd.DataFrame(
        [
            {
                "patch": as_uri(
                    patch(
                        by_site[r["site_id"]]["relative_irrigation_supply"],
                        by_site[r["site_id"]]["supply_coverage"],
                    )
                ),
                "rank": r["rank"],
                "site": names[r["site_id"]],
                "value": r["value"],
                "cause": say(f"dashboard.cause_{r['cause']}"),
                "evidence": r["evidence"],
                "supply": by_site[r["site_id"]]["relative_irrigation_supply"],
                "coverage": by_site[r["site_id"]]["supply_coverage"],
                "age": r["data_age_days"],
            }
            for r in ranking
        ]
    )
    columns = {
        "patch": st.column_config.ImageColumn(" ", width=46, pinned=True),
        "rank": st.column_config.NumberColumn(say("dashboard.rank"), width=52),
        "site": st.column_config.TextColumn(say("dashboard.site"), width=118),
        "value": st.column_config.NumberColumn(
            say("dashboard.value"), format="%.1f", width=88, help=say("dashboard.value_help")
        ),
        "cause": st.column_config.TextColumn(say("dashboard.cause"), width=150),
        "evidence": st.column_config.TextColumn(say("dashboard.evidence"), width=330),
        "supply": st.column_config.NumberColumn(say("dashboard.supply"), format="percent", width=96),
        "coverage": st.column_config.NumberColumn(say("dashboard.known"), format="percent", width=70),
        "age": st.column_config.NumberColumn(say("dashboard.age"), width=78),
    }
    picked = st.dataframe(
        shown, column_config=columns, hide_index=True, height=430, on_select="rerun", selection_mode="single-row", key="portfolio.table", row_height=32,
    )  # fmt: skip
    st.download_button(
        say("dashboard.download"), csv_text(ranking), "visits.csv", "text/csv", key="portfolio.download"
    )
    rows = picked["selection"]["rows"]
    if rows and st.session_state.get("portfolio.picked") != rows[0]:
        st.session_state["portfolio.picked"] = rows[0]
        st.query_params["site"] = ranking[rows[0]]["site_id"]
        st.rerun()


def _site(
    version: int, who: Viewer, places: Rows, figures: Rows, ranking: Rows, period: tuple[date, date]
) -> None:
    """The figures of the site that was picked on the map or in the table."""
    site = next((s for s in places if s["site_id"] == st.query_params.get("site")), None)
    if site is None:
        st.html(f'<p class="quiet">{escape(say("dashboard.pick"))}</p>')
        return
    visit = next((r for r in ranking if r["site_id"] == site["site_id"]), None)
    figure = next(f for f in figures if f["site_id"] == site["site_id"])
    st.html(
        f"<h2>{escape(site['name'])} <span class='quiet'>{escape(site['site_id'])} · {escape(site['district'] or '–')}</span></h2>"
    )
    if visit:
        st.html(f"<p>{escape(say('dashboard.cause_' + visit['cause']))}: {escape(visit['evidence'])}</p>")
    _cautions(data.hazards(version, who, site["site_id"]))
    st.html(_figures_table(figure, period))


def _cautions(found: Rows) -> None:
    here = "; ".join(
        f"{say('dashboard.hazard_' + h['hazard'])}{': ' + h['note'] if h['note'] else ''}" for h in found
    )
    lead = say("dashboard.hazards_here", hazards=here) if here else say("dashboard.no_hazards")
    st.html(f'<p class="caution"><b>{escape(lead)}</b><br>{escape(say("dashboard.cautions"))}</p>')


def _figures_table(figure: dict[str, Any], period: tuple[date, date]) -> str:
    head = say("dashboard.figures_of", start=period[0], end=period[1])
    rows = [
        f"<tr><td>{escape(say('dashboard.figure_' + name))}</td><td class='number'>{_number(figure[name], decimals)}</td>"
        f"<td>{escape(unit)}</td><td class='quiet'>{escape(definition)}</td></tr>"
        for name, unit, definition, decimals in data.figure_list()
    ]
    titles = f"<tr><th>{escape(head)}</th><th class='number'></th><th>{escape(say('dashboard.unit'))}</th><th>{escape(say('dashboard.definition'))}</th></tr>"
    return f'<table class="figures">{titles}{"".join(rows)}</table>'


def _number(value: float | None, decimals: int) -> str:
    return escape(say("dashboard.unknown")) if value is None else f"{value:,.{decimals}f}"


page()
