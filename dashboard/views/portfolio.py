"""Portfolio: which sites fall short of water, and which a visit now is worth most to."""

from collections.abc import Sequence
from hashlib import sha256
from html import escape
from typing import Any

import streamlit as st
from streamlit_folium import st_folium

from dashboard import choices, data, maps, tiles, together
from dashboard.access import Viewer
from dashboard.districts import beside_one_another
from dashboard.downloads import downloads, points
from dashboard.legend import legend
from dashboard.links import link
from dashboard.look import FOCUS
from dashboard.outlook import Outlook, Wanted, districts, outlook, titles
from dashboard.site import panel as site_panel
from dashboard.standing import STANDINGS
from dashboard.start import lines, start, waiting
from dashboard.visit_list import visit_list
from pipeline.errors import FileFault
from pipeline.tiles import TileFile
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]
NEAR_DEG = 1e-4  # a click on a marker brings the marker's own place
LIST, MAP = "portfolio.list", "portfolio.map"


def page() -> None:
    """Draw the page, or the way out where there is nothing to draw."""
    begun = start(say("dashboard.portfolio"))
    if begun is None:
        return
    who, version, everywhere, days = begun.who, begun.version, begun.sites, begun.days
    top = st.container()
    with st.container(key="choices"):
        columns = st.columns([5, 5, 5, 6, 6, 6])
    period = choices.period(columns[:2], days)
    wanted = _wanted(columns[2:5], everywhere, data.agreements(version, who))
    with top, st.spinner(say("dashboard.computing")):
        seen = outlook(version, who, period, wanted)
    with columns[5]:
        chosen = _site_choice(seen.places)
    top.html(f'<p class="answer">{escape(seen.answer)}</p>')
    _waiting(version, who)
    _shown(len(seen.places), seen.of)
    if not seen.places:
        return
    _together(version, who, seen, wanted.agreement)
    _map_and_list(version, who, seen, wanted, chosen)
    _districts(version, who, everywhere, seen, wanted.district)
    _site(version, who, seen, chosen)
    st.html(f'<p class="quiet">{link("plain", say("dashboard.without_scripts"))}</p>')


def _wanted(columns: Sequence[Any], places: Rows, agreements: Rows) -> Wanted:
    """The fields that say which sites are looked at."""
    named, labels = titles(agreements), {kind: say(f"dashboard.stands_{kind}") for kind in STANDINGS}
    with columns[0]:
        district = choices.choose("district", districts(places), say("dashboard.all_districts"))
    with columns[1]:
        agreement = choices.choose("agreement", list(named), say("dashboard.all_agreements"), named)
    with columns[2]:
        stands = choices.choose("standing", STANDINGS, say("dashboard.all_standings"), labels)
    return Wanted(district, agreement, stands)


def _site_choice(places: Rows) -> str | None:
    """The site by its name: the way of the keyboard to what the map and the list pick."""
    names = {s["site_id"]: say("dashboard.site_option", name=s["name"], site=s["site_id"]) for s in places}
    return choices.choose("site", list(names), say("dashboard.no_site"), names)


def _shown(n: int, of: int) -> None:
    """How many sites the choices leave, and the way back to all of them."""
    if n == of:
        return
    left, right = st.columns([4, 1], vertical_alignment="center")
    left.html(f'<p class="quiet">{escape(say_n("dashboard.shown", n, all=f"{of:,}"))}</p>')
    right.button(say("dashboard.show_all"), key="portfolio.show_all", on_click=_show_all)


def _show_all() -> None:
    for name in ("district", "agreement", "standing"):
        choices.pick(name, None)


def _together(version: int, who: Viewer, seen: Outlook, agreement: str | None) -> None:
    """The figures of all sites in view as one, and what was promised of them."""
    figure = data.together(version, who, *seen.period, tuple(seen.figures), agreement)
    if figure is None:
        return
    st.html(together.figures(figure, seen.settings.currency))
    if agreement:
        promised = data.promises(version, who, agreement, *seen.period)
        names = {s["site_id"]: s["name"] for s in data.sites(version, who)}
        st.html(together.promises(promised, seen.period, seen.settings, names))


def _waiting(version: int, who: Viewer) -> None:
    """Where figures wait, the button that computes them."""
    if waiting(version, who) and who.loads and st.button(say("dashboard.compute"), key="portfolio.compute"):
        with st.spinner(say("dashboard.computing")):
            data.compute(who)
        st.rerun()


