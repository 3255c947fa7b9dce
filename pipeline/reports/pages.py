"""Wall sheets on paper: each as the typesetter takes it, in its own words, with the English beside."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from pipeline.errors import SunrillError
from pipeline.reports import typesetting
from pipeline.reports.glyphs import lacking, shown
from pipeline.reports.layout import WHOLE_DAY, band_of, clock_of, layout_of
from pipeline.reports.plan import plan_of
from pipeline.reports.wall_sheet import SheetBlock, SheetDay, Turn, WallSheet
from pipeline.words import LANGUAGES, say

TEMPLATE = "sheet.typ"
LONGEST_NAME, LONGEST_ID = 80, 14  # letters; what is longer ends in …, and the command says so
IDS_ROOM = 100  # the widest letters that the line under the plan holds for all ids together
MOST_BLOCKS = 24
WORDS = (
    "title", "turn", "enough", "less", "tick", "no_turn", "rest", "draft", "morning", "midday", "afternoon", "north", "plan",
    "care_touch", "care_drink", "care_next", "care_stop",
)  # fmt: skip


def pdf(sheets: Sequence[WallSheet]) -> bytes:
    """Return sheets as one tagged PDF of A4 pages, a page each; the same bytes on every run.

    Raises
    ------
    SunrillError
        Where a sheet can't be made: its site has no block, or more blocks or turns than a page holds.
    """
    return typesetting.pdf(TEMPLATE, _document(sheets), sheets[0].days[0].day)


def pictures(sheets: Sequence[WallSheet], ppi: float = 72) -> list[bytes]:
    """Return sheets as PNG pictures."""
    return typesetting.pictures(TEMPLATE, _document(sheets), sheets[0].days[0].day, ppi=ppi)


def unlike(sheet: WallSheet) -> list[str]:
    """Return what the sheet can't show as it is on record, a sentence each."""
    names = [sheet.site_name, *(block.block_id for block in sheet.blocks)]
    lost = lacking("".join(names))
    cut = [name for name, most in zip(names, _most(names), strict=True) if len(shown(name)) > most]
    return [
        *([say("reports.letters_lacking", letters=" ".join(lost))] if lost else []),
        *(say("reports.name_cut", name=name) for name in cut),
    ]


def _most(names: Sequence[str]) -> list[int]:
    return [LONGEST_NAME, *[id_letters(len(names) - 1)] * (len(names) - 1)]


