"""The sections of a site's record: which columns each shows, and a row's cells in words and units."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from html import escape
from typing import Any

from dashboard.numbers import exact, number
from dashboard.records_table import Cell, Made, telephone
from pipeline.tables import TABLES
from pipeline.words import say, say_n

Row = dict[str, Any]

SURVEYED = TABLES["surveys"].by_name
MEASURED = tuple(name for name, column in SURVEYED.items() if column.unit)
CONDITIONS = tuple(name for name in SURVEYED if name.endswith("_condition"))
VERDICTS = (
    "ordinary", "rollover", "reset", "impossible", "ten_times", "litres_as_m3", "transposed", "digit_missing",
    "misread", "clock_off", "outside_service", "stuck", "dead", "frozen", "silent",
)  # fmt: skip
AMOUNT = {"water": "m³", "energy": "kWh"}
UNITS = {None: "", "m3": "m³", "l": "l", "kWh": "kWh", "MWh": "MWh"}
LOCAL_MINUTE = len("2026-10-31 07:00")  # without the offset


@dataclass(frozen=True)
class Section:
    """One kind of record: its columns' words, and a row's cells under them."""

    name: str
    heads: tuple[str, ...]
    cells: Callable[[Row], list[Cell]]
    fills: str  # the table that brings its rows
    times: int = 1
    leaves: bool = True  # whether it can be had as a file


def sections(currency: str, last: date) -> tuple[Section, ...]:
    """Return the sections in the order of the page.

    Parameters
    ----------
    currency
        Of costs.
    last
        The day by which a warranty is over or not.
    """

    def job(row: Row) -> list[Cell]:
        return _job(row, currency)

    def part(row: Row) -> list[Cell]:
        return _component(row, last)

    return (
        Section("open_jobs", ("reported", "age", "waits_for", "water", "component", "technician"), _open_job, "maintenance"),
        Section("contacts", ("person", "telephone", "language", "consent"), _contact, "contacts", 0, leaves=False),
        Section("calls", ("time", "answer", "next_step"), _call, "calls"),
        Section("alarms", ("raised", "cleared", "kind"), _alarm, "alarms", 2),
        Section("visits", ("arrived", "left", "found", "mended", "next_step"), _visit, "visit_outcomes", 2),
        Section("surveys", ("day", "measured", "conditions", "seen"), _survey, "surveys"),
        Section("maintenance", ("reported", "restored", "to_water", "job", "done", "parts", "cost"), job, "maintenance", 2),
        Section("trainings", ("day", "topic", "attended"), _training, "trainings"),
        Section("components", ("installed", "component", "warranty", "taken_out"), part, "components"),
        Section("meters", ("meter", "counts", "register", "installed", "taken_out"), _meter, "meters", 0),
        Section("intervals", ("from", "until", "meter", "counted", "verdict", "readings"), _interval, "meter_readings", 2),
        Section("notes", ("time", "what", "reason", "who"), _note, "decisions"),
    )  # fmt: skip


def _unknown(value: object) -> str:
    return say("dashboard.unknown") if value is None else str(value)


def _open_job(row: Row) -> list[Cell]:
    return [
        [row["reported_at"]],
        [say_n("site_records.days", row["age_days"])],
        [_standing(row["status"]), *_if("arrived", row["arrived_at"]), *_if("restored", row["restored_at"])],
        [_water(row["water_stopped"])],
        [_unknown(row["component"]), say(f"dashboard.kind_{row['kind']}"), row["cause"] or ""],
        [_unknown(row["technician"])],
    ]


def _if(name: str, value: object) -> list[str]:
    return [] if value is None else [say(f"site_records.{name}_at", value=value)]


def _standing(status: str | None) -> str:
    return say(f"site_records.standing_{status or 'unsaid'}")


def _water(stopped: str | None) -> str:
    return say(f"site_records.water_{stopped or 'unsaid'}")


def _contact(row: Row) -> list[Cell]:
    agreed = row["consent_on"]
    return [
        [row["name"], row["role"]],
        [telephone(row["phone"]) or say("dashboard.unknown")],
        [_unknown(row["language"])],
        [say("site_records.no_consent") if agreed is None else str(agreed)],
    ]


def _call(row: Row) -> list[Cell]:
    return [[row["called_at"]], [_unknown(row["answer"])], [row["next_step"] or ""]]


def _alarm(row: Row) -> list[Cell]:
    cleared = row["cleared_at"] or say("site_records.not_cleared")
    return [[row["raised_at"]], [cleared], [say(f"site_records.alarm_{row['kind']}")]]


def _visit(row: Row) -> list[Cell]:
    return [
        [row["arrived_at"]],
        [_unknown(row["left_at"])],
        [_unknown(row["cause_found"]), say("site_records.crew", crew=row["crew_id"])],
        [say(f"site_records.mended_{row['mended'] or 'unsaid'}")],
        [row["next_step"] or ""],
    ]


def _survey(row: Row) -> list[Cell]:
    measured = [
        say("site_records.value", name=say(f"site_records.measured_{name}"), value=_measured(row[name], name))
        for name in MEASURED
        if row[name] is not None
    ]
    conditions = [
        say(
            "site_records.condition",
            part=say(f"site_records.part_{name.removesuffix('_condition')}"),
            words=say(f"site_records.condition_{row[name]}"),
            mark=row[name],
        )
        for name in CONDITIONS
        if row[name] is not None
    ]
    return [
        [str(row["surveyed_on"]), row["surveyor"] or ""],
        [Made(_listed(measured or [say("site_records.nothing_measured")]))],
        [Made(_listed(conditions or [say("site_records.nothing_judged")]))],
        [_strainer(row["strainer_found"]), _alarm_tried(row["alarm_tested"]), row["notes"] or ""],
    ]


def _listed(lines: list[str]) -> str:
    return "<br>".join(map(escape, lines))


def _measured(value: float | list[float], name: str) -> str:
    """A measured value with its unit; of catch cans, all of them."""
    many = value if isinstance(value, list) else [value]
    return f"{'; '.join(exact(v) for v in many)} {SURVEYED[name].unit}"


def _strainer(found: str | None) -> str:
    return "" if found is None else say("site_records.strainer", found=say(f"site_records.strainer_{found}"))


def _alarm_tried(tried: str | None) -> str:
    return "" if tried is None else say(f"site_records.alarm_tried_{tried}")


def _job(row: Row, currency: str) -> list[Cell]:
    cost = say("dashboard.unknown") if row["cost"] is None else f"{exact(row['cost'])} {currency}"
    parts = (row["parts_used"] or "").split(";")
    return [
        [row["reported_at"], *_if("arrived", row["arrived_at"])],
        [row["restored_at"] or say("dashboard.unknown"), _standing(row["status"])],
        [_to_water(row)],
        [_unknown(row["component"]), say(f"dashboard.kind_{row['kind']}"), row["cause"] or ""],
        [_unknown(row["action"]), row["technician"] or ""],
        [", ".join(parts)],
        [cost],
    ]


def _to_water(row: Row) -> str:
    """How long the site was without water; a job that left it running has no such time."""
    if row["water_stopped"] != "yes":
        return _water(row["water_stopped"])
    if row["report_to_water_days"] is None:
        return say("site_records.no_water_yet")
    return say("site_records.took_days", days=number(row["report_to_water_days"], 2))


def _training(row: Row) -> list[Cell]:
    told = {name: _unknown(row[name]) for name in ("women", "men", "youth")}
    return [[str(row["held_on"])], [row["topic"]], [say("site_records.attended", **told)]]


def _component(row: Row, last: date) -> list[Cell]:
    until = row["warranty_until"]
    over = say("site_records.warranty_over", day=last) if until and until < last else ""
    return [
        [str(row["installed_on"])],
        [row["component"], row["serial"] or "", row["supplier"] or ""],
        [_unknown(until), over],
        [str(row["removed_on"] or "")],
    ]


def _meter(row: Row) -> list[Cell]:
    return [
        [row["meter_id"]],
        [meter_words(row), say(f"site_records.carries_{row['carries']}") if row["carries"] else ""],
        [say("dashboard.unknown") if row["digits"] is None else say_n("site_records.digits", row["digits"])],
        [_unknown(row["installed_on"])],
        [str(row["removed_on"] or "")],
    ]


def meter_words(row: Row) -> str:
    """Return what a meter counts, where, and in which unit."""
    place = (
        say("site_records.at_block", block=row["block_id"])
        if row["block_id"]
        else say("site_records.at_source")
    )
    unit = UNITS[row["unit"]] or AMOUNT[row["quantity"]]
    return say(f"site_records.counts_{row['quantity']}", place=place, unit=unit)


def _interval(row: Row) -> list[Cell]:
    """An interval of a meter, or a stretch of the log, as the evidence has it."""
    start, end = (_minute(row[name]) for name in ("from_at", "to_at"))
    unit = AMOUNT.get(row["quantity"], "")
    amount = "" if not unit else say("site_records.not_counted")
    if row["amount"] is not None:
        amount = f"{exact(row['amount'], 1)} {unit}"
    return [
        [start],
        [end or say("site_records.goes_on")],
        [row["meter_id"]],
        [amount],
        [say(f"site_records.verdict_{row['verdict']}"), row["reason"] or ""],
        _readings(row),
    ]


def _minute(text: str | None) -> str:
    return (text or "")[:LOCAL_MINUTE]


def _readings(row: Row) -> list[str]:
    """The counter at both ends, with the file and line of each."""
    if row["from_value"] is None:
        return []  # a stretch of the log
    steps = say("site_records.steps", start=exact(row["from_value"]), end=exact(row["to_value"]))
    if row["from_file"] and row["from_file"] == row["to_file"]:
        lines = {"file": row["from_file"], "start": row["from_line"], "end": row["to_line"]}
        return [steps, say("site_records.one_file", **lines)]
    places = [
        say("site_records.file_line", file=row[f"{side}_file"], line=row[f"{side}_line"])
        for side in ("from", "to")
        if row[f"{side}_file"]
    ]
    return [steps, *places]


def _note(row: Row) -> list[Cell]:
    return [[row["decided_at"]], [row["what"]], [row["why"] or ""], [_unknown(row["who"])]]
