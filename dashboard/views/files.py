"""Data: drop files in and see first what they would do; what came, and how to mend what was not taken."""

from html import escape
from typing import Any

import streamlit as st

from dashboard import data
from dashboard.access import Viewer, viewer
from dashboard.downloads import KINDS
from dashboard.files import came as files_came
from dashboard.files import data as files_data
from dashboard.files import drop as files_drop
from dashboard.files import tables as files_tables
from pipeline.tables import TABLES
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]

MOST_WAITS = 5  # rows that have not come, named on the page
FRESH = ("district", "sites", "newest_reading", "newest_log", "newest_survey")


def page() -> None:
    """Draw the page."""
    who, version = viewer(), data.version()
    files = files_data.files(version, who)
    st.html(files_tables.STYLE)
    st.html(f'<h1 class="unseen">{escape(say("dashboard.files"))}</h1>')
    st.html(f'<p class="answer">{escape(_answer(files))}</p>')
    if not who.loads:
        st.html(f'<p class="quiet">{escape(say("dashboard.loads_elsewhere"))}</p>')
        _templates()
        return
    files_drop.draw(who)
    _templates()
    if files:
        _waits(data.waits(version, who))
        files_came.draw(version, who)
        _freshness(version, who)


def _answer(files: Rows) -> str:
    counting = [row for row in files if row["sheets"] and row["taken_back"] is None]
    if not counting:
        return say("dashboard.drop_first")
    count = len({(row["sha"], row["file"]) for row in counting})
    return say_n("dashboard.drop_more", count, day=max(row["came_at"] for row in counting)[:10])


def _waits(waits: Rows) -> None:
    """Which site or meter lacks, and how many rows it keeps."""
    if not waits:
        return
    shown = [say("dashboard.waits_row", **{**row, "rows": f"{row['rows']:,}"}) for row in waits[:MOST_WAITS]]
    if len(waits) > MOST_WAITS:
        shown.append(say("dashboard.more_waits", n=len(waits) - MOST_WAITS))
    st.html(f"<p>{escape(say('dashboard.waits', rows='; '.join(shown)))}</p>")


def _freshness(version: int, who: Viewer) -> None:
    """The newest day of each district."""
    rows = files_data.freshness(version, who)
    if not rows:
        return
    heads = [say(f"files_page.fresh_{name}") for name in FRESH]
    cells = [
        [str(row[n]) if row[n] is not None else say("files_page.none_yet") for n in FRESH] for row in rows
    ]
    drawn = files_tables.table(heads, cells, ["text", "number", "text", "text", "text"])
    st.html(f"<h2>{escape(say('files_page.fresh'))}</h2>{drawn}")


def _templates() -> None:
    """Empty sheets for the field, one by one or all at once."""
    with st.expander(say("files_page.templates")):
        st.html(f"<p>{escape(say('files_page.templates_say'))}</p>")
        table = st.selectbox(
            say("dashboard.table"),
            list(TABLES),
            format_func=lambda name: say(
                "files_page.template_option", table=name, meaning=TABLES[name].meaning
            ),
            key="files.template",
        )
        with st.container(horizontal=True, key="files.templates"):
            st.download_button(
                say("files_page.template"), lambda: files_data.template(table), f"{table}.xlsx", KINDS["xlsx"],
                key="files.template.one", on_click="ignore",
            )  # fmt: skip
            st.download_button(
                say("files_page.all_templates"), files_data.templates, "sunrill_templates.zip", "application/zip",
                key="files.template.all", on_click="ignore",
            )  # fmt: skip


page()
