"""The figures of several sites as one, each with what it rests on; and what was promised of them."""

from collections.abc import Mapping
from datetime import date
from html import escape
from typing import Any

from dashboard.links import link
from dashboard.numbers import figure as shown
from dashboard.numbers import share, unit
from pipeline.config import Settings
from pipeline.measures.bases import BASES
from pipeline.measures.defended import DEFENDED, Ground
from pipeline.measures.indicators import BY_NAME, Indicator
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]

GROUNDED = (
    "water_m3",
    "need_m3",
    "relative_irrigation_supply",
    "water_m3_per_ha",
    "energy_kwh_per_m3",
)  # with what each rests on
FIRST = (*GROUNDED, "uptime", "om_cost_per_ha")
MOST_SITES = 6  # named beside a promise that they hold up


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


def promises(targets: Rows, period: tuple[date, date], settings: Settings, names: Mapping[str, str]) -> str:
    """Return what was promised, beside the figure of the period, and how far that can be defended.

    Parameters
    ----------
    targets
        As `data.promises` has them; an agreement without any says so.
    period
        First and last day.
    settings
        currency and judged_coverage of the programme.
    names
        Of sites, by id.
    """
    if not targets:
        return f'<p class="quiet">{escape(say("dashboard.no_promises"))}</p>'
    heads = [say(f"dashboard.promise_{name}") for name in ("figure", "baseline", "target", "due")]
    heads.append(say("dashboard.promise_now", start=period[0], end=period[1]))
    heads.append(say("dashboard.promise_defended"))
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    rows = "".join(_promise(target, heads, period, settings, names) for target in targets)
    return (
        f'<p class="promised">{escape(_defended_in_all(targets))}</p>'
        f'<div class="scroll"><table class="figures promises labelled"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>'
    )


def _defended_in_all(targets: Rows) -> str:
    """How many of the promises can be defended, and which can't yet."""
    open_ones = [_title(t["indicator"]) for t in targets if t["ground"].verdict not in DEFENDED]
    defended, listed = len(targets) - len(open_ones), ", ".join(open_ones)
    if not open_ones:
        return say_n("dashboard.promises_all", defended)
    if not defended:
        return say("dashboard.promises_none", names=listed)
    return say_n("dashboard.promises_some", defended, of=len(targets), names=listed)


def _title(name: str) -> str:
    """A figure's words; the field may promise what nobody measures."""
    return say(f"dashboard.figure_{name}") if name in BY_NAME else name


def _promise(
    target: dict[str, Any],
    heads: list[str],
    period: tuple[date, date],
    settings: Settings,
    names: Mapping[str, str],
) -> str:
    name = target["indicator"]
    of = BY_NAME.get(name)
    title = escape(name)
    if of is not None:
        title = link("figures", _title(name), figure=name, **{"from": period[0], "to": period[1]})
    cells = [title, *(escape(_told(target[n], of, settings)) for n in ("baseline", "target"))]
    cells.append(escape(str(target["due_on"])))
    cells.append("" if of is None else escape(_told(target["now"], of, settings, say("dashboard.unknown"))))
    cells.append(_defended(target, settings) + _lacks(target["lacks"], names))
    drawn = (f'<td data-head="{escape(head)}">{cell}</td>' for head, cell in zip(heads, cells, strict=True))
    return f"<tr>{''.join(drawn)}</tr>"


def _told(value: float | None, of: Indicator | None, settings: Settings, nothing: str = "") -> str:
    if value is None:
        return nothing
    return str(value) if of is None else f"{shown(value, of)} {unit(of, settings.currency)}".strip()


def _defended(target: dict[str, Any], settings: Settings) -> str:
    """Whether the figure can be defended, and why."""
    ground: Ground = target["ground"]
    shares = {name: share(target[name]) for name in ("low", "high")}
    text = say(
        f"dashboard.defended_{ground.verdict}", known=share(ground.known), least=share(settings.judged_coverage), **shares
    )  # fmt: skip
    return f"<b>{escape(text)}</b>" if ground.verdict not in DEFENDED else escape(text)


def _lacks(lacks: Mapping[str, list[str]], names: Mapping[str, str]) -> str:
    """Which sheets of which sites would make a promise that can't be defended yet better known."""
    lines = [say(f"dashboard.lacks_{kind}", sites="\0").split("\0") for kind in lacks]
    told = [
        f"<br>{escape(before)}{_sites(sites, names)}{escape(after)}"
        for (before, after), sites in zip(lines, lacks.values(), strict=True)
    ]
    return f"<small>{escape(say('dashboard.lacks'))}{''.join(told)}</small>" if told else ""


def _sites(sites: list[str], names: Mapping[str, str]) -> str:
    """The first of some sites as links to their pages, and how many more they are."""
    ways = [link("site", names.get(site) or site, site=site) for site in sites[:MOST_SITES]]
    left = len(sites) - MOST_SITES
    return ", ".join([*ways, *([escape(say_n("dashboard.lacks_more", left))] if left > 0 else [])])
