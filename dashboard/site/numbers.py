"""What a site's charts draw, as numbers: for who reads no chart, and for who wants them exact."""

from collections.abc import Sequence
from datetime import date
from html import escape
from typing import Any

from dashboard.charts.season import crop_label, stage_label
from dashboard.numbers import figure as shown
from pipeline.measures.indicators import BY_NAME
from pipeline.words import say

Rows = list[dict[str, Any]]

WEEK_FIGURES = ("water_m3", "water_coverage", "need_m3", "need_coverage", "relative_irrigation_supply")
ENERGY_FIGURES = ("energy_kwh_per_m3", "lift_efficiency", "energy_coverage", "water_coverage")
UPTIME_FIGURES = ("uptime", "uptime_low", "uptime_high", "uptime_unknown")


def weeks_table(weeks: Rows) -> str:
    """Return the weeks, folded."""
    return _folded("weeks", _table(weeks, "week_from", "week_to", WEEK_FIGURES))


def energy_table(months: Rows) -> str:
    """Return the months' energy per m³ and lift efficiency, folded."""
    return _folded("energy", _table(months, "from_day", "to_day", ENERGY_FIGURES))


def season_tables(months: Rows, stages: Rows) -> str:
    """Return the months' uptime and the plantings' stages, folded."""
    return _folded("uptime", _table(months, "from_day", "to_day", UPTIME_FIGURES) + _stages(stages))


def _folded(name: str, tables: str) -> str:
    title = say("site_page.as_numbers")
    return (
        f'<details class="numbers" data-numbers="{name}"><summary>{escape(title)}</summary>{tables}</details>'
    )


def _table(rows: Rows, start: str, end: str, names: Sequence[str]) -> str:
    heads = _head([say("site_page.from_to"), *(_title(name) for name in names)])
    body = "".join(
        f'<tr data-from="{row[start]}" data-to="{row[end]}"><td>{_days(row[start], row[end])}</td>'
        + "".join(_cell(row[name], name) for name in names)
        + "</tr>"
        for row in rows
    )
    return f'<div class="scroll"><table class="figures">{heads}<tbody>{body}</tbody></table></div>'


def _title(name: str) -> str:
    if name == "need_coverage":
        return say("site_page.need_coverage")
    of = BY_NAME[name]
    unit = "" if of.unit == "–" else f", {of.unit}"
    return say(f"dashboard.figure_{name}") + unit


def _cell(value: float | None, name: str) -> str:
    of = BY_NAME["water_coverage" if name == "need_coverage" else name]
    quiet = " quiet" if value is None else ""
    return f'<td class="number{quiet}" data-of="{name}">{escape(shown(value, of))}</td>'


def _days(start: date, end: date | None) -> str:
    return escape(say("site_page.days", start=start, end=end or say("site_page.end_unknown")))


def _stages(stages: Rows) -> str:
    if not stages:
        return ""
    heads = _head(
        [say("site_page.block_id"), say("site_page.crop"), say("site_page.stage"), say("site_page.from_to")]
    )
    body = "".join(
        "<tr>"
        + "".join(f"<td>{escape(text)}</td>" for text in (row["block_id"], crop_label(row), stage_label(row)))
        + f"<td>{_days(row['from_day'], row['to_day'])}</td></tr>"
        for row in stages
    )  # fmt: skip
    return f'<div class="scroll"><table class="figures">{heads}<tbody>{body}</tbody></table></div>'


def _head(titles: Sequence[str]) -> str:
    return "<thead><tr>" + "".join(f'<th scope="col">{escape(t)}</th>' for t in titles) + "</tr></thead>"
