"""Files: drop some in, see what became of each row and how to mend what was not taken; take one back."""

from dataclasses import asdict
from html import escape
from typing import Any

import streamlit as st

from dashboard import data
from dashboard.access import Viewer, viewer
from dashboard.data import FATES, LoadReport, ReadOptions
from pipeline.errors import SunrillError
from pipeline.outputs import csv_text
from pipeline.tables import TABLES
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]

COLUMNS = ("rows", *FATES, "flaws")
FAULT_COLUMNS = ("file", "line", "column", "value", "fate", "rule", "how_to_mend")
MOST_WAITS = 5  # rows that have not come, named on the page
MOST_ROWS = 200  # of a table on the page; the CSV has all
REPORT, DONE, FAULT = "files.report", "files.done", "files.fault"


def page() -> None:
    """Draw the page."""
    who, version = viewer(), data.version()
    loaded = data.loaded_files(version, who) if version else []
    st.html(f'<h1 class="unseen">{escape(say("dashboard.files"))}</h1>')
    st.html(f'<p class="answer">{escape(_answer(loaded))}</p>')
    if not who.loads:
        st.html(f'<p class="quiet">{escape(say("dashboard.loads_elsewhere"))}</p>')
        return
    _drop(who)
    _told()
    if st.session_state.get(REPORT):
        _report(st.session_state[REPORT])
    if loaded:
        _waits(data.waits(version, who))
        with st.expander(say("dashboard.loaded_before")):
            _take_back(who, loaded)
            st.html(_loaded_table(loaded))


def _answer(loaded: Rows) -> str:
    if not loaded:
        return say("dashboard.drop_first")
    files = len({(row["sha"], row["file"]) for row in loaded})
    return say_n("dashboard.drop_more", files, day=max(row["loaded_on"] for row in loaded))


def _drop(who: Viewer) -> None:
    """The place to drop files, and what can be said about them."""
    files = st.file_uploader(say("dashboard.drop"), accept_multiple_files=True, key="files.drop")
    with st.expander(say("dashboard.about_files")):
        table = st.selectbox(
            say("dashboard.table"),
            ["", *TABLES],
            format_func=lambda name: name or say("dashboard.by_name"),
            key="files.table",
        )
        decimal = st.checkbox(say("dashboard.decimal_point"), key="files.decimal")
        day_first = st.checkbox(say("dashboard.day_first"), key="files.day_first")
    if not files or not st.button(say("dashboard.take_in"), type="primary", key="files.load"):
        return
    st.session_state.update({REPORT: None, DONE: "", FAULT: ""})
    uploads = [(file.name, file.getvalue()) for file in files]
    options = ReadOptions(table, "point" if decimal else "", day_first)
    try:
        with st.spinner(say("dashboard.loading")):
            st.session_state[REPORT] = data.load(who, uploads, options)
        with st.spinner(say("dashboard.computing")):
            st.session_state[DONE] = say_n("dashboard.computed", data.compute(who))
    except SunrillError as error:
        st.session_state[FAULT] = str(error)
    st.rerun()


def _told() -> None:
    """What the last load or its undo came to."""
    if st.session_state.get(FAULT):
        st.html(f'<p class="caution" role="alert">{_lines(st.session_state[FAULT])}</p>')
    report = st.session_state.get(REPORT)
    told = [_fates_sentence(report)] if report and report.files else []
    told.append(st.session_state.get(DONE, ""))
    if any(told):
        st.html(f'<p class="answer" role="status">{escape(" ".join(t for t in told if t))}</p>')


def _fates_sentence(report: LoadReport) -> str:
    """The five fates in words; those that no row had are left out."""
    rows = sum(line.rows for line in report.files)
    sums = {fate: sum(getattr(line, fate) for line in report.files) for fate in FATES}
    shown = [say(f"dashboard.n_{fate}", n=f"{n:,}") for fate, n in sums.items() if n]
    return say_n("dashboard.fates", rows, rows=f"{rows:,}", fates=", ".join(shown)) if rows else say("dashboard.no_rows")  # fmt: skip


def _report(report: LoadReport) -> None:
    for fault in (*report.notes, *report.unreadable):
        st.html(f'<p class="caution">{_lines(fault.sentences())}</p>')
    if report.files:
        st.html(_fates(report))
    for table, count in report.released.items():
        st.html(f"<p>{escape(say_n('dashboard.released', count, table=table))}</p>")
    rejects = list(report.reject_rows())
    if rejects:
        st.html(_faults(rejects))
        st.download_button(
            say("dashboard.download_rejects"), csv_text(rejects), "rejects.csv", "text/csv",
            key=f"files.download.{report.load_no}",
        )  # fmt: skip


