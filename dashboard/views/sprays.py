"""Sprays: which blocks need flushing, straightening or an end cap, and what the cans and throws show."""

from datetime import date
from html import escape
from typing import Any

import streamlit as st

from dashboard import choices, data
from dashboard.access import Viewer
from dashboard.charts.cans import cans
from dashboard.charts.overlap import overlap
from dashboard.choices import Places
from dashboard.downloads import downloads
from dashboard.draw import draw
from dashboard.links import link
from dashboard.numbers import number
from dashboard.site import panel as site_panel
from dashboard.sprays import data as sprays_data
from dashboard.sprays import lists as spray_lists
from dashboard.sprays import pattern
from dashboard.sprays.answer import sprays_answer
from dashboard.start import start, waiting
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]
FIND_LETTERS = 60
MOST_HOURS = 24.0


def page() -> None:
    """Draw the page, or the way out where there is nothing to draw."""
    begun = start(say("sprays_page.sprays"), spray_lists.STYLE)
    if begun is None:
        return
    who, version = begun.who, begun.version
    top = st.container()
    with st.container(key="choices"):
        columns = st.columns([4, 5, 5, 7])
    to = choices.last_day(columns[0], begun.days)
    places = choices.places(columns[1:3], begun.sites, data.agreements(version, who))
    with columns[3]:
        names = {s: say("dashboard.site_option", name=p["name"], site=s) for s, p in places.items()}
        chosen = choices.choose("site", list(names), say("dashboard.no_site"), names)
    if not places:
        top.html(f'<p class="answer">{escape(say("sprays_page.no_such_site"))}</p>')
        return
    with top, st.spinner(say("dashboard.computing")):
        rows = [row for row in sprays_data.blocks(version, who, to) if row["site_id"] in places]
        answer = sprays_answer(rows, len(places), to, data.settings(version))
        listed = spray_lists.work_list(rows, places)
        way = f'<p><a href="#work">{escape(say("sprays_page.to_work"))}</a></p>' if listed else ""
        st.html(f'<p class="answer">{escape(answer)}</p>{way}')
        waiting(version, who)
    _site(version, who, rows, places, chosen, to)
    _cautions(version, who, chosen)
    if listed:
        st.html(f'<h2 id="work">{escape(say("sprays_page.work_title"))}</h2>{listed}')
    _table(rows, places, chosen)


def _cautions(version: int, who: Viewer, chosen: str | None) -> None:
    """What can hurt somebody who opens a lateral; of a chosen site what is on record, too."""
    st.html(f'<p class="caution">{escape(say("sprays_page.cautions"))}</p>')
    if chosen:
        st.html(site_panel.cautions(data.hazards(version, who, chosen)))


def _site(version: int, who: Viewer, rows: Rows, places: Places, chosen: str | None, to: date) -> None:
    """The pattern of the chosen site; until one is chosen, of the one whose cans were the least even."""
    shown = chosen or _least_even(rows)
    if shown is None:
        st.html(f'<p class="quiet">{escape(say("sprays_page.no_cans_here"))}</p>')
        return
    site, blocks = places[shown], [row for row in rows if row["site_id"] == shown]
    way = link("site", say("sprays_page.to_site"), site=shown)
    picked = "" if chosen else f'<p class="quiet">{escape(say("sprays_page.picked_for_you"))}</p>'
    st.html(f"{site_panel.heading(site)}{picked}<p>{way}</p>")
    left, right = st.columns([3, 2], gap="large")
    with left:
        _cans(version, who, shown, blocks, to)
    with right:
        _overlaps(blocks)


def _least_even(rows: Rows) -> str | None:
    judged = [row for row in rows if row["christiansen"] is not None]
    found = min(judged, key=lambda row: (row["christiansen"], row["site_id"]), default=None)
    return found["site_id"] if found else None


def _cans(version: int, who: Viewer, site_id: str, blocks: Rows, to: date) -> None:
    st.html(f"<h3>{escape(say('sprays_page.cans_title'))}</h3>")
    surveys = sprays_data.surveys(version, who, site_id, to)
    if not surveys:
        st.html(f'<p class="quiet">{escape(say("sprays_page.no_cans_at_site", day=to))}</p>')
        return
    labels = {s["survey_id"]: say_n("sprays_page.survey_option", s["cans"], day=s["surveyed_on"], survey=s["survey_id"]) for s in surveys}  # fmt: skip
    asked = choices.choose("survey", list(labels), say("sprays_page.newest"), labels)
    survey = next((s for s in surveys if s["survey_id"] == asked), surveys[0])
    st.html(f"<p>{escape(_where(survey, blocks))}</p>")
    draw(cans(survey), "cans", _signs(survey))
    st.html(pattern.uniformities(survey, data.settings(version)) + pattern.cans_table(survey))
    _rate(survey, blocks)


