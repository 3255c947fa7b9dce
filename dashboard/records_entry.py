"""Entering a reading or a note: said first what it would replace, then taken in like any file, then undone at will."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, time
from html import escape
from typing import Any

import streamlit as st

from dashboard import data, records_data
from dashboard.access import Viewer
from dashboard.data import FATES, LoadReport
from dashboard.numbers import exact
from dashboard.records_sections import meter_words
from pipeline.errors import SunrillError
from pipeline.words import say, say_n

Row = dict[str, Any]

ASKED, TOLD, EMPTIED = "records.asked", "records.told", "records.emptied"
READING = {"day": None, "clock": None, "value": ""}  # fields, and what each is when empty; the meter stays
NOTE = {"what": "", "who": "", "why": ""}


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
    if st.session_state.pop(EMPTIED, None) == site_id:
        st.session_state.update({_key(name, site_id): empty for name, empty in (READING | NOTE).items()})
    st.html(f"<h2>{escape(say('site_records.write'))}</h2>")
    try:
        _told(version, viewer, site_id)
        with st.expander(say("site_records.enter_reading")):
            _reading(version, viewer, site, meters)
        with st.expander(say("site_records.enter_note")):
            _note(viewer, site_id)
    except SunrillError as error:  # such as a store that somebody took away meanwhile
        st.html(_caution(str(error)))


def _key(name: str, site_id: str) -> str:
    return f"records.{name}.{site_id}"  # what was typed for one site is none of another's


def _caution(text: str) -> str:
    return f'<p class="caution told" role="alert">{escape(text)}</p>'


def _reading(version: int, viewer: Viewer, site: Row, meters: list[Row]) -> None:
    """The fields of a reading; then what it would replace, and the button that takes it."""
    if not meters:
        st.html(f'<p class="quiet">{escape(say("site_records.no_meters"))}</p>')
        return
    asked = _reading_form(site, meters)
    if asked is not None:
        st.session_state[ASKED] = asked
    asked = st.session_state.get(ASKED)
    if asked is None or asked["site_id"] != site["site_id"]:
        return
    st.html("".join(f"<p>{escape(line)}</p>" for line in preview(version, viewer, asked, site["zone"])))
    if st.button(say("site_records.take_in"), type="primary", key=_key("take", site["site_id"])):
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
        st.session_state.setdefault(_key("meter", site_id), next(iter(named)))
    with st.form(_key("reading", site_id), border=False):
        meter = st.selectbox(
            say("site_records.field_meter"), list(named), index=None, placeholder=say("site_records.which_meter"),
            format_func=lambda meter_id: named[meter_id], key=_key("meter", site_id),
        )  # fmt: skip
        left, middle, right = st.columns(3)
        zone = site["zone"]
        day = left.date_input(
            say("site_records.field_day"), value=None, format="YYYY-MM-DD", key=_key("day", site_id)
        )
        clock = middle.time_input(
            say("site_records.field_time", zone=zone), value=None, key=_key("clock", site_id)
        )
        value = right.text_input(say("site_records.field_value"), key=_key("value", site_id))
        if not st.form_submit_button(say("site_records.look_first")):
            return None
    return {
        "site_id": site_id,
        "meter_id": meter or "",
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
        return [say("site_records.cannot_look")]
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
    lines += [say("site_records.replaces", **_version(one)) for one in there] or [
        say("site_records.replaces_nothing")
    ]
    lines.append(" ".join(_beside(name, found[name]) for name in ("before", "after")))
    if not records_data.has_come(moment, zone):
        lines.append(say("site_records.not_come"))
    return lines


def _version(one: Row) -> dict[str, str]:
    file = f"{one['file']} · {one['sheet']}" if one["sheet"] else one["file"]
    return {"value": exact(one["value"]), "place": say("site_records.place", file=file, line=one["line"])}


def _beside(name: str, row: Row | None) -> str:
    if row is None:
        return say(f"site_records.none_{name}")
    return say(f"site_records.reading_{name}", moment=row["read_at"], value=exact(row["value"]))


def _note(viewer: Viewer, site_id: str) -> None:
    """A note stands beside the others: it replaces none."""
    with st.form(_key("note", site_id), border=False):
        what = st.text_input(say("site_records.field_what"), key=_key("what", site_id))
        who = st.text_input(say("site_records.field_who"), key=_key("who", site_id))
        why = st.text_area(say("site_records.field_why"), key=_key("why", site_id))
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

    _tried(told, take)
    fate = fate_of(told.get("report"))
    st.session_state[TOLD] = told | {"fate": fate}
    if fate in ("taken", "unchanged", "corrected"):
        st.session_state.pop(ASKED, None)
        st.session_state[EMPTIED] = site_id
    st.rerun()


def _tried(told: Row, do: Callable[[], None]) -> None:
    try:
        do()
    except SunrillError as error:
        told["error"] = str(error)


def fate_of(report: LoadReport | None) -> str:
    """Return what became of the one row of a load; empty where none came."""
    lines = report.files if report else []
    return next((fate for line in lines for fate in FATES if getattr(line, fate)), "")


def _told(version: int, viewer: Viewer, site_id: str) -> None:
    """What the last entry of this site came to, and the way to take it back."""
    told = st.session_state.get(TOLD)
    if told is None or told["site_id"] != site_id:
        return
    if told.get("error"):
        st.html(_caution(told["error"]))
    if told.get("done"):
        st.html(f'<p class="answer" role="status">{escape(told["done"])}</p>')
        return
    if "report" in told:
        _fate(version, viewer, told)
    if told["fate"] in ("taken", "corrected"):
        _undo(viewer, told)


def _fate(version: int, viewer: Viewer, told: Row) -> None:
    report: LoadReport = told["report"]
    fate = told["fate"]
    lines = [say(f"site_records.fate_{fate}") if fate else say("dashboard.no_rows")]
    if told.get("computed"):
        lines.append(say_n("dashboard.computed", told["computed"]))
    st.html(f'<p class="answer" role="status">{escape(" ".join(lines))}</p>')
    faults = [replace(fault.words(), where=fault.column).sentences() for fault in report.faults]
    for text in (*faults, *(fault.sentences() for fault in (*report.unreadable, *report.notes))):
        st.html(_caution(text))
    if fate == "corrected" and told["table"] == "meter_readings":
        cells = told["cells"]
        versions = records_data.reading_at(version, viewer, cells["meter_id"], cells["read_at"])["versions"]
        for one in versions:
            key = "site_records.version_in_force" if one["in_force"] else "site_records.version_before"
            st.html(f"<p>{escape(say(key, **_version(one)))}</p>")


def _undo(viewer: Viewer, told: Row) -> None:
    """Take the entry back, with a reason; the same is possible later on the page of files."""
    site_id = told["site_id"]
    with st.form(_key("undo", site_id), border=False):
        st.html(f'<p class="quiet">{escape(say("site_records.undo_says", file=told["file"]))}</p>')
        why = st.text_input(say("dashboard.why"), key=_key("undo_why", site_id))
        if not st.form_submit_button(say("dashboard.take_back")):
            return
    told["error"] = ""
    if not why.strip():
        st.html(_caution(say("dashboard.say_why")))
        return
    bar = st.progress(0.0, text=say("dashboard.replaying"))

    def watch(done: int, of: int) -> None:
        bar.progress(done / max(of, 1), text=say("dashboard.replaying"))

    def back() -> None:
        data.take_back(viewer, told["file"], why.strip(), watch)
        with st.spinner(say("dashboard.computing")):
            data.compute(viewer)
        told["done"] = say("dashboard.taken_back", file=told["file"])

    _tried(told, back)
    st.rerun()
