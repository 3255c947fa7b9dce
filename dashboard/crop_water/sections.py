"""The parts of the page of the crops' water, one below the other."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from html import escape
from typing import Any

import streamlit as st

from dashboard.access import Viewer
from dashboard.charts.fields import Field, fields, silent, state
from dashboard.charts.legend import Sign, legend
from dashboard.charts.root_zone import root_zone
from dashboard.charts.stress_days import stress_days
from dashboard.crop_water import tables
from dashboard.crop_water.answer import listed
from dashboard.crop_water.data import Watered
from dashboard.downloads import downloads
from dashboard.draw import draw
from dashboard.links import link
from dashboard.numbers import share
from pipeline.config import Settings
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]
Period = tuple[date, date]

BESIDE = 2  # charts in a row of a wide screen
MOST_FIELDS = 12  # charts of which a modest laptop draws all at once


@dataclass(frozen=True)
class Seen:
    """What the page looks at: every part takes it whole, so that a further part is one line more."""

    version: int
    who: Viewer
    site: dict[str, Any]
    known: Period
    period: Period
    settings: Settings
    found: Watered

    @cached_property
    def fields(self) -> list[Field]:
        """The fields that charts are drawn of."""
        return fields(self.found.days, self.found.weeks)

    @property
    def drawn(self) -> Period:
        """The axis of time: from the first day of the plantings that stood in the period."""
        return min([self.period[0], *(day["day"] for day in self.found.days)]), self.period[1]


def glance(seen: Seen) -> None:
    """Draw every field in a lane: on which days its crop lacked water."""
    if not seen.fields:
        return
    _head("crop_water_page.glance_title", seen.drawn)
    there = {state(day) for field in seen.fields for day in field.days}
    signs = [
        (sign, say(f"crop_water_page.state_{kind}")) for kind, sign in GLANCE_SIGNS.items() if kind in there
    ]
    if any(silent(day) for field in seen.fields for day in field.days):
        signs.append(("dashed", say("crop_water_page.legend_dashed")))
    draw(stress_days(seen.fields[:MOST_FIELDS], seen.drawn), "glance", signs)


GLANCE_SIGNS: dict[str, Sign] = {
    "enough": "enough",
    "sure": "stress",
    "possible": "stress_possible",
    "unknown": "unknown",
}


def courses(seen: Seen) -> None:
    """Draw the water of each field, those on one meter first and under the sentence that nobody knows who got it."""
    if not seen.fields:
        return
    _head("crop_water_page.courses_title", seen.drawn)
    st.html(legend(_course_signs(seen)))
    shown = seen.fields[:MOST_FIELDS]
    on_one = [field for field in shown if field.shares]
    if on_one:
        blocks = sorted({block for field in on_one for block in field.blocks})
        st.html(f'<p class="shared">{escape(say("crop_water_page.one_meter", blocks=listed(blocks)))}</p>')
        _charts(seen, on_one, "shared")
    alone = [field for field in shown if not field.shares]
    if alone and on_one:
        st.html(f"<p>{escape(say('crop_water_page.own_meter'))}</p>")
    _charts(seen, alone, "own")
    left = len(seen.fields) - len(shown)
    if left > 0:
        st.html(f'<p class="quiet">{escape(say_n("crop_water_page.more_fields", left))}</p>')


def _course_signs(seen: Seen) -> list[tuple[Sign, str]]:
    """The legend: of what is in doubt, stressed or unknown only where it is drawn."""
    days = seen.found.days
    signs: dict[Sign, bool] = {
        "course": True,
        "band": any(d["depletion_driest_mm"] > d["depletion_wettest_mm"] for d in days),
        "ready_water": True,
        "all_water": True,
        "stress": any((d["stress_sure_share"] or 0) >= 1 for d in days),
        "stress_possible": any((d["stress_possible_share"] or 0) > 0 for d in days),
        "dashed": any(silent(d) for d in days),
    }
    return [(sign, say(f"crop_water_page.legend_{sign}")) for sign, there in signs.items() if there]


def _charts(seen: Seen, some: Sequence[Field], kind: str) -> None:
    """The charts, two beside each other, with one scale for what came."""
    most = {
        name: max((day[f"{name}_mm"] or 0.0 for day in seen.found.days), default=0.0)
        for name in ("rain", "irrigation")
    }
    beside = min(BESIDE, len(some)) or 1
    for first in range(0, len(some), beside):
        columns = st.columns(beside, gap="medium")
        for n, (column, field) in enumerate(zip(columns, some[first : first + beside], strict=False)):
            with column:
                st.html(f"<h4>{escape(_title(field))}</h4>")
                draw(root_zone(field, seen.drawn, most), f"{kind}_{first + n}", [])
                st.html(tables.weeks_table(field))


def plantings(seen: Seen) -> None:
    """Draw the table of plantings in the order that is chosen, what can't be followed, and the files."""
    found = seen.found
    st.html(f"<h3>{escape(say('crop_water_page.plantings_title'))}</h3>")
    if found.plantings:
        by = st.columns([1, 2])[0].selectbox(
            say("crop_water_page.order"),
            list(tables.ORDERS),
            format_func=lambda name: say(f"crop_water_page.order_{name}"),
            key="crop_water.order",
        )
        st.html(tables.plantings_table(tables.ordered(found.plantings, by), seen.settings))
    if found.without:
        lead = say_n("crop_water_page.without", len(found.without))
        st.html(f"<p>{escape(lead)}</p>{tables.without_list(found.without)}")
    downloads(tables.plantings_rows(found.plantings, found.without, seen.settings), "crop_water_plantings")
    if found.days:
        st.html(f"<p>{escape(say('crop_water_page.days_file', start=seen.drawn[0], end=seen.drawn[1]))}</p>")
        downloads(tables.days_rows(found.days), "crop_water_days")


def rests_on(seen: Seen) -> None:
    """Draw what the figures rest on."""
    start = share(seen.settings.start_depletion_share)
    soil = say(f"measures.soil_{seen.settings.default_soil}")
    lines = [
        escape(say(f"crop_water_page.ground_{name}", start=start, soil=soil))
        for name in ("balance", "courses", "start", "soil", "yield", "not_known")
    ]
    more = link("figures", say("crop_water_page.settings"))
    items = "".join(f"<li>{line}</li>" for line in lines)
    st.html(
        f'<h3>{escape(say("crop_water_page.ground_title"))}</h3><ul class="ground">{items}</ul><p>{more}</p>'
    )


def _title(field: Field) -> str:
    crops = ", ".join(field.crops)
    return say_n("crop_water_page.field", len(field.blocks), blocks=listed(field.blocks), crops=crops)


def _head(key: str, period: Period) -> None:
    days = escape(say("crop_water_page.days", start=period[0], end=period[1]))
    st.html(f'<h3>{escape(say(key))} <span class="quiet">{days}</span></h3>')
