"""Files: drop one in, see what became of each row and how to mend what was not taken."""

from dataclasses import asdict
from html import escape

import pandas as pd
import streamlit as st

from dashboard import data
from dashboard.data import LoadReport, ReadOptions
from pipeline.errors import SunrillError
from pipeline.outputs import csv_text
from pipeline.tables import TABLES
from pipeline.words import say

FATES = ("rows", "taken", "unchanged", "corrected", "held", "rejected", "flaws")


def page() -> None:
    """Draw the page."""
    st.title(say("dashboard.files"))
    st.html(f'<p class="answer">{escape(say("dashboard.files_answer"))}</p>')
    files = st.file_uploader(say("dashboard.drop"), accept_multiple_files=True, key="files.drop")
    left, middle, right = st.columns(3)
    table = left.selectbox(
        say("dashboard.table"),
        ["", *TABLES],
        format_func=lambda n: n or say("dashboard.by_name"),
        key="files.table",
    )
    decimal = middle.checkbox(say("dashboard.decimal_point"), key="files.decimal")
    day_first = right.checkbox(say("dashboard.day_first"), key="files.day_first")
    if files and st.button(say("dashboard.take_in"), type="primary", key="files.load"):
        options = ReadOptions(table, "point" if decimal else "", day_first)
        progress = st.progress(0.0, text=say("dashboard.loading"))
        reports = []
        for done, file in enumerate(files):
            progress.progress(done / len(files), text=file.name.replace("[", "(").replace("!", ""))
            try:
                reports.append(data.load(file.name, file.getvalue(), options))
            except SunrillError as error:
                st.html(f'<p class="caution">{escape(str(error))}</p>')
        progress.empty()
        st.session_state["files.reports"] = reports
    for report in st.session_state.get("files.reports", []):
        _report(report)
    _loaded()


def _report(report: LoadReport) -> None:
    for fault in report.unreadable:
        st.html(f'<p class="caution">{escape(fault.sentences()).replace(chr(10), "<br>")}</p>')
    if report.files:
        st.html(_fates(report))
    for table, count in report.released.items():
        st.html(f"<p>{escape(say('dashboard.released', n=count, table=table))}</p>")
    rejects = list(report.reject_rows())
    if rejects:
        st.html(f"<h3>{escape(say('dashboard.to_mend'))}</h3>")
        st.dataframe(pd.DataFrame(rejects), hide_index=True, key=f"files.rejects.{report.load_no}")
        st.download_button(say("dashboard.download_rejects"), csv_text(rejects), "rejects.csv", "text/csv", key=f"files.download.{report.load_no}")  # fmt: skip


def _fates(report: LoadReport) -> str:
    head = "".join(f"<th class='number'>{escape(say('dashboard.fate_' + name))}</th>" for name in FATES)
    rows = []
    for line in report.files:
        label = f"{line.file} · {line.sheet}" if line.sheet else line.file
        cells = "".join(f"<td class='number'>{asdict(line)[name]:,}</td>" for name in FATES)
        rows.append(f"<tr><td>{escape(label)}</td>{cells}</tr>")
    return f'<table class="figures"><tr><th>{escape(say("dashboard.file"))}</th>{head}</tr>{"".join(rows)}</table>'


def _loaded() -> None:
    version = data.version()
    if not version:
        return
    with st.expander(say("dashboard.loaded_before")):
        st.dataframe(pd.DataFrame(data.loaded_files(version)), hide_index=True, key="files.loaded")


page()
