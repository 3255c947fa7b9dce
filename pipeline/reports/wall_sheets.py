"""Wall sheets of the store's sites: names, outlines and contacts added to what the schedule says."""

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256
from typing import Any, Protocol

from pipeline.reports.gsm import size
from pipeline.reports.messages import aloud, message
from pipeline.reports.wall_sheet import Ring, WallSheet, days_of, lettered
from pipeline.scheduling.runs import Run
from pipeline.store import Reader
from pipeline.words import LANGUAGES, Language, language_of, say

RECIPIENTS = 2  # a site
FIRST_ROLES = ("operator", "chair")  # who opens the valves, and who tells the others
PLAIN_ID = re.compile(r"[A-Z0-9_-]{1,40}")  # the same name on every file system, in either case

SITES = "SELECT site_id, name FROM sites WHERE list_contains($sites::VARCHAR[], site_id)"
BLOCKS = """
    SELECT site_id, block_id, ST_AsGeoJSON(geometry) AS outline
    FROM blocks WHERE list_contains($sites::VARCHAR[], site_id) ORDER BY site_id, block_id"""
CONTACTS = """
    SELECT site_id, role, name, phone, language FROM contacts
    WHERE list_contains($sites::VARCHAR[], site_id) AND consent_on <= $on::DATE AND trim(phone) <> ''
    ORDER BY site_id, coalesce(list_position($first::VARCHAR[], lower(trim(role))), 99), role, name"""


class Scheduled(Protocol):
    """What a sheet needs of a site's week."""

    @property
    def site_id(self) -> str:
        """Where."""

    @property
    def from_day(self) -> date:
        """The first of its seven days."""

    @property
    def runs(self) -> tuple[Run, ...]:
        """In the order of the turns."""

    @property
    def unknown_blocks(self) -> tuple[str, ...]:
        """Blocks whose need nobody knows on any day."""

    @property
    def repeats_until(self) -> date | None:
        """Of a standing sheet: the last day on which it holds."""


def wall_sheets(
    reader: Reader, weeks: Sequence[Scheduled], language: str, changeover_min: int
) -> tuple[WallSheet, ...]:
    """Return the sheets of some sites' weeks, in their order.

    Parameters
    ----------
    weeks
        Of sites that the store knows, one a site.
    language : str
        The code of one of `LANGUAGES`.
    changeover_min : int
        What the weeks leave to open the next valve and close the last. [min]
    """
    sites = [week.site_id for week in weeks]
    names = {row["site_id"]: row["name"] for row in _rows(reader, SITES, sites=sites)}
    outlines: dict[str, list[tuple[str, Ring | None]]] = {site: [] for site in sites}
    for row in _rows(reader, BLOCKS, sites=sites):
        outlines[row["site_id"]].append((row["block_id"], _ring(row["outline"])))
    return tuple(
        _sheet(week, names[week.site_id], outlines[week.site_id], LANGUAGES[language], changeover_min)
        for week in weeks
    )


def _sheet(
    week: Scheduled,
    name: str,
    outlines: Sequence[tuple[str, Ring | None]],
    language: Language,
    changeover_min: int,
) -> WallSheet:
    blocks = lettered(outlines)
    return WallSheet(
        week.site_id,
        name,
        days_of(week.runs, blocks, week.from_day, changeover_min),
        blocks,
        language.code,
        language.is_draft,
        week.repeats_until,
        week.unknown_blocks,
    )


def _ring(outline: str | None) -> Ring | None:
    """The outer corners of a block; what lies inside of it makes no other valve."""
    if outline is None:
        return None
    corners = json.loads(outline)["coordinates"][0]
    return tuple((x, y) for x, y, *_ in corners)


def _rows(reader: Reader, query: str, **values: object) -> list[dict[str, Any]]:
    result = reader.connection.execute(query, values)
    names = [column[0] for column in result.description]
    return [dict(zip(names, row, strict=True)) for row in result.fetchall()]


@dataclass(frozen=True)
class Text:
    """One row of the list of texts: a message to a person, or a text to read aloud.

    Attributes
    ----------
    site_id, site
        Where.
    use
        `message` or `aloud`.
    role, name, phone
        To whom; empty for a text to read aloud.
    language, is_draft
        Of the text; whether no native speaker has read its words yet.
    text
        Empty where it can't be said in one message.
    units, most
        What a message takes of what it may; None for a text to read aloud.
    remark
        What to know before it is sent.
    """

    site_id: str
    site: str
    use: str
    role: str
    name: str
    phone: str
    language: str
    is_draft: bool
    text: str
    units: int | None
    most: int | None
    remark: str = ""


def texts(reader: Reader, sheets: Sequence[WallSheet]) -> list[Text]:
    """Return the messages to each site's contacts and its text to read aloud.

    A site's message goes to two people at most who have agreed to be on file by the first of the days, each
    in the person's own language. Phone numbers stand in this list and nowhere else.
    """
    if not sheets:
        return []
    sites, on = [sheet.site_id for sheet in sheets], min(sheet.days[0].day for sheet in sheets)
    people: dict[str, list[dict[str, Any]]] = {site: [] for site in sites}
    for row in _rows(reader, CONTACTS, sites=sites, on=on, first=list(FIRST_ROLES)):
        chosen = people[row["site_id"]]
        if len(chosen) < RECIPIENTS and row["phone"] not in {other["phone"] for other in chosen}:
            chosen.append(row)
    return [text for sheet in sheets for text in _of_site(sheet, people[sheet.site_id])]


def _of_site(sheet: WallSheet, people: Sequence[dict[str, Any]]) -> Iterator[Text]:
    for person in people:
        yield _to(person, sheet)
    if not people:
        yield _row(sheet, "message", "", None, say("reports.nobody_agreed"))
    yield _row(sheet, "aloud", aloud(sheet), None)


def _to(person: dict[str, Any], sheet: WallSheet) -> Text:
    meant = language_of(person["language"])
    unknown = say("reports.other_language", written=person["language"] or "–") if meant is None else ""
    spoken = sheet if meant is None else _in(sheet, meant)
    text = message(spoken)
    remark = unknown if text is not None else say("reports.no_message")
    return _row(spoken, "message", text or "", person, remark)


def _in(sheet: WallSheet, language: Language) -> WallSheet:
    return replace(sheet, language=language.code, is_draft=language.is_draft)


def _row(sheet: WallSheet, use: str, text: str, person: dict[str, Any] | None, remark: str = "") -> Text:
    who = person or {"role": "", "name": "", "phone": ""}
    taken = size(text) if text and use == "message" else None
    return Text(
        sheet.site_id,
        sheet.site_name,
        use,
        who["role"],
        who["name"],
        who["phone"],
        sheet.language,
        sheet.is_draft,
        text,
        taken.units if taken else None,
        taken.most if taken else None,
        remark,
    )


def file_name(site_id: str, first_day: date) -> str:
    """Return a name for a site's sheet that every file system takes and no other site or week has.

    Last week's sheet in the same folder is never taken for this week's.

    Examples
    --------
    >>> file_name("S00001", date(2026, 11, 23))
    'sheet-S00001-2026-11-23.pdf'
    >>> file_name("../x", date(2026, 11, 23))
    'sheet-x-d6b96a97-2026-11-23.pdf'
    """
    if PLAIN_ID.fullmatch(site_id):
        return f"sheet-{site_id}-{first_day}.pdf"
    kept = "-".join(re.findall(r"[A-Za-z0-9_]+", site_id))[:40]
    digest = sha256(site_id.encode()).hexdigest()[:8]
    return "-".join(filter(None, ("sheet", kept, digest, str(first_day)))) + ".pdf"