def _waits(waits: Rows) -> None:
    """Which site or meter lacks, and how many rows it keeps."""
    if not waits:
        return
    shown = [say("dashboard.waits_row", **{**row, "rows": f"{row['rows']:,}"}) for row in waits[:MOST_WAITS]]
    if len(waits) > MOST_WAITS:
        shown.append(say("dashboard.more_waits", n=len(waits) - MOST_WAITS))
    st.html(f"<p>{escape(say('dashboard.waits', rows='; '.join(shown)))}</p>")


def _fates(report: LoadReport) -> str:
    heads = [say("dashboard.file"), say("dashboard.table"), *(say(f"dashboard.fate_{n}") for n in COLUMNS)]
    rows = []
    for line in report.files:
        label = f"{line.file} · {line.sheet}" if line.sheet else line.file
        counts = asdict(line)
        rows.append([label, line.table, *(f"{counts[n]:,}" for n in COLUMNS)])
    return _table(heads, rows, numbers_from=2)


def _faults(rejects: Rows) -> str:
    """The rows that were not taken as written, each with the rule and the way to mend it."""
    title = f"<h2>{escape(say('dashboard.to_mend'))}</h2>"
    heads = [say(f"dashboard.reject_{name}") for name in FAULT_COLUMNS]
    rows = [[_cell(row, name) for name in FAULT_COLUMNS] for row in rejects[:MOST_ROWS]]
    left = len(rejects) - MOST_ROWS
    more = f'<p class="quiet">{escape(say_n("dashboard.more_in_csv", left))}</p>' if left > 0 else ""
    return title + _table(heads, rows) + more


def _cell(row: dict[str, Any], name: str) -> str:
    if name == "file" and row["sheet"]:
        return f"{row['file']} · {row['sheet']}"
    if name == "fate":
        return say(f"dashboard.fate_{row[name]}")
    return "" if row[name] is None else str(row[name])


def _take_back(who: Viewer, loaded: Rows) -> None:
    """Choose a file, say why, and its rows are gone as if they had never come."""
    named = {row["sha"]: say("dashboard.file_option", file=row["file"], day=row["loaded_on"]) for row in loaded[::-1]}  # fmt: skip
    with st.form("files.take_back", border=False):
        st.html(f"<p>{escape(say('dashboard.take_back_says'))}</p>")
        sha = st.selectbox(
            say("dashboard.file"), list(named)[::-1], format_func=lambda key: named[key], key="files.which"
        )
        why = st.text_input(say("dashboard.why"), key="files.why")
        if not st.form_submit_button(say("dashboard.take_back")):
            return
    st.session_state.update({REPORT: None, DONE: "", FAULT: ""})
    if not why.strip():
        st.session_state[FAULT] = say("dashboard.say_why")
        st.rerun()
    bar = st.progress(0.0, text=say("dashboard.replaying"))

    def watch(done: int, of: int) -> None:
        bar.progress(done / max(of, 1), text=say("dashboard.replaying"))

    try:
        data.take_back(who, sha, why.strip(), watch)
        with st.spinner(say("dashboard.computing")):
            data.compute(who)
        st.session_state[DONE] = say("dashboard.taken_back", file=named[sha])
    except SunrillError as error:
        st.session_state[FAULT] = str(error)
    st.rerun()


def _loaded_table(loaded: Rows) -> str:
    heads = [say(f"dashboard.loaded_{n}") for n in ("file", "table", "on", "who", "rows")]
    rows = [
        [
            f"{row['file']} · {row['sheet']}" if row["sheet"] else row["file"],
            row["table"],
            str(row["loaded_on"]),
            row["who"],
            f"{row['rows']:,}",
        ]
        for row in loaded[:MOST_ROWS]
    ]
    left = len(loaded) - MOST_ROWS
    more = f'<p class="quiet">{escape(say_n("dashboard.older_sheets", left))}</p>' if left > 0 else ""
    return _table(heads, rows, numbers_from=4) + more


def _table(heads: list[str], rows: list[list[str]], numbers_from: int = 99) -> str:
    """An HTML table that scrolls sideways by itself where the screen is too narrow."""

    def line(cells: list[str], tag: str) -> str:
        kinds = ["number" if n >= numbers_from else "text" for n in range(len(cells))]
        pairs = zip(kinds, cells, strict=True)
        return "".join(f'<{tag} class="{kind}">{escape(cell)}</{tag}>' for kind, cell in pairs)

    body = "".join(f"<tr>{line(row, 'td')}</tr>" for row in rows)
    return f'<div class="scroll"><table class="figures wide"><thead><tr>{line(heads, "th")}</tr></thead><tbody>{body}</tbody></table></div>'


def _lines(text: str) -> str:
    return escape(text).replace("\n", "<br>")


page()
