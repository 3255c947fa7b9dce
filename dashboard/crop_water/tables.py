"""The plantings and their weeks as tables: for who wants the numbers, and for who reads no chart."""

from collections.abc import Callable, Mapping, Sequence
from html import escape
from typing import Any

from dashboard.charts.fields import Field
from dashboard.charts.root_zone import depth, depths
from dashboard.crop_water.answer import between, shares, stress
from dashboard.numbers import number, share
from dashboard.records.table import Cell, Made, table
from pipeline.config import Settings
from pipeline.measures.planting_water import verdict
from pipeline.words import say

Rows = list[dict[str, Any]]

HEADS = ("planting", "verdict", "water", "need", "stress", "lost", "yield", "ground")
WEEK_HEADS = ("week", "crop", "rain", "irrigation", "missing", "ready", "all", "stress")
MM_DECIMALS, M3_DECIMALS = 0, 0
ORDERS: Mapping[str, Callable[[dict[str, Any]], Any]] = {  # None stands last
    "block": lambda p: (p["block_id"], p["planted_on"], p["crop"]),
    "crop": lambda p: (p["crop"], p["planted_on"], p["block_id"]),
    "planted": lambda p: (p["planted_on"], p["block_id"], p["crop"]),
    "stress": lambda p: (-p["stress_days_least"], -p["stress_days_most"]),
    "yield": lambda p: None if p["yield_loss_most"] is None else (-p["yield_loss_most"],),
    "lost": lambda p: None if p["percolation_least_m3"] is None else (-p["percolation_least_m3"],),
    "known": lambda p: (p["irrigation_days"] / p["days"],),
}


def ordered(plantings: Rows, by: str) -> Rows:
    """Return plantings in one of `ORDERS`; what is unknown stands last."""
    keyed = [(ORDERS[by](planting), planting) for planting in plantings]
    known = sorted((pair for pair in keyed if pair[0] is not None), key=lambda pair: pair[0])
    return [planting for _, planting in known] + [planting for key, planting in keyed if key is None]


def plantings_table(plantings: Rows, settings: Settings) -> str:
    """Return the plantings with what they got, lacked, lost and are thought to have lost."""
    heads = [say(f"crop_water_page.head_{name}") for name in HEADS]
    return table(heads, [_planting(planting, settings) for planting in plantings], times=0)


def _planting(row: dict[str, Any], settings: Settings) -> list[Cell]:
    return [
        (row["crop"], say("crop_water_page.block", block=row["block_id"]), _days(row)),
        _verdict(row, settings),
        (
            say("crop_water_page.got_irrigation", depth=_mm(row["irrigation_mm"]), n=row["irrigation_days"]),
            say("crop_water_page.got_rain", depth=_mm(row["rain_mm"]), n=row["rain_days"]),
        ),
        (_mm(row["etc_mm"]), _of_days(row["need_days"], row["days"])),
        (say("crop_water_page.n_days", days=stress(row)), say("crop_water_page.of_days", days=row["days"])),
        _lost(row),
        _yield(row),
        _ground(row),
    ]


def _verdict(row: dict[str, Any], settings: Settings) -> Cell:
    """Whether it lacked water; on shared water all but silence hangs on how farmers shared it."""
    found = verdict(row, settings.judged_coverage)
    hangs = shares(row) and found != "unseen"
    return (say(f"crop_water_page.verdict_{found}"), say("crop_water_page.evenly") if hangs else "")


def _days(row: dict[str, Any]) -> str:
    planted = say("crop_water_page.days", start=row["from_day"], end=row["to_day"])
    whole = f'<span class="days">{escape(planted)}</span>'  # a day is never broken
    if row["from_day"] == row["planted_on"]:
        return Made(whole)
    return Made(f"{whole} {escape(say('crop_water_page.planted_before', day=row['planted_on']))}")


def _of_days(known: int, days: int) -> str:
    """For how many of the days a sum is known; nothing where for all."""
    return "" if known == days else say("crop_water_page.known_days", known=known, days=days)


def _mm(value: float | None) -> str:
    text = number(value, MM_DECIMALS)
    return text if value is None else say("crop_water_page.mm", value=text)


