"""A row's cells in words and units: what stands on record, and unknown where nothing does."""

from datetime import date
from html import escape
from typing import Any

from dashboard.numbers import exact, number
from dashboard.records.table import Cell, Made, telephone
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


def _unknown(value: object) -> str:
    return say("dashboard.unknown") if value is None else str(value)


def open_job(row: Row) -> list[Cell]:
    """Return when it was reported and its id, its age, what it waits for, the water, the component and the technician."""
    return [
        [row["reported_at"], row["record_id"]],
        [say_n("site_records.days", row["age_days"])],
        [_waits(row["waits_for"]), *_if("arrived", row["arrived_at"]), *_if("restored", row["restored_at"])],
        [_water(row["water_stopped"]), *_seen(row["water_seen_on"])],
        [_unknown(row["component"]), say(f"dashboard.kind_{row['kind']}"), row["cause"] or ""],
        [_unknown(row["technician"])],
    ]


def _if(name: str, value: object) -> list[str]:
    return [] if value is None else [say(f"site_records.{name}_at", value=value)]


def _waits(standing: str) -> str:
    return say("week_page.waits_closed") if standing == "closed" else _standing(standing)


def _seen(day: date | None) -> list[str]:
    return [] if day is None else [say("site_records.water_seen", day=day)]


def _standing(status: str | None) -> str:
    return say(f"site_records.standing_{status or 'unsaid'}")


def _water(stopped: str | None) -> str:
    return say(f"site_records.water_{stopped or 'unsaid'}")


def contact(row: Row) -> list[Cell]:
    """Return whom to call, how, in which language, and whether the person agreed to be on file."""
    agreed = row["consent_on"]
    return [
        [row["name"], row["role"]],
        [telephone(row["phone"]) or say("dashboard.unknown")],
        [_unknown(row["language"])],
        [say("site_records.no_consent") if agreed is None else str(agreed)],
    ]


def call(row: Row) -> list[Cell]:
    """Return when, what was said and what follows."""
    return [[row["called_at"]], [_unknown(row["answer"])], [row["next_step"] or ""]]


def alarm(row: Row) -> list[Cell]:
    """Return from when to when, and its kind."""
    cleared = row["cleared_at"] or say("site_records.not_cleared")
    return [[row["raised_at"]], [cleared], [say(f"site_records.alarm_{row['kind']}")]]


def visit(row: Row) -> list[Cell]:
    """Return when a crew came and left, what it found and whether it was mended."""
    return [
        [row["arrived_at"]],
        [_unknown(row["left_at"])],
        [_unknown(row["cause_found"]), say("site_records.crew", crew=row["crew_id"])],
        [say(f"site_records.mended_{row['mended'] or 'unsaid'}")],
        [row["next_step"] or ""],
    ]


def survey(row: Row) -> list[Cell]:
    """Return the day, what was measured with units, conditions in words, and what was seen."""
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
        [str(row["surveyed_on"]), row["survey_id"], row["surveyor"] or ""],
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


def job(row: Row, currency: str) -> list[Cell]:
    """Return a job's times, how long it was without water, what was done, with which parts and at what cost."""
    cost = say("dashboard.unknown") if row["cost"] is None else f"{exact(row['cost'])} {currency}"
    parts = (row["parts_used"] or "").split(";")
    return [
        [row["reported_at"], row["record_id"], *_if("arrived", row["arrived_at"])],
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


def training(row: Row) -> list[Cell]:
    """Return the day, the topic and who came; an unknown count is no 0."""
    told = {name: _unknown(row[name]) for name in ("women", "men", "youth")}
    return [[str(row["held_on"])], [row["topic"]], [say("site_records.attended", **told)]]


def component(row: Row, last: date) -> list[Cell]:
    """Return when it was installed, what it is, until when it is under warranty, and when it was taken out."""
    until = row["warranty_until"]
    over = say("site_records.warranty_over", day=last) if until and until < last else ""
    return [
        [str(row["installed_on"])],
        [row["component"], row["serial"] or "", row["supplier"] or ""],
        [_unknown(until), over],
        [str(row["removed_on"] or "")],
    ]


def meter(row: Row) -> list[Cell]:
    """Return a meter's id, what it counts, its digits, and when it was installed and taken out."""
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


def interval(row: Row) -> list[Cell]:
    """Return an interval of a meter, or a stretch of the log, as the evidence has it."""
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


def note(row: Row) -> list[Cell]:
    """Return when, what, why and who."""
    return [[row["decided_at"]], [row["what"]], [row["why"] or ""], [_unknown(row["who"])]]
