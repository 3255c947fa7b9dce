"""What a load did, or by its preview would do: fates, what to mend, what is corrected."""

from dataclasses import asdict
from html import escape
from typing import Any

import streamlit as st

from dashboard.data import LoadReport
from dashboard.downloads import downloads
from dashboard.files import tables as files_tables
from pipeline.outputs import csv_text
from pipeline.words import say, say_n


def draw(report: LoadReport, *, preview: bool) -> None:
    """A report: of a preview in the words of what would be."""
    if preview and report.files:
        words = files_tables.sentence(report, "files_page.would_")
        st.html(f'<p class="answer" role="status">{escape(words)}</p>')
    for fault in (*report.notes, *report.unreadable):
        st.html(f'<p class="caution">{files_tables.lines(fault.sentences())}</p>')
    if report.files:
        st.html(files_tables.fates([asdict(line) for line in report.files]))
    for table, count in report.released.items():
        key = "files_page.would_be_released" if preview else "dashboard.released"
        st.html(f"<p>{escape(say_n(key, count, table=table))}</p>")
    _rejects(list(report.reject_rows()), preview=preview)
    _corrections(report, preview=preview)


def _rejects(rejects: list[dict[str, Any]], *, preview: bool) -> None:
    if not rejects:
        return
    title = say("files_page.to_mend_first" if preview else "dashboard.to_mend")
    st.html(f"<h2>{escape(title)}</h2>{files_tables.faults(rejects)}")
    st.download_button(
        say("dashboard.download_rejects"), csv_text(rejects), "rejects.csv", "text/csv",
        key="files.rejects", on_click="ignore",
    )  # fmt: skip


def _corrections(report: LoadReport, *, preview: bool) -> None:
    if not report.corrections:
        return
    title = say("files_page.would_change" if preview else "files_page.changed_cells")
    note = f'<p class="quiet">{escape(say("files_page.change_note"))}</p>'
    st.html(f"<h2>{escape(title)}</h2>{note}{files_tables.corrections(report)}")
    downloads(list(report.correction_rows()), "corrections")
