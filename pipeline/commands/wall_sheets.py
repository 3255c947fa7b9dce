"""`sunrill wall-sheets`: a PDF a site, and the texts that go with it."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any, get_args

import click
import pyarrow as pa

from pipeline.commands.options import PATH, Day, store_option
from pipeline.commands.work import refresh
from pipeline.errors import SunrillError, UnknownName
from pipeline.naming import site_of
from pipeline.outputs import check_file, check_target, write_file, write_table
from pipeline.reports import pages
from pipeline.reports.wall_sheet import WallSheet
from pipeline.reports.wall_sheets import Text, file_name, texts, wall_sheets
from pipeline.scheduling import Week, weeks_of
from pipeline.scheduling.standing import Standing
from pipeline.store import Reader, open_store
from pipeline.terminal import bar, tell, warn
from pipeline.words import LANGUAGES, say, say_n

AT_ONCE = 50  # sites that are planned between two steps of the bar: each step asks the store anew
TOGETHER, REPORT = "all.pdf", "sheets.csv"
REPORT_SCHEMA = pa.schema(
    [(name, pa.string()) for name in ("site_id", "site", "file", "remark", "about_the_week")]
)
TEXT_SCHEMA = pa.schema(
    [
        ("site_id", pa.string()), ("site", pa.string()), ("use", pa.string()), ("role", pa.string()),
        ("name", pa.string()), ("phone", pa.string()), ("language", pa.string()), ("is_draft", pa.bool_()),
        ("text", pa.string()), ("units", pa.int64()), ("most", pa.int64()), ("remark", pa.string()),
    ]
)  # fmt: skip
Row = dict[str, Any]


@click.command("wall-sheets", help=say("wall_sheets.help"))
@store_option
@click.option("--week", "first_day", type=Day(), required=True, help=say("wall_sheets.help_week"))
@click.option("--site", "sites", multiple=True, help=say("wall_sheets.help_site"))
@click.option("--district", help=say("wall_sheets.help_district"))
@click.option(
    "--language",
    type=click.Choice(list(LANGUAGES)),
    default="en",
    show_default=True,
    help=say("wall_sheets.help_language"),
)
@click.option("--standing", type=click.Choice(get_args(Standing)), help=say("wall_sheets.help_standing"))
@click.option("--out", type=PATH, required=True, help=say("wall_sheets.help_out"))
@click.option("--together", is_flag=True, help=say("wall_sheets.help_together"))
@click.option("--text", "text_file", type=PATH, help=say("wall_sheets.help_text"))
def command(
    folder: Path,
    first_day: date,
    sites: tuple[str, ...],
    district: str | None,
    language: str,
    out: Path,
    **said: Any,
) -> None:
    """Write a wall sheet for each site; where one can't be made, say why and go on."""
    if sites and district:
        raise click.UsageError(say("wall_sheets.site_or_district"))
    check_file(out / REPORT)
    if said["text_file"]:
        check_target(said["text_file"])
    store = open_store(folder)
    refresh(store)
    with store.read() as reader:
        chosen = _chosen(reader, sites, district)
        weeks, refused = _planned(reader, chosen, first_day, said["standing"])
        made = wall_sheets(reader, weeks, language, reader.settings.changeover_min)
        written = _written(made, weeks, out)
        done = [sheet for sheet, row in zip(made, written, strict=True) if row["file"]]
        if said["together"] and done:
            write_file(pages.pdf(done), out / TOGETHER)
        if said["text_file"]:
            write_table(_table(texts(reader, done)), said["text_file"])
    _tell([*written, *refused], chosen, out)


def _chosen(reader: Reader, written: Sequence[str], district: str | None) -> list[str]:
    """The ids of the sites that are meant; all of them where none is named."""
    if written:
        return list(dict.fromkeys(site_of(reader.connection, name) for name in written))
    rows = reader.rows("SELECT site_id, district FROM sites ORDER BY site_id")
    found = [row["site_id"] for row in rows if district is None or row["district"] == district]
    if not found:
        names = sorted({row["district"] for row in rows if row["district"]})
        raise UnknownName(
            say("wall_sheets.no_sites", district=district or "–"),
            mend=say("wall_sheets.no_sites_mend", names=", ".join(names) or "–"),
        )
    return found


def _planned(
    reader: Reader, sites: Sequence[str], first_day: date, standing: Standing | None
) -> tuple[list[Week], list[Row]]:
    """The weeks that can be planned, and a row for each site whose week can't, with a bar."""
    weeks, refused = [], []
    names = {row["site_id"]: row["name"] for row in reader.rows("SELECT site_id, name FROM sites")}
    with bar(say("wall_sheets.planning")) as (progress, task):
        for at in range(0, len(sites), AT_ONCE):
            for site, found in weeks_of(
                reader, sites[at : at + AT_ONCE], first_day, standing=standing
            ).items():
                if isinstance(found, Week):
                    weeks.append(found)
                else:
                    refused.append(_refused(site, names[site], found))
            progress.update(task, completed=min(at + AT_ONCE, len(sites)), total=len(sites))
    return weeks, refused


def _written(sheets: Sequence[WallSheet], weeks: Sequence[Week], out: Path) -> list[Row]:
    """Write a file a sheet, with a bar; a row each tells what became of it."""
    rows = []
    with bar(say("wall_sheets.drawing")) as (progress, task):
        for k, (sheet, week) in enumerate(zip(sheets, weeks, strict=True), start=1):
            path = out / file_name(sheet.site_id, week.from_day)
            rows.append(_write(sheet, path) | {"about_the_week": " ".join(week.remarks)})
            progress.update(task, completed=k, total=len(sheets))
    return rows


def _write(sheet: WallSheet, path: Path) -> Row:
    try:
        made = pages.pdf([sheet])
    except SunrillError as error:
        return _refused(sheet.site_id, sheet.site_name, error)
    write_file(made, path)
    return _row(sheet.site_id, sheet.site_name, path.name, " ".join(pages.unlike(sheet)))


def _refused(site_id: str, site: str, error: SunrillError) -> Row:
    fault = error.fault
    return _row(site_id, site, "", " ".join(filter(None, (fault.what, fault.why, fault.mend))))


def _row(site_id: str, site: str, file: str, remark: str) -> Row:
    return {"site_id": site_id, "site": site, "file": file, "remark": remark, "about_the_week": ""}


def _table(found: Sequence[Text]) -> pa.Table:
    return pa.Table.from_pylist([asdict(text) for text in found], TEXT_SCHEMA)


def _tell(rows: Sequence[Row], chosen: Sequence[str], out: Path) -> None:
    """The report as a file, what a person must know of it on the screen."""
    order = {site: k for k, site in enumerate(chosen)}
    ordered = sorted(rows, key=lambda row: order[row["site_id"]])
    write_table(pa.Table.from_pylist(ordered, REPORT_SCHEMA), out / REPORT)
    for row in ordered:
        if row["remark"]:
            warn(f"{row['site_id']}: {row['remark']}")
    tell(say_n("wall_sheets.wrote", sum(bool(row["file"]) for row in rows), of=len(rows), out=out))
