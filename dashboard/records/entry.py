"""Entering a reading or a note: said first what it would replace, then taken in like any file, then undone at will."""

from datetime import date, time
from html import escape
from typing import Any

import streamlit as st

from dashboard import data
from dashboard.access import Viewer
from dashboard.numbers import exact
from dashboard.records import data as records_data
from dashboard.records import told as records_told
from dashboard.records.cells import meter_words
from dashboard.records.told import TOLD, caution, key, tried, version_words
from pipeline.errors import SunrillError
from pipeline.words import say

Row = dict[str, Any]

ASKED, EMPTIED = "records.asked", "records.emptied"
FIELDS: dict[
    str, Row
] = {  # of each form, and what each is when empty; the meter stays, for the next reading is often its
    "meter_readings": {"day": None, "clock": None, "value": ""},
    "decisions": {"what": "", "who": "", "why": ""},
}


@st.fragment
def draw(version: int, viewer: Viewer, site: Row, meters: list[Row]) -> None:
    """Draw the two forms and what became of the last entry; a step of it draws nothing else of the page anew.

    Parameters
    ----------
    site
        site_id and zone.
    meters
        Of the site.
    """
    site_id = site["site_id"]
    done = st.session_state.pop(EMPTIED, "")
    st.session_state.update({key(name, site_id): empty for name, empty in FIELDS.get(done, {}).items()})
    st.html(f"<h2>{escape(say('site_records.write'))}</h2>")
    try:
        with st.expander(say("site_records.enter_reading")):
            _reading(version, viewer, site, meters)
            records_told.draw(version, viewer, site_id, "meter_readings")
        with st.expander(say("site_records.enter_note")):
            _note(viewer, site_id)
            records_told.draw(version, viewer, site_id, "decisions")
    except SunrillError as error:  # such as a store that somebody took away meanwhile
        st.html(caution(str(error)))


def _reading(version: int, viewer: Viewer, site: Row, meters: list[Row]) -> None:
    """The fields of a reading; then what it would replace, and the button that takes it."""
    if not meters:
        st.html(f'<p class="quiet">{escape(say("site_records.no_meters"))}</p>')
        return
    asked = _reading_form(site, meters)
    if asked is not None:
        st.session_state[ASKED] = asked
        st.session_state.pop(TOLD, None)
    asked = st.session_state.get(ASKED)
    if asked is None or asked["site_id"] != site["site_id"]:
        return
    st.html("".join(f"<p>{escape(line)}</p>" for line in preview(version, viewer, asked, site["zone"])))
    if st.button(say("site_records.take_in"), type="primary", key=key("take", site["site_id"])):
        cells = {name: asked[name] for name in ("meter_id", "read_at", "value")}
        _enter(viewer, "meter_readings", cells, site["site_id"])


def _reading_form(site: Row, meters: list[Row]) -> dict[str, str] | None:
    """The reading that somebody asks about, as the cells of its row; an empty field is an empty cell."""
    site_id = site["site_id"]
    named = {
        m["meter_id"]: say("site_records.meter_option", meter=m["meter_id"], words=meter_words(m))
        for m in meters
    }
    if len(named) == 1:
        st.session_state.setdefault(key("meter", site_id), next(iter(named)))
    with st.form(key("reading", site_id), border=False):
        meter = st.selectbox(
            say("site_records.field_meter"), list(named), index=None, placeholder=say("site_records.which_meter"),
            format_func=lambda meter_id: named[meter_id], key=key("meter", site_id),
        )  # fmt: skip
        left, middle, right = st.columns(3)
        zone = site["zone"]
        day = left.date_input(
            say("site_records.field_day"), value=None, format="YYYY-MM-DD", key=key("day", site_id)
        )
        clock = middle.time_input(
            say("site_records.field_time", zone=zone), value=None, key=key("clock", site_id)
        )
        value = right.text_input(say("site_records.field_value"), key=key("value", site_id))
        if not st.form_submit_button(say("site_records.look_first")):
            return None
    return {
        "site_id": site_id,
        "meter_id": meter or "",
        "day": "" if day is None else str(day),
        "read_at": _moment(day, clock),
        "value": value.strip(),
    }


def _moment(day: date | None, clock: time | None) -> str:
    """A day without a time would be taken for noon: it is left empty, and the intake says so."""
    return "" if day is None or clock is None else f"{day} {clock:%H:%M}"


def preview(version: int, viewer: Viewer, asked: dict[str, str], zone: str) -> list[str]:
    """Return what an entry is, what it would replace, and the readings next to it."""
    meter, moment = asked["meter_id"], asked["read_at"]
    if not meter or not moment:
        return [say("site_records.cannot_look"), *_on_that_day(version, viewer, asked)]
    found = records_data.reading_at(version, viewer, meter, moment)
    lines = [
        say(
            "site_records.asked",
            meter=meter,
            moment=moment,
            value=asked["value"] or say("site_records.nothing"),
        )
    ]
    there = [one for one in found["versions"] if one["in_force"]]
    lines += [say("site_records.replaces", **version_words(one)) for one in there] or [
        say("site_records.replaces_nothing")
    ]
    lines.append(" ".join(_beside(name, found[name]) for name in ("before", "after")))
    if not records_data.has_come(moment, zone):
        lines.append(say("site_records.not_come"))
    return lines


def _on_that_day(version: int, viewer: Viewer, asked: dict[str, str]) -> list[str]:
    """When the meter was read on a day, for who doesn't know the time of the reading to correct."""
    if not asked["meter_id"] or not asked["day"]:
        return []
    found = records_data.readings_on(version, viewer, asked["meter_id"], asked["day"])
    if not found:
        return [say("site_records.not_read_on", day=asked["day"])]
    readings = [say("site_records.read_at", moment=r["read_at"], value=exact(r["value"])) for r in found]
    return [say("site_records.read_on", day=asked["day"], readings="; ".join(readings))]


def _beside(name: str, row: Row | None) -> str:
    if row is None:
        return say(f"site_records.none_{name}")
    return say(f"site_records.reading_{name}", moment=row["read_at"], value=exact(row["value"]))


def _note(viewer: Viewer, site_id: str) -> None:
    """A note stands beside the others: it replaces none."""
    with st.form(key("note", site_id), border=False):
        left, right = st.columns([2, 1])  # low enough that what becomes of it is seen below
        what = left.text_input(say("site_records.field_what"), key=key("what", site_id))
        who = right.text_input(say("site_records.field_who"), key=key("who", site_id))
        why = st.text_area(say("site_records.field_why"), height=68, key=key("why", site_id))
        if not st.form_submit_button(say("site_records.take_in")):
            return
    cells = {"decided_at": records_data.now_text(), "about": site_id, "what": what, "who": who, "why": why}
    _enter(viewer, "decisions", cells, site_id)


def _enter(viewer: Viewer, table: str, cells: dict[str, str], site_id: str) -> None:
    """Take an entry in, compute, and draw the whole page anew."""
    told: Row = {"site_id": site_id, "table": table, "cells": cells}

    def take() -> None:
        with st.spinner(say("dashboard.loading")):
            told["file"], told["report"] = records_data.enter(viewer, table, cells)
        with st.spinner(say("dashboard.computing")):
            told["computed"] = data.compute(viewer)

    tried(told, take)
    fate = records_told.fate_of(told.get("report"))
    st.session_state[TOLD] = told | {"fate": fate}
    if fate in ("taken", "unchanged", "corrected"):
        st.session_state[EMPTIED] = table
        if table == "meter_readings":
            st.session_state.pop(ASKED, None)
    st.rerun()
