"""A site's week as words: a text message that fits, and a text to read aloud.

A message that doesn't fit says less, in the order of `_ways`; a word is never cut, and it never goes out
in two parts. Safety sentences stand in English alone where nobody has read the translation: a message
has no room for the picture that must stand beside it.
"""

import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise

from pipeline.reports.gsm import size
from pipeline.reports.pages import clock, short_day
from pipeline.reports.wall_sheet import SheetDay, Turn, WallSheet
from pipeline.words import say

SPAN = 3  # days on end that are written as the first and the last
CARE = ("care_touch", "care_drink", "care_next", "care_stop")


def plain(text: str) -> str:
    """Return a name as one line without letters that steer a screen."""
    kept = (" " if unicodedata.category(c) in {"Cc", "Cf", "Cs"} else c for c in text)
    return " ".join("".join(kept).split())


def message(sheet: WallSheet) -> str | None:
    """Return the week as one text message, None where not even the site's name fits."""
    return next((text for text in _ways(sheet) if size(text).fits), None)


def _ways(sheet: WallSheet) -> Iterator[str]:
    """From the whole to the least: each turn's time; each day's start and order; the way to the sheet."""
    name, site_id = plain(sheet.site_name), plain(sheet.site_id)
    short, see = _short(sheet), _said(sheet, "sms_see")
    care = "" if sheet.is_draft else _said(sheet, "sms_care")
    with_ends, starts, order = (_turns(sheet, written) for written in (_with_ends, _starts, _order))
    for parts in (
        (with_ends, short, care),
        (with_ends, short),
        (starts, short),
        (order, short),
        (order,),
        (short, see),
        (see,),
    ):
        yield _joined(_head(sheet, name), *parts)
    yield _joined(_head(sheet, site_id), see)


def _joined(*parts: str) -> str:
    return " ".join(part for part in parts if part)


def _said(sheet: WallSheet, key: str, **values: object) -> str:
    return say(f"wall_sheet.{key}", language=sheet.language, **values)


def _head(sheet: WallSheet, site: str) -> str:
    draft = _said(sheet, "sms_draft") if sheet.is_draft else ""
    first, last = (short_day(day) for day in (sheet.days[0].day, sheet.last_day))
    return _joined(draft, _said(sheet, "sms_head", site=site, first=first, last=last))


def _short(sheet: WallSheet) -> str:
    return _said(sheet, "sms_short", blocks=" ".join(sheet.short)) if sheet.short else ""


def _turns(sheet: WallSheet, written: Callable[[WallSheet, str, Sequence[Turn]], str]) -> str:
    """Days with the same turns together; a day without any isn't named."""
    alike = _alike(sheet.days)
    if not alike:
        return _said(sheet, "sms_no_turns")
    return " ".join(written(sheet, _spans(sheet, days), turns) for turns, days in alike)


def _alike(days: Sequence[SheetDay]) -> list[tuple[tuple[Turn, ...], list[int]]]:
    """The turns of the week, each with the days that they are of; how far the need is met makes no difference."""
    found: dict[tuple[tuple[int, ...], ...], tuple[tuple[Turn, ...], list[int]]] = {}
    for k, day in enumerate(days):
        if day.turns:
            key = tuple((turn.block, turn.start_min, turn.end_min) for turn in day.turns)
            found.setdefault(key, (day.turns, []))[1].append(k)
    return list(found.values())


def _spans(sheet: WallSheet, places: Sequence[int]) -> str:
    """Days by their short names: Mon-Wed,Fri."""
    runs: list[list[int]] = [[places[0]]]
    for before, now in pairwise(places):
        if now == before + 1:
            runs[-1].append(now)
        else:
            runs.append([now])
    names = [_said(sheet, f"sms_day_{day.day.isoweekday()}") for day in sheet.days]
    return ",".join(
        f"{names[run[0]]}-{names[run[-1]]}" if len(run) >= SPAN else ",".join(names[k] for k in run)
        for run in runs
    )


def _with_ends(sheet: WallSheet, days: str, turns: Sequence[Turn]) -> str:
    written = (
        f"{sheet.blocks[turn.block].letter} {clock(turn.start_min)}-{clock(turn.end_min)}" for turn in turns
    )
    return _said(sheet, "sms_turns", days=days, turns=" ".join(written))


def _starts(sheet: WallSheet, days: str, turns: Sequence[Turn]) -> str:
    letters = " ".join(_letters(sheet, turns))
    return _said(sheet, "sms_starts", days=days, start=clock(turns[0].start_min), blocks=letters)


def _order(sheet: WallSheet, days: str, turns: Sequence[Turn]) -> str:
    """The same without a word between; letters stand side by side where each is one."""
    letters = _letters(sheet, turns)
    between = "" if all(len(letter) == 1 for letter in letters) else " "
    return _said(sheet, "sms_order", days=days, start=clock(turns[0].start_min), blocks=between.join(letters))


def _letters(sheet: WallSheet, turns: Sequence[Turn]) -> list[str]:
    return [sheet.blocks[turn.block].letter for turn in turns]


def aloud(sheet: WallSheet) -> str:
    """Return the week as a text to read at a meeting or on the radio, a sentence a line."""
    return "\n".join(_lines(sheet))


def _lines(sheet: WallSheet) -> Iterable[str]:
    first, last = (short_day(day) for day in (sheet.days[0].day, sheet.last_day))
    if sheet.is_draft:
        yield _said(sheet, "aloud_draft")
        yield say("wall_sheet.aloud_draft")
    yield _said(sheet, "aloud_open", site=plain(sheet.site_name), first=first, last=last)
    for turns, days in _alike(sheet.days):
        names = ", ".join(_day_name(sheet, sheet.days[k]) for k in days)
        yield _said(sheet, "aloud_day", day=names, turns=", ".join(_turn(sheet, turn) for turn in turns))
    resting = ", ".join(_day_name(sheet, day) for day in sheet.days if not day.turns)
    if resting:
        yield _said(sheet, "aloud_rest", day=resting)
    yield from _lacks(sheet)
    yield _said(sheet, "aloud_tick")
    yield _said(sheet, "aloud_pictures")
    yield from (say(f"wall_sheet.{key}") for key in CARE)


def _day_name(sheet: WallSheet, day: SheetDay) -> str:
    return _said(sheet, f"day_{day.day.isoweekday()}")


def _turn(sheet: WallSheet, turn: Turn) -> str:
    start, end = clock(turn.start_min), clock(turn.end_min)
    return _said(sheet, "aloud_turn", block=sheet.blocks[turn.block].letter, start=start, end=end)


def _lacks(sheet: WallSheet) -> Iterable[str]:
    if sheet.short:
        yield _said(sheet, "aloud_short", blocks=", ".join(sheet.short))
    without = [letter for letter in sheet.without_turn if letter not in sheet.short]
    if without:
        yield _said(sheet, "aloud_no_turn", blocks=", ".join(without))
    if sheet.unknown_need:
        yield _said(sheet, "aloud_unknown", blocks=", ".join(sheet.unknown_need))
