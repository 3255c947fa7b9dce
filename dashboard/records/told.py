"""What became of an entry, in the words of the intake, and the way to take it back."""

from collections.abc import Callable
from dataclasses import replace
from html import escape
from typing import Any

import streamlit as st

from dashboard import data
from dashboard.access import Viewer
from dashboard.data import FATES, LoadReport
from dashboard.numbers import exact
from dashboard.records import data as records_data
from pipeline.errors import SunrillError
from pipeline.words import say, say_n

Row = dict[str, Any]

TOLD = "records.told"  # of the session: the last entry


def key(name: str, site_id: str) -> str:
    """Return a field's key: what was typed for one site is none of another's."""
    return f"records.{name}.{site_id}"


def caution(text: str) -> str:
    """Return what went wrong, a line each for what, why and mend."""
    return f'<p class="caution told" role="alert">{escape(text)}</p>'


def version_words(one: Row) -> dict[str, str]:
    """Return a version's value, and the file and line that it stands in."""
    file = f"{one['file']} · {one['sheet']}" if one["sheet"] else one["file"]
    return {"value": exact(one["value"]), "place": say("site_records.place", file=file, line=one["line"])}


def tried(told: Row, do: Callable[[], None]) -> None:
    """Do something; what goes wrong is told."""
    try:
        do()
    except SunrillError as error:
        told["error"] = str(error)


def fate_of(report: LoadReport | None) -> str:
    """Return what became of the one row of a load; empty where none came."""
    lines = report.files if report else []
    return next((fate for line in lines for fate in FATES if getattr(line, fate)), "")


def draw(version: int, viewer: Viewer, site_id: str, table: str) -> None:
    """Draw what the last entry of this site came to, where it was entered, and the way to take it back."""
    told = st.session_state.get(TOLD)
    if told is None or (told["site_id"], told["table"]) != (site_id, table):
        return
    if told.get("error"):
        st.html(caution(told["error"]))
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
        st.html(caution(text))
    if fate == "corrected" and told["table"] == "meter_readings":
        cells = told["cells"]
        versions = records_data.reading_at(version, viewer, cells["meter_id"], cells["read_at"])["versions"]
        for one in versions:
            words = "site_records.version_in_force" if one["in_force"] else "site_records.version_before"
            st.html(f"<p>{escape(say(words, **version_words(one)))}</p>")


def _undo(viewer: Viewer, told: Row) -> None:
    """Take the entry back, with a reason; the same is possible later on the page of files."""
    site_id = told["site_id"]
    with st.form(key("undo", site_id), border=False):
        st.html(f'<p class="quiet">{escape(say("site_records.undo_says", file=told["file"]))}</p>')
        why = st.text_input(say("dashboard.why"), key=key("undo_why", site_id))
        if not st.form_submit_button(say("dashboard.take_back")):
            return
    told["error"] = ""
    if not why.strip():
        st.html(caution(say("dashboard.say_why")))
        return
    bar = st.progress(0.0, text=say("dashboard.replaying"))

    def watch(done: int, of: int) -> None:
        bar.progress(done / max(of, 1), text=say("dashboard.replaying"))

    def back() -> None:
        data.take_back(viewer, told["file"], why.strip(), watch)
        told["done"] = say("dashboard.taken_back", file=told["file"])
        with st.spinner(say("dashboard.computing")):
            data.compute(viewer)

    tried(told, back)
    st.rerun()
