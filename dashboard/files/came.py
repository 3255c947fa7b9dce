"""What came: the files with their rows by fate; of one of them what to mend, the file itself, and its way back."""

from html import escape
from typing import Any

import streamlit as st

from dashboard import choices, data
from dashboard.access import Viewer
from dashboard.downloads import downloads
from dashboard.files import data as files_data
from dashboard.files import drop as files_drop
from dashboard.files import tables as files_tables
from dashboard.files.tables import COUNTS
from dashboard.links import link
from pipeline.errors import SunrillError
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]
HEADS = ("file", "on", "who")  # of the list, before its counts
FIRST, STEP = 10, 50  # files that are listed at first, and how many more are asked for
FOCUS = """<script>/* {file} */ setTimeout(() => {{
    const heading = document.getElementById("came-file");
    if (heading) {{ heading.focus(); heading.scrollIntoView(); }}
}}, 250)</script>"""


def draw(version: int, who: Viewer) -> None:
    """Draw the list, and above it the file that was picked."""
    files = files_data.files(version, who)
    if not files:
        return
    st.html(f"<h2>{escape(say('dashboard.loaded_before'))}</h2>")
    search, pick = st.columns(2)
    with search:
        wanted = st.text_input(say("files_page.search"), key="files.search")
        only = _only_to_mend()
    named = [row for row in files if wanted.strip().casefold() in row["file"].casefold()]
    found = [row for row in named if _is_to_mend(row)] if only else named
    labels = {r["id"]: say("dashboard.file_option", file=r["file"], day=r["came_at"]) for r in files}
    with pick:
        chosen = choices.choose("file", [row["id"] for row in files], say("files_page.pick"), labels)
    if chosen:
        _file(version, who, next(row for row in files if row["id"] == chosen))
    if not found:
        st.html(f"<p>{escape(say('files_page.none_found'))}</p>")
        return
    listed = FIRST + STEP * st.session_state.get("files.more_asked", 0)
    st.html(_list(found[:listed], chosen))
    if len(found) > listed:
        _more(len(found) - listed)
    downloads([_record(row) for row in found], "files_that_came")


def _only_to_mend() -> bool:
    """Whether only files with something to mend are listed; in the address, for a link to a file is a new page."""
    st.session_state.setdefault("files.only", "to_mend" in st.query_params)
    only = st.checkbox(say("files_page.only_to_mend"), key="files.only")
    if only:
        st.query_params["to_mend"] = "1"
    elif "to_mend" in st.query_params:
        del st.query_params["to_mend"]
    return only


def _is_to_mend(row: dict[str, Any]) -> bool:
    """Whether something of a file was not taken as written, and the file still counts."""
    return row["taken_back"] is None and bool(
        row["unreadable"] or row["rejected"] or row["held"] or row["flaws"]
    )


def _more(left: int) -> None:
    def ask() -> None:
        st.session_state["files.more_asked"] = st.session_state.get("files.more_asked", 0) + 1

    st.html(f'<p class="quiet">{escape(say_n("files_page.older", left))}</p>')
    st.button(say("dashboard.more"), key="files.more", on_click=ask)


def _list(shown: Rows, chosen: str | None) -> str:
    """The newest files; a name leads to its file."""
    heads = [*(say(f"dashboard.loaded_{n}") for n in HEADS), *(say(f"dashboard.fate_{n}") for n in COUNTS)]
    classes = ["text", "short", "text"] + ["number"] * len(COUNTS)
    marks = ["picked" if row["id"] == chosen else "" for row in shown]
    cells = [
        [_name(row), escape(row["came_at"]), escape(row["who"]), *(_count(row, n) for n in COUNTS)]
        for row in shown
    ]
    note = f'<p class="quiet">{escape(say("files_page.fates_then"))}</p>'
    return note + files_tables.drawn(heads, cells, classes, marks)


def _name(row: dict[str, Any]) -> str:
    tables = ", ".join(dict.fromkeys(line["table"] or say("files_page.no_table") for line in row["sheets"]))
    below = [tables] if tables else [say("files_page.unread")]
    if row["taken_back"] is not None:
        below.append(say("files_page.was_taken_back", why=row["taken_back"]))
    notes = "".join(f"<small>{escape(note)}</small>" for note in below)
    return link("files", row["file"], file=row["id"]) + notes


def _count(row: dict[str, Any], name: str) -> str:
    return f"{row[name]:,}" if row["sheets"] else "–"


