"""`sunrill wall-sheets`: a PDF a site, and the texts that go with it."""

from collections.abc import Sequence
from dataclasses import asdict, replace
from datetime import date
from pathlib import Path
from typing import Any, get_args

import click
import pyarrow as pa

from pipeline.commands.options import PATH, Day, store_option
from pipeline.commands.work import refresh
from pipeline.errors import UnknownName
from pipeline.naming import site_of
from pipeline.outputs import check_file, check_target, write_file, write_table
from pipeline.reports import pages
from pipeline.reports.batch import REPORT, REPORT_COLUMNS, Made, draw, plan
from pipeline.reports.wall_sheets import Text, texts
from pipeline.scheduling import Week
from pipeline.scheduling.standing import Standing
from pipeline.store import Reader, open_store
from pipeline.terminal import bar, tell, warn
from pipeline.words import LANGUAGES, say, say_n

TOGETHER = "all.pdf"
REPORT_SCHEMA = pa.schema([(name, pa.string()) for name in REPORT_COLUMNS])
TEXT_SCHEMA = pa.schema(
    [
        ("site_id", pa.string()), ("site", pa.string()), ("use", pa.string()), ("role", pa.string()),
        ("name", pa.string()), ("phone", pa.string()), ("language", pa.string()), ("is_draft", pa.bool_()),
        ("text", pa.string()), ("units", pa.int64()), ("most", pa.int64()), ("remark", pa.string()),
    ]
)  # fmt: skip


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
        written = _written(reader, weeks, language, out)
        done = [made.sheet for made in written if made.sheet]
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
) -> tuple[list[Week], list[Made]]:
    with bar(say("wall_sheets.planning")) as (progress, task):
        return plan(
            reader,
            sites,
            first_day,
            standing=standing,
            watch=lambda done, of: progress.update(task, completed=done, total=of),
        )


def _written(reader: Reader, weeks: Sequence[Week], language: str, out: Path) -> list[Made]:
    """Write each sheet to its file as soon as it is drawn."""
    found = []
    with bar(say("wall_sheets.drawing")) as (progress, task):
        for made in draw(reader, weeks, language):
            if made.file:
                write_file(made.pdf, out / made.file)
            found.append(replace(made, pdf=b""))  # a thousand pages are not held at once
            progress.update(task, completed=len(found), total=len(weeks))
    return found


def _table(found: Sequence[Text]) -> pa.Table:
    return pa.Table.from_pylist([asdict(text) for text in found], TEXT_SCHEMA)


def _tell(found: Sequence[Made], chosen: Sequence[str], out: Path) -> None:
    """The report as a file, what a person must know of it on the screen."""
    order = {site: k for k, site in enumerate(chosen)}
    ordered = sorted(found, key=lambda made: order[made.site_id])
    write_table(pa.Table.from_pylist([made.row for made in ordered], REPORT_SCHEMA), out / REPORT)
    for made in ordered:
        if made.remark:
            warn(f"{made.site_id}: {made.remark}")
    tell(say_n("wall_sheets.wrote", sum(bool(made.file) for made in found), of=len(found), out=out))