def _map_and_list(version: int, who: Viewer, seen: Outlook, wanted: Wanted, chosen: str | None) -> None:
    left, right = st.columns([9, 14], gap="medium")
    start, end = seen.period
    with left:
        st.html(f"<h3>{escape(say('dashboard.map_title', start=start, end=end))}</h3>")
        _map(version, who, seen, wanted, chosen)
        st.html(legend(seen.most, len(seen.places), moved=True))
    with right:
        st.html(f"<h3>{escape(say('dashboard.list_title', day=end))}</h3>")
        if not seen.ranking:
            st.html(f'<p class="quiet">{escape(say("dashboard.no_visits"))}</p>')
            return
        named = {s["site_id"]: s for s in seen.places}
        says = say("dashboard.list_says", days=seen.settings.horizon_days)
        st.html(f'<p class="quiet">{escape(says)}</p>')
        visit_list(seen.ranking, named, seen.figures, seen.averts, chosen, key=LIST, picked=_picked_in_list)
        downloads(_listed(seen, named), "visits", points(seen.places))
        st.html(f"<h3>{escape(say('dashboard.figures_list'))}</h3>")
        downloads(_figured(seen), "figures", points(seen.places))


def _listed(seen: Outlook, named: dict[str, dict[str, Any]]) -> Rows:
    """The ranking with what the list shows beside it."""
    return [
        visit
        | {name: named[visit["site_id"]][name] for name in ("name", "district")}
        | {n: seen.figures[visit["site_id"]][n] for n in ("relative_irrigation_supply", "supply_coverage")}
        for visit in seen.ranking
    ]


def _figured(seen: Outlook) -> Rows:
    """Every figure of each site in view, in the order of their names."""
    return [
        {name: s[name] for name in ("site_id", "name", "district")} | seen.figures[s["site_id"]]
        for s in seen.places
    ]


def _districts(version: int, who: Viewer, everywhere: Rows, seen: Outlook, chosen: str | None) -> None:
    """Each district with all its sites, whatever else is chosen."""
    found = data.by_district(version, who, *seen.period)
    figures = data.indicators(version, who, *seen.period)
    district_of = {s["site_id"]: s["district"] for s in everywhere}
    drawn = beside_one_another(found, district_of, figures, seen.settings, chosen)
    if drawn:
        start, end = seen.period
        st.html(f"<h3>{escape(say('dashboard.districts_title', start=start, end=end))}</h3>{drawn}")


def _map(version: int, who: Viewer, seen: Outlook, wanted: Wanted, chosen: str | None) -> None:
    background, said = _background()
    drawn = maps.sites_map(seen.places, seen.figures, seen.averts, data.base_map(version, who), background)
    shown = (version, who, seen.period, wanted, background)
    digest = sha256(repr(shown).encode()).hexdigest()[:16]
    key = f"{MAP}.{digest}"  # without it the component shows the map of before

    def picked() -> None:
        _picked_on_map(st.session_state.get(key), seen.places)

    st_folium(
        drawn, key=key, height=430, use_container_width=True, returned_objects=["last_object_clicked"],
        feature_group_to_add=maps.chosen_site(seen.places, chosen), on_change=picked,
    )  # fmt: skip
    if said:
        st.html(f'<p class="legend">{lines(said)}</p>')


def _background() -> tuple[TileFile | None, str]:
    """The user's own background map, and whose work it is; or why the map is drawn without it."""
    try:
        found = tiles.background()
    except FileFault as fault:
        return None, f"{say('dashboard.no_background')}\n{fault}"
    return found, say("tiles.attribution", text=found.attribution) if found and found.attribution else ""


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


def _site(version: int, who: Viewer, seen: Outlook, chosen: str | None) -> None:
    """The figures of the site that was picked on the map, in the list or by name."""
    site = next((s for s in seen.places if s["site_id"] == chosen), None)
    if site is None:
        st.html(f'<p class="quiet">{escape(say("dashboard.pick"))}</p>')
        return
    visit = next((r for r in seen.ranking if r["site_id"] == chosen), None)
    figure = seen.figures[site["site_id"]]
    st.html(site_panel.heading(site) + site_panel.answer(figure, visit, seen.settings))
    start, end = seen.period
    way = link("site", say("site_page.open"), site=site["site_id"], **{"from": start, "to": end})
    st.html(f"<p>{way}</p>")
    st.html(site_panel.cautions(data.hazards(version, who, site["site_id"])))
    st.html(site_panel.figures_table(figure, seen.period, seen.settings))
    if st.session_state.get("portfolio.focus"):
        st.html(FOCUS.format(turn=st.session_state["portfolio.focus"]), unsafe_allow_javascript=True)


page()