def _record(row: dict[str, Any]) -> dict[str, Any]:
    """A row of the list as its download has it."""
    counts = {name: row[name] if row["sheets"] else None for name in COUNTS}
    tables = "; ".join(dict.fromkeys(line["table"] for line in row["sheets"]))
    return {
        "file": row["file"], "tables": tables, "came_at": row["came_at"], "who": row["who"], **counts,
        "taken_back": row["taken_back"], "sha256": row["sha"],
    }  # fmt: skip


def _file(version: int, who: Viewer, row: dict[str, Any]) -> None:
    """One file: its fates, what to mend, the file itself, and how to take it back."""
    st.html(
        f'<h2 id="came-file" tabindex="-1">{escape(row["file"])}</h2>'
        f"<p>{escape(say('files_page.came', at=row['came_at'], who=row['who']))}</p>"
    )
    if st.session_state.get("files.focused") != row["id"]:  # once: a drop's preview has the view after that
        st.session_state["files.focused"] = row["id"]
        st.html(FOCUS.format(file=row["id"]), unsafe_allow_javascript=True)
    if row["sheets"]:
        st.html(files_tables.fates(row["sheets"]))
    if row["unreadable"]:
        st.html(f'<p class="caution">{files_tables.lines(row["unreadable"])}</p>')
    _rejects(files_data.faults(version, who, row["sha"], row["file"]), row)
    _original(version, who, row)
    if row["taken_back"] is None:
        _take_back(who, row)
    else:
        st.html(f"<p>{escape(say('files_page.was_taken_back', why=row['taken_back']))}</p>")


def _rejects(rejects: Rows, row: dict[str, Any]) -> None:
    if rejects:
        st.html(f"<h3>{escape(say('dashboard.to_mend'))}</h3>{files_tables.faults(rejects)}")
        if any(line["rejected"] + line["flaws"] > files_data.KEPT_FAULTS for line in row["sheets"]):
            words = say("files_page.faults_kept", most=f"{files_data.KEPT_FAULTS:,}")
            st.html(f'<p class="quiet">{escape(words)}</p>')
        downloads(rejects, f"rejects_{row['id']}")
    elif row["rejected"] or row["flaws"]:
        st.html(f"<p>{escape(say('files_page.faults_gone'))}</p>")
    elif row["held"]:
        st.html(f"<p>{escape(say_n('files_page.held', row['held']))}</p>")
    elif row["sheets"]:
        st.html(f"<p>{escape(say('files_page.nothing_to_mend'))}</p>")


def _original(version: int, who: Viewer, row: dict[str, Any]) -> None:
    """The file as it came; it is read from the archive when it is asked for."""
    if not files_data.is_kept(version, who, row["sha"]):
        st.html(f'<p class="caution">{escape(say("files_page.archive_damaged"))}</p>')
        return
    st.download_button(
        say("files_page.original"), lambda: files_data.original(who, row["sha"]), plain_name(row["file"]), "application/octet-stream",
        key=f"files.original.{row['id']}", on_click="ignore",
    )  # fmt: skip


def plain_name(name: str) -> str:
    r"""Return a file's name for a browser's header: no folder, no quote, no control character.

    >>> plain_name('../a"b\r\nc;d.csv'), plain_name("\u202e..")
    ('a_b__c_d.csv', 'file')
    """
    last = name.replace("\\", "/").rpartition("/")[2]
    kept = "".join(c if c.isalnum() or c in " ._-()" else "_" for c in last)
    return kept.strip(" .") if kept.strip(" ._") else "file"


def _take_back(who: Viewer, row: dict[str, Any]) -> None:
    """Say why, and the file's rows are gone as if they had never come."""
    with st.expander(say("dashboard.take_back")), st.form("files.take_back", border=False):
        st.html(f"<p>{escape(say('dashboard.take_back_says'))}</p>")
        if row["same_bytes"]:
            also = say("files_page.same_bytes", files=", ".join(row["same_bytes"]))
            st.html(f'<p class="caution">{escape(also)}</p>')
        why = st.text_input(say("dashboard.why"), key="files.why")
        if not st.form_submit_button(say("dashboard.take_back")):
            return
    if not why.strip():
        files_drop.tell(files_drop.FAULT, say("dashboard.say_why"))
    bar = st.progress(0.0, text=say("dashboard.replaying"))

    def watch(done: int, of: int) -> None:
        bar.progress(done / max(of, 1), text=say("dashboard.replaying"))

    try:
        data.take_back(who, row["sha"], why.strip(), watch)
        with st.spinner(say("dashboard.computing")):
            data.compute(who)
    except SunrillError as error:
        files_drop.tell(files_drop.FAULT, str(error))
    else:
        named = say("dashboard.file_option", file=row["file"], day=row["came_at"])
        files_drop.tell(files_drop.DONE, say("dashboard.taken_back", file=named))
