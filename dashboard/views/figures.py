"""Figures: what each is, how it is made, with which settings, and what it is now; for who must defend one."""

from datetime import date
from html import escape
from typing import Any

import streamlit as st

from dashboard import choices, data
from dashboard.access import Viewer, viewer
from dashboard.downloads import downloads
from dashboard.figures import blocks as figure_blocks
from dashboard.figures import tables as figure_tables
from dashboard.start import waiting
from pipeline.config import Settings
from pipeline.errors import UnknownName
from pipeline.measures.explained import Explanation, explain, settings_in_force, settings_rows
from pipeline.measures.indicators import BY_NAME
from pipeline.words import say, say_n

FIND, FULL = "figures.find", "figures.full"
Period = tuple[date, date]
Values = dict[str, Any] | None


def page() -> None:
    """Draw the page; without a store it explains all the same, with the defaults."""
    who, version = viewer(), data.version()
    settings = data.settings(version) if version else Settings()
    explanations = {name: explain(name, settings) for name in BY_NAME}
    st.html(figure_blocks.STYLE)
    st.html(f'<h1 class="unseen">{escape(say("figures_page.title"))}</h1>')
    top = st.container()
    period, values = _now(who, version)
    top.html(f'<p class="answer">{escape(_answer(settings, version, who, period))}</p>')
    waiting(version, who)  # their values are those of before
    named = _named()
    wanted = st.text_input(say("figures_page.find"), key=FIND)
    full = st.toggle(say("figures_page.full"), key=FULL)
    shown = [e for e in explanations.values() if figure_blocks.found(e, wanted)]
    _blocks(shown, values, settings, full=full, named=named)
    downloads(_rows(explanations, values, settings, period), "figures_explained")
    st.html(figure_tables.visits(settings) + figure_tables.verdicts(settings) + figure_tables.fates())
    st.html(figure_tables.settings_table(settings))
    downloads(settings_rows(settings), "settings_in_force")
    if named:
        st.html(figure_blocks.JUMP.format(name=named), unsafe_allow_javascript=True)


def _now(who: Viewer, version: int) -> tuple[Period | None, Values]:
    """The period, after drawing its fields, and every figure of all sites in scope; None: nothing is known."""
    sites = tuple(s["site_id"] for s in data.sites(version, who)) if version else ()
    days = data.known_days(version, who) if sites else None
    if days is None:
        return None, None
    with st.container(key="choices"):
        columns = st.columns([3, 3, 10])
    period = choices.period(columns[:2], days)
    with st.spinner(say("dashboard.computing")):
        return period, data.together(version, who, *period, sites, None)


def _answer(settings: Settings, version: int, who: Viewer, period: Period | None) -> str:
    changed = [of.name for of in settings_in_force(settings) if of.changed]
    names = ", ".join(changed)
    told = (
        say_n("figures_page.changed", len(changed), names=names)
        if changed
        else say("figures_page.all_default")
    )
    if period is None:
        return say("figures_page.answer_bare", figures=len(BY_NAME), settings=told)
    return say_n(
        "figures_page.answer", len(data.sites(version, who)), figures=len(BY_NAME), settings=told,
        start=period[0], end=period[1],
    )  # fmt: skip


def _named() -> str | None:
    """The figure that the address names; of one that doesn't exist a calm sentence."""
    name = st.query_params.get("figure")
    if not name or name in BY_NAME:
        return name or None
    try:
        explain(name, Settings())
    except UnknownName as error:
        told = say("figures_page.no_such", name=name, mend=error.fault.mend)
        st.html(f'<p class="caution" role="status">{escape(told)}</p>')
    return None


def _blocks(
    shown: list[Explanation], values: Values, settings: Settings, *, full: bool, named: str | None
) -> None:
    if not shown:
        st.html(f'<p class="quiet">{escape(say("figures_page.none_found"))}</p>')
        return
    st.html(figure_blocks.contents())
    opened = [e.name for e in shown] if full or len(shown) == 1 else []
    for name, members in figure_blocks.ALL_GROUPS.items():
        here = [e for e in shown if e.name in members]
        if here:
            st.html(figure_blocks.group(name, here, values, settings, opened, named))


def _rows(
    explanations: dict[str, Explanation], values: Values, settings: Settings, period: Period | None
) -> list[dict[str, Any]]:
    """The list as a table: the value as computed, what it rests on in words."""
    start, end = period or (None, None)
    return [
        of.as_row()
        | {
            "from_day": start,
            "to_day": end,
            "value": None if values is None else values.get(of.name),
            "coverage": figure_blocks.ground(of, values, settings),
        }
        for of in explanations.values()
    ]


page()
