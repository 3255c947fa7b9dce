"""The farmers' week at the site: which valve when, as it hangs on their wall."""

from base64 import b64encode
from dataclasses import dataclass
from datetime import date, timedelta
from html import escape
from typing import Any

import streamlit as st

from dashboard import choices
from dashboard.access import Viewer
from dashboard.crop_water.district import district_sheets
from dashboard.crop_water.sections import Seen
from dashboard.data import reading
from dashboard.downloads import downloads
from dashboard.numbers import number
from pipeline.errors import SunrillError
from pipeline.reports import pages
from pipeline.reports.wall_sheets import file_name, wall_sheets
from pipeline.scheduling import week_of
from pipeline.scheduling.table import as_table
from pipeline.words import LANGUAGES, say

PREVIEW_PPI = 110
AHEAD = timedelta(days=366)  # that a week can lie after the last day with figures
USUAL = "en"  # language, until another is chosen
COLUMNS = ("day", "block_id", "start_at", "end_at", "run_min", "depth_mm", "volume_m3", "short_mm")
Rows = list[dict[str, Any]]


@dataclass(frozen=True)
class Sheet:
    """A site's week: what is said of it, its rows, and the page for the wall as PDF and as a picture.

    Attributes
    ----------
    said
        Sentences, from how much water goes out to what to keep in mind.
    rows
        As the command writes them.
    name
        Of the PDF's file.
    pdf, picture
        Empty where the page can't be set.
    """

    said: tuple[str, ...]
    rows: Rows
    name: str = ""
    pdf: bytes = b""
    picture: bytes = b""


def farmers_week(seen: Seen) -> None:
    """Draw the week after the period: what the water reaches, the sheet, its rows; or why there is none."""
    st.html(f'<h3 id="week">{escape(say("crop_water_page.week_title"))}</h3>')
    columns = st.columns([3, 3, 8], vertical_alignment="bottom")
    usual = next_monday(seen.period[1])
    days = (seen.known[0], max(seen.known[1], usual) + AHEAD)
    chosen = choices.day(columns[0], "week", say("crop_water_page.week_from"), usual, days)
    names = {code: _language(code) for code in LANGUAGES}
    with columns[1]:
        language = choices.choose("language", list(LANGUAGES), names[USUAL], names) or USUAL
    _own(seen, chosen, language)
    district_sheets(seen, chosen, language)


def _own(seen: Seen, week: date, language: str) -> None:
    try:
        with st.spinner(say("crop_water_page.week_planning")):
            sheet = planned(seen.version, seen.who, seen.site["site_id"], week, language)
    except SunrillError as error:
        st.html(f'<p class="caution">{escape(error.fault.in_a_line())}</p>')
        return
    lead, *more = sheet.said
    lines = "".join(f"<li>{escape(sentence)}</li>" for sentence in more)
    st.html(f'<p>{escape(lead)}</p><ul class="ground">{lines}</ul>')
    _page(sheet)
    st.html(_table(sheet.rows))
    downloads(sheet.rows, "schedule")


def next_monday(day: date) -> date:
    """Return the first Monday after a day.

    Examples
    --------
    >>> next_monday(date(2026, 10, 31)), next_monday(date(2026, 11, 2))
    (datetime.date(2026, 11, 2), datetime.date(2026, 11, 9))
    """
    return day + timedelta(days=7 - day.weekday())


@st.cache_data(show_spinner=False, max_entries=20)
def planned(version: int, viewer: Viewer, site_id: str, week: date, language: str) -> Sheet:
    """Return the week of a site within the viewer's scope.

    Raises
    ------
    SunrillError
        Where it can't be planned, and how to mend that.
    """
    if viewer.sites is not None and site_id not in viewer.sites:
        raise SunrillError(say("site_page.gone"))
    with reading(version) as reader:
        found = week_of(reader, site_id, week)
        (sheet,) = wall_sheets(reader, [found], language, reader.settings.changeover_min)
    rows = as_table([found]).to_pylist()
    try:
        pdf, picture = pages.pdf([sheet]), pages.pictures([sheet], PREVIEW_PPI)[0]
    except SunrillError as error:  # such as more blocks than a page has room for
        return Sheet((*found.said, str(error)), rows)
    return Sheet(found.said, rows, file_name(site_id, week), pdf, picture)


def _page(sheet: Sheet) -> None:
    if not sheet.pdf:
        return
    source = b64encode(sheet.picture).decode()
    alt = escape(say("crop_water_page.week_picture"), quote=True)
    st.html(f'<div class="scroll sheet"><img alt="{alt}" src="data:image/png;base64,{source}"></div>')
    st.download_button(
        say("crop_water_page.week_pdf"), sheet.pdf, sheet.name, "application/pdf", key="schedule.pdf", on_click="ignore"
    )  # fmt: skip


def _language(code: str) -> str:
    language = LANGUAGES[code]
    key = "crop_water_page.week_draft" if language.is_draft else "crop_water_page.week_read"
    return say(key, name=language.own_name, english=language.english_name)


def _table(rows: Rows) -> str:
    """The runs, folded: who can't see the picture reads them, and anybody looks one up."""
    heads = "".join(f"<th>{escape(say(f'crop_water_page.run_{name}'))}</th>" for name in COLUMNS)
    lines = "".join(
        f"<tr>{''.join(f'<td>{escape(_cell(name, row[name]))}</td>' for name in COLUMNS)}</tr>"
        for row in rows
    )
    summary = escape(say("crop_water_page.week_rows"))
    return (
        f'<details class="numbers"><summary>{summary}</summary><div class="scroll"><table class="figures">'
        f"<thead><tr>{heads}</tr></thead><tbody>{lines}</tbody></table></div></details>"
    )


def _cell(name: str, value: Any) -> str:
    if value is None:
        return "–"
    if name in ("start_at", "end_at"):
        return str(value)[11:16]  # the day stands beside it
    return number(value, 1) if isinstance(value, float) else str(value)
