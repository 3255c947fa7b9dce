"""Readings by month: by hand once a week, a sheet a district; by modem every evening, a file for all."""

from collections.abc import Iterator
from datetime import date, datetime, time

import numpy as np

from data_demo import mistakes, places
from data_demo.arrivals import LAST_DAY, delivery_of
from data_demo.chunks import Chunk
from data_demo.instruments import Counter
from data_demo.paper import Paper, Row
from data_demo.streams import stream

MODEM = "modem"


def write_readings(paper: Paper, chunk: Chunk) -> None:
    """Write a chunk's readings."""
    draw = stream(chunk.seed, "readings", chunk.number)
    sheets: dict[tuple[date, str], list[Row]] = {}
    for counter in chunk.meters:
        where = MODEM if counter.daily else places.DISTRICTS[chunk.sites.district[counter.site]].lower()
        for row in _readings(draw, counter, chunk):
            sheets.setdefault((delivery_of(row["read_at"].date()), where), []).append(row)
    whole_m3 = {c.meter_id for c in chunk.meters if c.quantity == "water" and c.unit == "m3"}
    for (arrived, where), rows in sorted(sheets.items(), key=lambda item: item[0]):
        name = f"meter_readings_{where}_{arrived:%Y_%m}{chunk.tag}"
        if where == MODEM:
            paper.comma(arrived, f"{name}.csv", rows)
        else:
            _write_by_hand(paper, draw, arrived, name, rows, whole_m3)


def _readings(draw: np.random.Generator, c: Counter, chunk: Chunk) -> Iterator[Row]:
    """What stood on a counter, at local times; by hand on one day of the week, when somebody came."""
    begin = max(c.installed, int(chunk.sites.commissioned[c.site]), 0)
    end = min(c.removed if c.removed >= 0 else chunk.days - 1, int(chunk.sites.closed[c.site]) - 1)
    weekday = int(draw.integers(0, 7))
    for day in range(begin, end + 1):
        if c.daily:
            yield _reading(c, datetime.combine(chunk.day(day), time(18)), c.shown(day), "remote", "")
        elif ((day - begin) % 7 == weekday or day in (begin, end)) and draw.random() >= 0.06:
            hour = time(7 + int(draw.integers(0, 2)), int(draw.integers(0, 4)) * 15)
            moment = datetime.combine(chunk.day(day), hour)
            yield _reading(c, moment, c.shown(day - 1), "manual", places.person(c.site))


def _reading(c: Counter, read_at: datetime, value: int, origin: str, reader: str) -> Row:
    return {"meter_id": c.meter_id, "read_at": read_at, "value": value, "origin": origin, "reader": reader}


def _write_by_hand(
    paper: Paper, draw: np.random.Generator, day: date, name: str, rows: list[Row], whole_m3: set[str]
) -> None:
    """A month's sheet as somebody typed it, with the mistakes of typing."""
    chance, later = draw.random(), delivery_of(day)
    fate = mistakes.fate_of(chance, is_last=day >= delivery_of(LAST_DAY))
    made: list[mistakes.Mistake] = []
    if fate.tenfold:
        rows, made = mistakes.red_decimals(rows, whole_m3)
    rows, slips = mistakes.mistyped(draw, rows, whole_m3)
    if fate.late:
        paper.comma(later, f"{name}_late.csv", rows)
        paper.note_all(later, f"{name}_late.csv", [*made, *slips, ("late", name)])
        return
    if fate.corrected or fate.day_first:
        paper.comma(later, f"{name}_corrected.csv", rows)
        paper.note_all(later, f"{name}_corrected.csv", [*made, *slips])
    if fate.corrected:
        made.append(("corrected_later", str(rows[-1]["meter_id"])))
        rows = mistakes.wrong_last_value(rows)
    if fate.day_first:
        made.append(("day_first", name))
        rows = mistakes.dates_day_first(rows)
    file = _write_sheet(paper, day, name, rows, chance)
    paper.note_all(day, file, [*made, *slips])
    if fate.copied:
        paper.copy(day, file, later, f"{name}_copy{file[len(name) :]}")


def _write_sheet(paper: Paper, day: date, name: str, rows: list[Row], chance: float) -> str:
    """Write a sheet in the office's own format and return the file's name."""
    if chance < 0.55:
        title = "Meter book of the district" if chance < 0.25 else ""
        paper.comma(day, f"{name}.csv", rows, mark=chance < 0.3, title=title)
    elif chance < 0.8:
        paper.semicolon(day, f"{name}.csv", rows)
    else:
        paper.book(day, f"{name}.xlsx", {"meter_readings": rows}, title="Meter book")
        return f"{name}.xlsx"
    return f"{name}.csv"
