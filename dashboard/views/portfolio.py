"""Portfolio: which sites fall short of water, and which a visit now is worth most to."""

from collections.abc import Sequence
from datetime import date
from hashlib import sha256
from html import escape
from typing import Any

import streamlit as st
from streamlit_folium import st_folium

from dashboard import choices, data, maps, site_panel, together
from dashboard.access import Viewer, viewer
from dashboard.answers import supply_answer
from dashboard.downloads import downloads, points
from dashboard.links import link
from dashboard.look import FOCUS
from dashboard.numbers import number
from dashboard.patch import as_uri, patch
from dashboard.standing import STANDINGS, standing
from dashboard.visit_list import VALUE_DECIMALS, visit_list
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]
NEAR_DEG = 1e-4  # a click on a marker brings the marker's own place
LIST, MAP = "portfolio.list", "portfolio.map"


def page() -> None:
    """Draw the page, or the way out where there is nothing to draw."""
    who, version = viewer(), data.version()
    everywhere = data.sites(version, who) if version else []
    days = data.known_days(version, who) if everywhere else None
    st.html(f'<h1 class="unseen">{escape(say("dashboard.portfolio"))}</h1>')
    if days is None:
        text = say_n("dashboard.no_days", len(everywhere)) if everywhere else say("dashboard.nothing_yet")
        st.html(f'<p class="empty">{escape(text)}</p>')
        return
    top = st.container()
    with st.container(key="choices"):
        columns = st.columns([3, 3, 4, 5, 4, 6])
    period = choices.period(columns[:2], days)
    agreements = data.agreements(version, who)
    places, agreement = _filtered(columns, everywhere, agreements)
    settings = data.settings(version)
    with top, st.spinner(say("dashboard.computing")):
        here = {s["site_id"] for s in places}
        figures = [r for r in data.indicators(version, who, *period) if r["site_id"] in here]
        ranking = [r for r in data.visits(version, who, period[1]) if r["site_id"] in here]
    wanted = _standing_choice(columns[4])
    if wanted:
        figures = [f for f in figures if standing(f, settings) == wanted]
        here = {f["site_id"] for f in figures}
        places = [s for s in places if s["site_id"] in here]
        ranking = [r for r in ranking if r["site_id"] in here]
    with columns[5]:
        chosen = _site_choice(places)
    answer = supply_answer(figures, ranking, period[1], settings) if places else say("dashboard.none_such")
    top.html(f'<p class="answer">{escape(answer)}</p>')
    _waiting(version, who)
    _shown(len(places), len(everywhere))
    if not places:
        return
    _together(version, who, period, places, agreement)
    by_site = {f["site_id"]: f for f in figures}
    _map_and_list(version, who, places, by_site, ranking, period, chosen)
    _site(version, who, places, by_site, ranking, period, chosen)


def _filtered(columns: Sequence[Any], places: Rows, agreements: Rows) -> tuple[Rows, str | None]:
    """The sites of the chosen district and agreement, and the agreement."""
    with columns[2]:
        names = sorted({s["district"] for s in places if s["district"]})
        district = choices.choose("district", names, say("dashboard.all_districts"))
    with columns[3]:
        titles = {a["agreement_id"]: f"{a['agreement_id']} {a['title']}" for a in agreements}
        agreement = choices.choose("agreement", list(titles), say("dashboard.all_agreements"), titles)
    paid = next((set(a["sites"]) for a in agreements if a["agreement_id"] == agreement), None)
    return [
        s for s in places if district in (None, s["district"]) and (paid is None or s["site_id"] in paid)
    ], agreement


def _standing_choice(column: Any) -> str | None:
    labels = {kind: say(f"dashboard.stands_{kind}") for kind in STANDINGS}
    with column:
        return choices.choose("standing", STANDINGS, say("dashboard.all_standings"), labels)


def _site_choice(places: Rows) -> str | None:
    """The site by its name: the way of the keyboard to what the map and the list pick."""
    names = {s["site_id"]: say("dashboard.site_option", name=s["name"], site=s["site_id"]) for s in places}
    return choices.choose("site", list(names), say("dashboard.no_site"), names)


def _shown(n: int, of: int) -> None:
    """How many sites the choices leave, and the way back to all of them."""
    if n == of:
        return
    left, right = st.columns([4, 1], vertical_alignment="center")
    left.html(f'<p class="quiet">{escape(say("dashboard.shown", n=n, all=of))}</p>')
    right.button(say("dashboard.show_all"), key="portfolio.show_all", on_click=_show_all)


def _show_all() -> None:
    for name in ("district", "agreement", "standing"):
        choices.pick(name, None)


def _together(
    version: int, who: Viewer, period: tuple[date, date], places: Rows, agreement: str | None
) -> None:
    """The figures of all sites in view as one, and what was promised of them."""
    sites = tuple(s["site_id"] for s in places)
    figure = data.together(version, who, *period, sites, agreement)
    if figure is None:
        return
    settings = data.settings(version)
    st.html(together.figures(figure, settings.currency))
    if agreement:
        promised = data.promises(version, who, agreement, *period)
        st.html(together.promises(promised, period, settings.currency))