def _lost(row: dict[str, Any]) -> Cell:
    """What ran through below the roots: in mm, and over the planting's area in m³."""
    return tuple(
        say(
            f"crop_water_page.{unit}",
            value=_from_to(row[f"percolation_least_{unit}"], row[f"percolation_most_{unit}"], decimals),
        )
        for unit, decimals in (("mm", MM_DECIMALS), ("m3", M3_DECIMALS))
    )


def _from_to(least: float | None, most: float | None, decimals: int) -> str:
    """From least to most; where there is no most, what it is at least."""
    if most is None:
        return say("crop_water_page.at_least", least=number(least, decimals))
    return between(number(least, decimals), number(most, decimals))


def _yield(row: dict[str, Any]) -> Cell:
    least, most = (row[f"yield_loss_{bound}"] for bound in ("least", "most"))
    if least is None or most is None:
        why = "no_response" if row["yield_response"] is None else "no_need"
        return (say("dashboard.unknown"), say(f"crop_water_page.{why}"))
    return (between(share(least), share(most)), _of_days(row["need_days"], row["days"]))


def _ground(row: dict[str, Any]) -> Cell:
    known = share(row["irrigation_days"] / row["days"])
    whose = "told" if row["soil_told"] else "default"
    soil = say(f"measures.soil_{row['soil']}")
    return (
        say("crop_water_page.known_irrigation", share=known),
        say(f"crop_water_page.soil_is_{whose}", soil=soil),
        _stages(row),
        say("crop_water_page.shared_by", n=row["blocks_on_water"]) if shares(row) else "",
    )  # fmt: skip


def _stages(row: dict[str, Any]) -> str:
    """By which values the crop goes: a programme may have its own, or another row of the table."""
    if row["stages_of"] is None:
        return say("crop_water_page.stages_own")
    return say("crop_water_page.stages_of", row=row["stages_of"])


def without_list(without: Rows) -> str:
    """Return the plantings that nobody can follow, each with what is missing and how to mend it."""
    lines = "".join(f"<li>{escape(_without(row))}</li>" for row in without)
    return f"<ul>{lines}</ul>"


def _without(row: dict[str, Any]) -> str:
    named = say("crop_water_page.which", crop=row["crop"], block=row["block_id"], day=row["planted_on"])
    why = row["why"]
    return f"{named} {say(f'crop_water_page.mend_{why}', crop=row['crop'])}"


def weeks_table(field: Field) -> str:
    """Return a field's weeks, folded."""
    heads = "".join(
        f'<th scope="col">{escape(say(f"crop_water_page.head_{name}"))}</th>' for name in WEEK_HEADS
    )
    body = "".join(
        f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in _week(week))}</tr>"
        for group in field.groups
        for week in group.weeks
    )
    return (
        f'<details class="numbers" data-numbers="root_zone"><summary>{escape(say("crop_water_page.as_numbers"))}</summary>'
        f'<div class="scroll"><table class="figures wide"><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table></div></details>'
    )


def _week(week: dict[str, Any]) -> Sequence[str]:
    return (
        say("crop_water_page.days", start=week["week_from"], end=week["week_to"]),
        week["crop"],
        _sum(week, "rain"),
        _sum(week, "irrigation"),
        depths(week),
        depth(week["raw_mm"]),
        depth(week["taw_mm"]),
        stress(week),
    )


def _sum(week: dict[str, Any], name: str) -> str:
    """A week's sum, and for how many days it is known where not for all."""
    known = _of_days(week[f"{name}_days"], week["days"])
    return f"{depth(week[f'{name}_mm'])} {f'({known})' if known else ''}".rstrip()


def plantings_rows(plantings: Rows, without: Rows, settings: Settings) -> Rows:
    """Return every planting for a file: what can be said of it, and of those without a balance what is missing."""
    judged = [
        {"verdict": verdict(planting, settings.judged_coverage), "why": None} | planting
        for planting in plantings
    ]
    names = list(judged[0]) if judged else ["verdict", "why", *KEY]
    bare = [
        dict.fromkeys(names) | {"verdict": "unseen", "why": row["why"]} | {name: row[name] for name in KEY}
        for row in without
    ]
    return judged + bare


KEY = ("site_id", "block_id", "crop", "planted_on")


def days_rows(days: Rows) -> Rows:
    """Return the groups' days for a file, their blocks as one text."""
    return [day | {"blocks": "; ".join(day["blocks"])} for day in days]
