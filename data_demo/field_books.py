"""The field book of each month, and the sheets of plantings and harvests."""

from collections.abc import Iterable
from datetime import date

from data_demo import diary, mistakes, people, places, registers, survey_sheets
from data_demo.arrivals import delivery_of
from data_demo.chunks import Chunk
from data_demo.paper import Paper, Row
from pipeline.tables import TABLES

Dated = Iterable[tuple[int, Row]]
BY_HAND = ("calls", "trainings", "surveys")  # where a site's name may stand for its id


def write_field_books(paper: Paper, chunk: Chunk) -> None:
    """Write what was noted in each month, as it stood at the month's end."""
    for arrived, sheets in sorted(_by_month(_noted(chunk), chunk).items()):
        month = f"{arrived:%Y_%m}{chunk.tag}"
        for name in ("plantings", "harvests"):
            if name in sheets:
                paper.semicolon(arrived, f"{name}_{month}.csv", sheets.pop(name))
        book = f"field_book_{month}.xlsx"
        for name in BY_HAND:
            paper.note_all(arrived, book, _names_for_ids(sheets.get(name, [])), table=name)
        paper.note_all(arrived, book, _words_for_numbers(sheets.get("surveys", [])), table="surveys")
        if sheets:
            paper.book(arrived, book, sheets, title="Field book of the month")


def _noted(chunk: Chunk) -> dict[str, Dated]:
    s, seed, number, first = chunk.sites, chunk.seed, chunk.number, chunk.first_day
    return {
        "maintenance": chunk.jobs,
        "visit_outcomes": diary.visit_outcomes(chunk.jobs),
        "surveys": survey_sheets.surveys(seed, number, s, chunk.outcome, first),
        "alarms": diary.alarms(seed, number, s, chunk.outcome, first),
        "pauses": diary.pauses(s, first),
        "trainings": diary.trainings(seed, number, s, chunk.days, first),
        "calls": diary.calls(seed, number, s, chunk.outcome, first),
        "harvests": diary.harvests(seed, number, s, chunk.plantings, chunk.outcome, first),
        "plantings": registers.planting_rows(s, chunk.plantings, first, chunk.days),
    }


def _by_month(noted: dict[str, Dated], chunk: Chunk) -> dict[date, dict[str, list[Row]]]:
    """The rows of each table by their day of arrival: people keep one line a key, in its last state."""
    books: dict[date, dict[str, dict[tuple[object, ...], Row]]] = {}
    for name, dated in noted.items():
        for position, row in sorted(dated, key=lambda item: item[0]):
            if position < chunk.days:
                arrived = delivery_of(chunk.day(max(position, 0)))
                key = tuple(row[column] for column in TABLES[name].key)
                books.setdefault(arrived, {}).setdefault(name, {})[key] = row
    return {
        arrived: {name: list(keyed.values()) for name, keyed in sheets.items()}
        for arrived, sheets in books.items()
    }


def _words_for_numbers(rows: list[Row]) -> list[mistakes.Mistake]:
    """Where the gauge was broken, some write what they believe."""
    made: list[mistakes.Mistake] = []
    for i, row in enumerate(rows):
        if i % 11 == 7 and row["measured_flow_m3h"] is not None:
            row["measured_flow_m3h"] = f"about {row['measured_flow_m3h']:.0f}"
            made.append(("words_for_number", row["survey_id"]))
    return made


def _names_for_ids(rows: list[Row]) -> list[mistakes.Mistake]:
    """People write a site's name, or its name on the old list, where an id is meant."""
    made: list[mistakes.Mistake] = []
    for i, row in enumerate(rows):
        site_id = row["site_id"]
        number = int(row["site_id"][1:]) - 1
        if i % 9 == 4:
            row["site_id"] = f" {places.village(number).upper()} "
        elif i % 13 == 6:
            row["site_id"] = people.alias(number)
        if row["site_id"] != site_id:
            made.append(("name_for_id", site_id))
        if str(row.get("notes") or "").startswith(("<", "=")):
            made.append(("formula_or_script", site_id))
    return made
