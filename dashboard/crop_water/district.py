"""The farmers' sheets of a whole district, as one file for the printer's stick."""

import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from html import escape
from io import BytesIO
from itertools import chain
from operator import itemgetter

import streamlit as st

from dashboard import data
from dashboard.crop_water.sections import Seen
from dashboard.data import reading
from pipeline.outputs import csv_text
from pipeline.reports.batch import REPORT, REPORT_COLUMNS, Made, draw, plan
from pipeline.words import say, say_n

HELD = "crop_water.district_sheets"


@dataclass(frozen=True)
class Packed:
    """The sheets that were made, and of what: another choice asks for others."""

    of: tuple[object, ...]
    drawn: int
    lacking: tuple[Made, ...]
    file: bytes


def district_sheets(seen: Seen, week: date, language: str) -> None:
    """Offer the sheets of every site of this one's district; those that can't be made are named with the reason."""
    district = seen.site["district"]
    chosen = [row["site_id"] for row in data.sites(seen.version, seen.who) if row["district"] == district]
    if not district or len(chosen) < 2:  # noqa: PLR2004 - of one site the sheet stands above
        return
    label = say_n("crop_water_page.district_make", len(chosen), district=district)
    st.html(f"<p>{escape(say('crop_water_page.district_says', district=district))}</p>")
    made_of = (seen.version, seen.who, district, week, language)
    if st.button(label, key="district.make"):
        st.session_state[HELD] = _packed(made_of, seen.version, chosen, week, language)
    packed: Packed | None = st.session_state.get(HELD)
    if packed is None or packed.of != made_of:
        return
    told = say_n("crop_water_page.district_made", packed.drawn, of=packed.drawn + len(packed.lacking))
    st.html(f'<p role="status">{escape(told)}</p>{_list(packed.lacking)}')
    name = f"wall-sheets-{week}-{language}.zip"
    st.download_button(
        say("crop_water_page.district_zip"), packed.file, name, "application/zip", key="district.zip", on_click="ignore"
    )  # fmt: skip


def _packed(of: tuple[object, ...], version: int, chosen: Sequence[str], week: date, language: str) -> Packed:
    """A ZIP of the sheets that can be made, with the report on all."""
    bar = st.progress(0.0, text=say("wall_sheets.planning"))

    def watch(done: int, of: int) -> None:
        bar.progress(done / of / 2, text=say("wall_sheets.planning"))

    packed, drawn, lacking, rows = BytesIO(), 0, [], []
    with reading(version) as reader, zipfile.ZipFile(packed, "w") as bundle:
        weeks, refused = plan(reader, chosen, week, watch=watch)
        for made in chain(refused, draw(reader, weeks, language)):
            rows.append(made.row)
            if made.file:
                drawn += 1
                bundle.writestr(made.file, made.pdf)
            else:
                lacking.append(made)
            bar.progress(0.5 + len(rows) / len(chosen) / 2, text=say("wall_sheets.drawing"))
        rows.sort(key=itemgetter("site_id"))
        bundle.writestr(REPORT, csv_text(rows, REPORT_COLUMNS))
    bar.empty()
    return Packed(of, drawn, tuple(lacking), packed.getvalue())


def _list(lacking: Sequence[Made]) -> str:
    lines = "".join(
        f"<li>{escape(made.site)} ({escape(made.site_id)}): {escape(made.remark)}</li>" for made in lacking
    )
    return f'<ul class="ground">{lines}</ul>' if lines else ""