def _waiting(version: int, who: Viewer) -> None:
    """Rows have come that the figures don't show yet: a load is under way, or was cut off."""
    waiting = data.waiting(version, who)
    if not waiting:
        return
    st.html(f'<p class="caution">{escape(say_n("dashboard.waiting", waiting))}</p>')
    if who.loads and st.button(say("dashboard.compute"), key="portfolio.compute"):
        with st.spinner(say("dashboard.computing")):
            data.compute(who)
        st.rerun()


def _map_and_list(
    version: int, who: Viewer, places: Rows, by_site: dict[str, dict[str, Any]], ranking: Rows,
    period: tuple[date, date], chosen: str | None,
) -> None:  # fmt: skip
    most = max((r["value"] or 0.0 for r in ranking), default=0.0)
    averts = {r["site_id"]: r["value"] / most for r in ranking if most and r["value"]}
    left, right = st.columns([9, 14], gap="medium")
    with left:
        st.html(f"<h3>{escape(say('dashboard.map_title', start=period[0], end=period[1]))}</h3>")
        _map(version, who, places, by_site, averts, chosen)
        st.html(_legend(most))
    with right:
        st.html(f"<h3>{escape(say('dashboard.list_title', day=period[1]))}</h3>")
        if not ranking:
            st.html(f'<p class="quiet">{escape(say("dashboard.no_visits"))}</p>')
            return
        named = {s["site_id"]: s for s in places}
        visit_list(ranking, named, by_site, averts, chosen, key=LIST, picked=_picked_in_list)
        downloads(_seen(ranking, named, by_site), "visits", points(places))


def _seen(ranking: Rows, places: dict[str, dict[str, Any]], figures: dict[str, dict[str, Any]]) -> Rows:
    """The ranking with what the list shows beside it."""
    return [
        visit
        | {name: places[visit["site_id"]][name] for name in ("name", "district")}
        | {
            name: figures[visit["site_id"]][name]
            for name in ("relative_irrigation_supply", "supply_coverage")
        }
        for visit in ranking
    ]


def _map(
    version: int, who: Viewer, places: Rows, by_site: dict[str, dict[str, Any]], averts: dict[str, float],
    chosen: str | None,
) -> None:  # fmt: skip
    drawn = maps.sites_map(places, by_site, averts, data.base_map(version, who))
    digest = sha256(repr((places, averts, sorted(by_site.items()))).encode()).hexdigest()[:16]
    key = f"{MAP}.{digest}"  # without it the component shows the map of before

    def picked() -> None:
        _picked_on_map(st.session_state.get(key), places)

    st_folium(
        drawn, key=key, height=430, use_container_width=True, returned_objects=["last_object_clicked"],
        feature_group_to_add=maps.chosen_site(places, chosen), on_change=picked,
    )  # fmt: skip


def _picked_on_map(clicked: dict[str, Any] | None, places: Rows) -> None:
    spot = (clicked or {}).get("last_object_clicked")
    if not spot:
        return
    near = [
        s
        for s in places
        if abs(s["latitude"] - spot["lat"]) < NEAR_DEG and abs(s["longitude"] - spot["lng"]) < NEAR_DEG
    ]
    if near:
        _pick(near[0]["site_id"])


def _picked_in_list() -> None:
    site_id = st.session_state[LIST].picked
    if site_id:
        _pick(site_id)


def _pick(site_id: str) -> None:
    choices.pick("site", site_id)
    st.session_state["portfolio.focus"] = st.session_state.get("portfolio.focus", 0) + 1


def _legend(most: float) -> str:
    samples = (
        (0.25, 1.0, None, say("dashboard.legend_little")),
        (1.0, 1.0, None, say("dashboard.legend_met")),
        (1.5, 1.0, None, say("dashboard.legend_over")),
        (0.6, 0.4, None, say("dashboard.legend_part_known")),
        (None, None, None, say("dashboard.legend_unknown")),
        (0.25, 1.0, 1.0, say("dashboard.legend_bar", value=number(most, VALUE_DECIMALS))),
    )
    shown = samples if most else samples[:-1]
    return (
        '<p class="legend">'
        + "".join(
            f'<span><img src="{as_uri(patch(s, c, a))}" alt="">{escape(text)}</span> '
            for s, c, a, text in shown
        )
        + f"<span>■ {escape(say('dashboard.legend_base'))}</span></p>"
    )


def _site(
    version: int, who: Viewer, places: Rows, by_site: dict[str, dict[str, Any]], ranking: Rows,
    period: tuple[date, date], chosen: str | None,
) -> None:  # fmt: skip
    """The figures of the site that was picked on the map, in the list or by name."""
    site = next((s for s in places if s["site_id"] == chosen), None)
    if site is None:
        st.html(f'<p class="quiet">{escape(say("dashboard.pick"))}</p>')
        return
    visit = next((r for r in ranking if r["site_id"] == chosen), None)
    settings = data.settings(version)
    figure = by_site[site["site_id"]]
    st.html(site_panel.heading(site) + site_panel.answer(figure, visit, settings))
    way = link("site", say("site_page.open"), site=site["site_id"], **{"from": period[0], "to": period[1]})
    st.html(f"<p>{way}</p>")
    st.html(site_panel.cautions(data.hazards(version, who, site["site_id"])))
    st.html(site_panel.figures_table(figure, period, settings.currency))
    if st.session_state.get("portfolio.focus"):
        st.html(FOCUS.format(turn=st.session_state["portfolio.focus"]), unsafe_allow_javascript=True)


page()
