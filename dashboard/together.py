"""The figures of several sites as one, each with what it rests on; and what was promised of them."""

from datetime import date
from html import escape
from typing import Any

from dashboard.numbers import figure as shown
from dashboard.numbers import share, unit
from pipeline.measures.bases import BASES
from pipeline.measures.indicators import BY_NAME
from pipeline.words import say

Rows = list[dict[str, Any]]

GROUNDED = (
    "water_m3",
    "need_m3",
    "relative_irrigation_supply",
    "energy_kwh_per_m3",
)  # with what each rests on
FIRST = (*GROUNDED, "uptime", "om_cost_per_ha")


def figures(figure: dict[str, Any], currency: str) -> str:
    """Return the first figures of a group on one line, each with the share of the time that is known."""
    cells = "".join(_cell(name, figure, currency) for name in FIRST)
    return f'<dl class="together">{cells}</dl>'


def _cell(name: str, figure: dict[str, Any], currency: str) -> str:
    of, value = BY_NAME[name], figure[name]
    behind = "" if value is None else unit(of, currency)
    return (
        f'<div data-together="{name}"><dt>{escape(say(f"dashboard.figure_{name}"))}</dt>'
        f"<dd><b>{escape(shown(value, of))}</b> {escape(behind)}<small>{escape(_ground(name, figure))}</small></dd></div>"
    )


def _ground(name: str, figure: dict[str, Any]) -> str:
    """What a figure rests on."""
    if name in GROUNDED:
        known = figure[BASES[name].rests_on]
        return say("dashboard.of_known", share=share(known)) if known else ""
    if name == "uptime" and figure["uptime_low"] is not None:
        return say(
            "dashboard.between_shares", low=share(figure["uptime_low"]), high=share(figure["uptime_high"])
        )
    return ""


def promises(targets: Rows, period: tuple[date, date], currency: str) -> str:
    """Return what was promised, beside the figure of the period; an agreement without targets says so."""
    if not targets:
        return f'<p class="quiet">{escape(say("dashboard.no_promises"))}</p>'
    heads = [say(f"dashboard.promise_{name}") for name in ("figure", "baseline", "target", "due")]
    heads.append(say("dashboard.promise_now", start=period[0], end=period[1]))
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    rows = "".join(_promise(target, currency) for target in targets)
    return f'<div class="scroll"><table class="figures"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>'


def _promise(target: dict[str, Any], currency: str) -> str:
    of = BY_NAME.get(target["indicator"])
    if of is None:  # the field may promise what nobody measures
        cells = [
            target["indicator"],
            "",
            str(target["target"]),
            str(target["due_on"]),
            say("dashboard.no_such_figure"),
        ]
    else:
        told = [
            f"{shown(target[name], of)} {unit(of, currency)}".strip()
            for name in ("baseline", "target", "now")
        ]
        label = say(f"dashboard.figure_{of.name}")
        cells = [
            label,
            told[0] if target["baseline"] is not None else "",
            told[1],
            str(target["due_on"]),
            told[2],
        ]
    return "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in cells) + "</tr>"
