"""Harvest: what plantings gave for the water they got, beside what is published, and what dryness cost."""

from collections.abc import Mapping
from html import escape
from typing import Any

import streamlit as st

from dashboard import choices, data
from dashboard.charts.productivity import PER, drawn, productivity, signs
from dashboard.choices import Places
from dashboard.downloads import downloads
from dashboard.draw import draw
from dashboard.harvest import data as harvest_data
from dashboard.harvest import tables
from dashboard.harvest.answer import (
    cost_sentences,
    harvest_answer,
    irrigation_sentence,
    known_sentence,
)
from dashboard.start import start, waiting
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]
FIND_LETTERS = 60


def page() -> None:
    """Draw the page, or the way out where there is nothing to draw."""
    begun = start(say("harvest_page.harvest"), tables.STYLE)
    if begun is None:
        return
    who, version = begun.who, begun.version
    top = st.container()
    with st.container(key="choices"):
        columns = st.columns([4, 4, 5, 6, 4])
    period = choices.period(columns[:2], begun.days)
    places = choices.places(columns[2:4], begun.sites, data.agreements(version, who))
    if not places:
        top.html(f'<p class="answer">{escape(say("harvest_page.no_such_site"))}</p>')
        return
    with top, st.spinner(say("dashboard.computing")):
        found = harvest_data.harvests(version, who, *period, tuple(places))
        rows = found["planting"]
        st.html(f'<p class="answer">{escape(harvest_answer(rows, period))}</p>')
        if rows:
            st.html(f"<p>{escape(irrigation_sentence(rows))} {escape(known_sentence(rows))}</p>")
        waiting(version, who)
    if rows:
        _drawn(found, places, data.settings(version).currency)


def _drawn(found: Mapping[str, Rows], places: Places, currency: str) -> None:
    rows = found["planting"]
    _picture(rows, places)
    _cost(rows, currency)
    st.html(f"<h2>{escape(say('harvest_page.by_crop'))}</h2>")
    st.html(tables.crop_table(found["crop"], rows, currency))
    downloads(_with(found["crop"], currency), "harvest_by_crop")
    st.html(f"<h2>{escape(say('harvest_page.by_half_year'))}</h2>")
    st.html(tables.half_year_table(found["half_year"], currency))
    st.html(f'<p class="quiet">{escape(say("harvest_page.half_year_says"))}</p>')
    _lists(found, places, currency)


def _picture(rows: Rows, places: Places) -> None:
    """Each planting as a mark, by crop; the published range is drawn where it belongs."""
    st.html(f"<h2>{escape(say('harvest_page.picture_title'))}</h2>")
    per = "irrigation" if st.toggle(say("harvest_page.per_irrigation"), key="harvest.per") else "need"
    crops = drawn(rows, per)
    if not crops:
        st.html(f'<p class="quiet">{escape(say(f"harvest_page.nothing_per_{per}"))}</p>')
        return
    told = [[tables.mark_words(row, places[row["site_id"]], per) for row in of] for _, of in crops]
    draw(productivity(crops, per, told), "harvest")
    st.html(_legend(per) + tables.numbers_table(crops, PER[per]))
    st.html(f'<p class="quiet">{escape(say(f"harvest_page.says_per_{per}"))}</p>')


def _legend(per: str) -> str:
    shown = {name: sign for name, sign in signs().items() if name != "band" or per == "need"}
    entries = " ".join(
        f'<span><img src="{sign}" alt="">{escape(say(f"harvest_page.legend_{name}"))}</span>'
        for name, sign in shown.items()
    )
    bare = f" <span>{escape(say('harvest_page.legend_no_band'))}</span>" if per == "need" else ""
    return f'<p class="legend">{entries}{bare}</p>'


def _cost(rows: Rows, currency: str) -> None:
    told = cost_sentences(rows, currency)
    if told:
        st.html(f"<h2>{escape(say('harvest_page.cost_title'))}</h2><p>{escape(told)}</p>")
        st.html(f'<p class="quiet">{escape(say("harvest_page.cost_says"))}</p>')


def _lists(found: Mapping[str, Rows], places: Places, currency: str) -> None:
    """By site and by planting, looked through by words and ordered; the files have all rows."""
    rows = found["planting"]
    st.html(f"<h2>{escape(say_n('harvest_page.by_planting', len(rows)))}</h2>")
    left, right = st.columns([3, 2], vertical_alignment="bottom")
    with left:
        wanted = choices.typed("plantings", say("harvest_page.find"), say("harvest_page.find"), FIND_LETTERS)
    with right:
        labels = {name: say(f"harvest_page.order_{name}") for name in tables.ORDERS}
        order = choices.choose("harvest_order", list(labels), labels["last_harvest"], labels) or "last_harvest"  # fmt: skip
    seen = [row for row in rows if tables.found(row, places[row["site_id"]], wanted)]
    if not seen:
        st.html(f'<p class="quiet" role="status">{escape(say("harvest_page.none_found"))}</p>')
    else:
        more = len(seen) > tables.MOST_ROWS
        whole = more and st.toggle(say("harvest_page.all_rows"), key="harvest.all_rows")
        st.html(tables.planting_table(tables.ordered(seen, places, order), places, currency, whole=whole))
    downloads(_with(_named(rows, places), currency), "harvest_by_planting")
    st.html(f"<h2>{escape(say('harvest_page.by_site'))}</h2>")
    whole = len(found["site"]) > tables.MOST_ROWS and st.toggle(say("harvest_page.all_sites"), key="harvest.all_sites")  # fmt: skip
    st.html(tables.site_table(found["site"], places, currency, whole=whole))
    downloads(_with(_named(found["site"], places), currency), "harvest_by_site")


def _named(rows: Rows, places: Places) -> Rows:
    """The rows with what the list shows beside them."""
    return [{name: places[row["site_id"]][name] for name in ("name", "district")} | row for row in rows]


def _with(rows: Rows, currency: str) -> Rows:
    return [row | {"currency": currency} for row in rows]


page()
