"""What is on record of a site: a section for each kind of record, newest first, and what can be entered."""

import re
from datetime import date
from html import escape
from typing import Any

import streamlit as st

from dashboard import data
from dashboard.access import Viewer
from dashboard.downloads import downloads
from dashboard.numbers import exact
from dashboard.records import data as records_data
from dashboard.records import entry as records_entry
from dashboard.records.sections import Section, sections
from dashboard.records.table import STYLE, Cell, table
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]

MOST = 25  # rows of a section on the page; the download has all

# a section that a link asks for comes into view and has the keyboard's focus, once what is above it is drawn
FOCUS = """<script>setTimeout(() => {{
    const lid = document.querySelector(".st-key-section_{section} summary");
    if (lid) {{ lid.scrollIntoView(); lid.focus({{preventScroll: true}}); }}
}}, 600)</script>"""


def draw(version: int, viewer: Viewer, site_id: str, period: tuple[date, date]) -> None:
    """Draw what is on record of a site; nothing where the site is outside the viewer's scope.

    Parameters
    ----------
    version
        Of the store, as every question of the page.
    viewer
        Who looks; only who sees every site can enter anything.
    site_id
        The site.
    period
        First and last day: meter intervals are those of the period, open jobs those of its last evening.
    """
    site = records_data.site(version, viewer, site_id)
    if site is None:
        return
    found = records_data.on_record(version, viewer, site_id, period[1])
    currency = data.settings(version).currency
    st.html(STYLE + f"<h2>{escape(say('site_records.title'))}</h2>")
    st.html(f'<p class="quiet">{escape(say("site_records.clock", zone=site["zone"]))}</p>')
    for section in sections(currency, period[1]):
        rows = found.get(section.name)
        if rows is None:
            rows = records_data.intervals(version, viewer, site_id, *period)
        _draw_section(section, rows, site_id, period, viewer)
    if viewer.loads:
        records_entry.draw(version, viewer, site, found["meters"])


def place(section: str, site_id: str) -> str:
    """Return a section as an address names it: with its site, so that it opens at no other that is chosen then.

    >>> place("contacts", "S1")
    'contacts.S1'
    """
    return f"{section}.{site_id}"


def _draw_section(section: Section, rows: Rows, site_id: str, period: tuple[date, date], who: Viewer) -> None:
    title = say(f"site_records.title_{section.name}")
    many = (
        say("site_records.counted", title=title, n=f"{len(rows):,}")
        if rows
        else say("site_records.none_of", title=title)
    )
    wanted = st.query_params.get("section") == place(section.name, site_id)
    if wanted:
        st.html(FOCUS.format(section=section.name), unsafe_allow_javascript=True)
    key = f"section_{section.name}"
    with st.container(key=key), st.expander(many, expanded=wanted or section.name == "open_jobs"):
        if not rows:
            st.html(_empty(section, period, who))
            return
        shown = rows[:MOST] + (_named(rows[MOST:]) if wanted else [])
        st.html(_lead(section.name) + "".join(_tables(section, shown)) + _more(len(rows) - len(shown)))
        if section.leaves:
            downloads(flat(rows), f"{section.name}_{plain(site_id)}")
        else:
            st.html(f'<p class="quiet">{escape(say("site_records.stays_here"))}</p>')


def _named(older: Rows) -> Rows:
    """Those of the rows below the newest that a link asks for by a name or an id in them."""
    asked = st.query_params.get("row")
    return [row for row in older if asked in row.values()][:MOST] if asked else []


def flat(rows: Rows) -> Rows:
    """Return the rows as a file has them: several numbers in a cell stand apart by semicolons, as they came."""
    return [
        {
            name: ";".join(exact(v).replace(",", "") for v in value) if isinstance(value, list) else value
            for name, value in row.items()
        }
        for row in rows
    ]


def plain(site_id: str) -> str:
    """Return a site's id as part of a file's name: letters, digits, and nothing that leads elsewhere."""
    return re.sub(r"[^A-Za-z0-9_-]+", "_", site_id)[:40]


def _lead(name: str) -> str:
    return f"<p><b>{escape(say('site_records.call_first'))}</b></p>" if name == "contacts" else ""


def _more(left: int) -> str:
    return f'<p class="quiet">{escape(say_n("site_records.more", left, shown=MOST))}</p>' if left > 0 else ""


def _empty(section: Section, period: tuple[date, date], who: Viewer) -> str:
    """What would fill the section, and how."""
    none = say(f"site_records.empty_{section.name}", start=period[0], end=period[1])
    key = "site_records.fill" if who.loads else "site_records.fill_elsewhere"
    return f'<p class="quiet">{escape(none)} {escape(say(key, table=section.fills))}</p>'


def _tables(section: Section, rows: Rows) -> list[str]:
    """The rows as one table; components that were taken out apart from those in place."""
    heads = [say(f"site_records.head_{name}") for name in section.heads]
    cells = [section.cells_of(row) for row in rows]
    if section.name != "components":
        return [table(heads, cells, section.times)]
    pairs = list(zip(rows, cells, strict=True))
    in_place = [part[:-1] for row, part in pairs if row["removed_on"] is None]  # without the day of removal
    removed = [part for row, part in pairs if row["removed_on"] is not None]
    return [*_group("in_place", heads[:-1], in_place), *_group("removed", heads, removed)]


def _group(name: str, heads: list[str], cells: list[list[Cell]]) -> list[str]:
    if not cells:
        return []
    return [f"<h3>{escape(say(f'site_records.{name}'))}</h3>{table(heads, cells)}"]