def _where(survey: dict[str, Any], blocks: Rows) -> str:
    """On which day and where the cans stood: a site's only block with laterals, else nobody knows."""
    with_laterals = [row for row in blocks if row["standing"] != "no_laterals"]
    told = say_n("sprays_page.cans_stood", survey["cans"], day=survey["surveyed_on"])
    if len(with_laterals) == 1:
        return f"{told} {say('sprays_page.on_the_block', block=with_laterals[0]['block_id'])}"
    return f"{told} {say_n('sprays_page.on_some_block', len(with_laterals))}"


def _signs(survey: dict[str, Any]) -> list[tuple[str, str]]:
    signs = [("water", say("sprays_page.legend_can"))]
    if survey["low_quarter_mm"] is not None:
        signs.append(("water_low", say("sprays_page.legend_low")))
        signs.append(("dash", say("sprays_page.line_low_quarter", depth=number(survey["low_quarter_mm"], 1))))
    signs.append(("line", say("sprays_page.line_mean", depth=number(survey["mean_depth_mm"], 1))))
    if any(depth == 0 for depth in survey["depths_mm"]):
        signs.append(("down", say("sprays_page.legend_dry")))
    return signs


def _rate(survey: dict[str, Any], blocks: Rows) -> None:
    """How fast the cans filled, where somebody knows for how long they stood: no survey sheet says it."""
    hours = st.number_input(
        say("sprays_page.hours"), min_value=0.0, max_value=MOST_HOURS, value=None, step=0.25, key=f"sprays.hours.{survey['survey_id']}"
    )  # fmt: skip
    if hours:
        st.html(f'<p role="status">{escape(pattern.rate_sentence(survey, hours, blocks))}</p>')


def _overlaps(blocks: Rows) -> None:
    st.html(f"<h3>{escape(say('sprays_page.overlap_title'))}</h3>")
    found = pattern.pairs(blocks)
    if not found:
        st.html(f'<p class="quiet">{escape(say("sprays_page.no_overlap"))}</p>')
        return
    for n, (row, ids) in enumerate(found[: pattern.MOST_PAIRS]):
        st.html(f"<p>{escape(pattern.overlap_sentence(row, ids))}</p>")
        draw(overlap(row["lateral_spacing_m"], row["throw_m"]), f"overlap_{n}")
    left = len(found) - pattern.MOST_PAIRS
    more = f" {say_n('sprays_page.more_pairs', left)}" if left > 0 else ""
    st.html(f'<p class="quiet">{escape(say("sprays_page.overlap_says") + more)}</p>')


def _table(rows: Rows, places: Places, chosen: str | None) -> None:
    """Every block with laterals: looked for by words, ordered by a column, and the files of all of them."""
    with_laterals = [row for row in rows if row["standing"] != "no_laterals"]
    if not with_laterals:
        return
    st.html(f"<h2>{escape(say_n('sprays_page.table_title', len(with_laterals)))}</h2>")
    left, right = st.columns([3, 2], vertical_alignment="bottom")
    with left:
        wanted = choices.typed("blocks", say("sprays_page.find"), say("sprays_page.find"), FIND_LETTERS)
    with right:
        labels = {name: say(f"sprays_page.order_{name}") for name in spray_lists.ORDERS}
        order = choices.choose("order", list(labels), labels["stands"], labels) or "stands"
    found = [row for row in with_laterals if spray_lists.found(row, places[row["site_id"]], wanted)]
    if not found:
        st.html(f'<p class="quiet" role="status">{escape(say("sprays_page.none_found"))}</p>')
    else:
        more = len(found) > spray_lists.MOST_ROWS
        whole = more and st.toggle(say("sprays_page.all_rows"), key="sprays.all_rows")
        listed = spray_lists.ordered(found, places, order, chosen)
        st.html(spray_lists.block_table(listed, places, chosen, whole=whole))
    named = [{n: places[row["site_id"]][n] for n in ("name", "district")} | row for row in rows]
    downloads(named, "sprays")


page()