def id_letters(blocks: int) -> int:
    """Return how many letters of a block's id have room under the plan of so many blocks.

    Examples
    --------
    >>> [id_letters(blocks) for blocks in (4, 12, 24)]
    [14, 8, 4]
    """
    return min(LONGEST_ID, IDS_ROOM // max(blocks, 1))


def short_day(day: date) -> str:
    """Return a day as the sheet writes it, such as 23/11."""
    return f"{day.day}/{day.month}"


def clock(minute: int) -> str:
    """Return a minute of the day, such as 7:05."""
    return f"{minute // 60}:{minute % 60:02d}"


def _document(sheets: Sequence[WallSheet]) -> dict[str, Any]:
    first = sheets[0]
    title = say("wall_sheet.title", language=first.language)
    names = f" – {_name(first.site_name)}" if len(sheets) == 1 else ""
    return {"title": title + names, "author": say("reports.author"), "sheets": [_page(s) for s in sheets]}


def _page(sheet: WallSheet) -> dict[str, Any]:
    if not 0 < len(sheet.blocks) <= MOST_BLOCKS:
        key = "reports.too_many_blocks" if sheet.blocks else "reports.no_blocks"
        raise SunrillError(
            say(key, most=MOST_BLOCKS), where=sheet.site_id, mend=say("reports.blocks_mend", most=MOST_BLOCKS)
        )
    layout = layout_of(sheet.days)
    if layout is None:
        raise SunrillError(
            say("reports.too_many_turns"), where=sheet.site_id, mend=say("reports.too_many_turns_mend")
        )
    banded = layout.bands[0].name != WHOLE_DAY
    from_min, to_min = clock_of(sheet.days)
    return {
        "name": _name(sheet.site_name) or shown(sheet.site_id),
        "week": _period(sheet),
        "language": sheet.language,
        "draft": sheet.is_draft,
        "words": {key: say(f"wall_sheet.{key}", language=sheet.language) for key in WORDS},
        "english": {key: say(f"wall_sheet.{key}") for key in WORDS},
        "clock": {"from": from_min, "to": to_min},
        "bands": [{"name": band.name, "height": band.height_mm} for band in layout.bands],
        "card_mm": layout.card_mm,
        "days": [_day(day, sheet, banded=banded) for day in sheet.days],
        "has_dry": any(day.dry for day in sheet.days),
        "remark": " · ".join(_remarks(sheet)),
        **_plan(sheet),
    }


def _period(sheet: WallSheet) -> str:
    """Return the days on which the sheet holds, such as 23/11 – 29/11/2026."""
    return f"{short_day(sheet.days[0].day)} – {short_day(sheet.last_day)}/{sheet.last_day.year}"


def _name(written: str) -> str:
    return _cut(written, LONGEST_NAME)


def _cut(written: str, most: int) -> str:
    text = shown(written)
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _day(day: SheetDay, sheet: WallSheet, *, banded: bool) -> dict[str, Any]:
    """A day of a standing sheet has no date: it comes again each week."""
    return {
        "name": say(f"wall_sheet.day_{day.day.isoweekday()}", language=sheet.language),
        "date": None if sheet.repeats_until else short_day(day.day),
        "turns": [_turn(turn, band_of(turn.start_min) if banded else WHOLE_DAY) for turn in day.turns],
        "dry": list(day.dry),
    }


def _turn(turn: Turn, band: str) -> dict[str, Any]:
    return {
        "number": turn.number,
        "block": turn.block,
        "band": band,
        "start": turn.start_min,
        "end": turn.end_min,
        "from": clock(turn.start_min),
        "until": clock(turn.end_min),
        "met": turn.met,
    }


def _remarks(sheet: WallSheet) -> Iterable[str]:
    """Shortage first: below a full page there is one line for it."""
    if sheet.short:
        yield say("wall_sheet.short", language=sheet.language, blocks=", ".join(sheet.short))
    without = [letter for letter in sheet.without_turn if letter not in sheet.short]
    if without:
        yield say("wall_sheet.no_turn_week", language=sheet.language, blocks=", ".join(without))
    if sheet.unknown_need:
        yield say("wall_sheet.unknown_need", language=sheet.language, blocks=", ".join(sheet.unknown_need))
    if sheet.repeats_until:
        until = f"{short_day(sheet.repeats_until)}/{sheet.repeats_until.year}"
        yield say("wall_sheet.repeats_until", language=sheet.language, day=until)


def _plan(sheet: WallSheet) -> dict[str, Any]:
    plan = plan_of(sheet.blocks)
    names = " · ".join(_legend(sheet.blocks))
    key = "larger" if plan.larger > 1 else "" if plan.mapped else "plain_plan"
    plain = say(f"wall_sheet.{key}", language=sheet.language) + " " if key else ""
    return {
        "mapped": plan.mapped,
        "plan_note": plain + names,
        "blocks": [
            {"letter": block.letter, "outline": drawn.outline, "at": drawn.at, "room_mm": drawn.room_mm}
            for block, drawn in zip(sheet.blocks, plan.blocks, strict=True)
        ],
    }


def _legend(blocks: Sequence[SheetBlock]) -> Iterable[str]:
    """Each letter with the block's name on record, which is what stands on its valve."""
    return (
        f"{block.letter}\N{NO-BREAK SPACE}=\N{NO-BREAK SPACE}{_cut(block.block_id, id_letters(len(blocks)))}"
        for block in blocks
    )


def languages() -> tuple[str, ...]:
    """Return the codes of the languages that a sheet can speak."""
    return tuple(LANGUAGES)
