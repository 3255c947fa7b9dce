"""A field's water day by day: what came, and what was missing under the roots, as wet and as dry as it can have been."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from math import floor, log10
from typing import Any

import plotly.graph_objects as go

from dashboard.charts.fields import Field, Group, Label, labels
from dashboard.charts.legend import FAINT
from dashboard.charts.template import (
    BOTTOM,
    HATCH,
    TOP,
    chart,
    inert,
    middle,
    time_axis,
    unit_above,
    width_ms,
)
from dashboard.look import LIGHT
from dashboard.numbers import number
from pipeline.words import say

Rows = list[dict[str, Any]]
Period = tuple[date, date]

PANELS_PX = {"rain": 34, "irrigation": 46, "missing": 165}  # from above
BETWEEN_PX = 32
PLOT_PX = sum(PANELS_PX.values()) + BETWEEN_PX * (len(PANELS_PX) - 1)
HEIGHT_PX = PLOT_PX + TOP + BOTTOM
NAME_PART = 0.17  # of the axis, below what the roots can reach: the crops' names stand there
DECIMALS = 1


def root_zone(field: Field, period: Period, most_mm: Mapping[str, float]) -> go.Figure:
    """Return the chart: above rain and irrigation, below them the water missing from the root zone, downwards.

    Parameters
    ----------
    field
        Its plantings one after the other.
    period
        First and last day of the axis of time.
    most_mm
        Greatest rain and irrigation of a day that the axes show, so that charts beside each other compare. [mm/d]
    """
    deepest = max(day["taw_mm"] for day in field.days)
    below = [trace for group in field.groups for trace in _missing(group)]
    return chart(
        [*_came(field.days, "rain", "y"), *_came(field.days, "irrigation", "y2"), *below],
        HEIGHT_PX,
        bargap=0,
        hovermode="x",  # a day is a few pixels wide
        xaxis=time_axis(period) | {"anchor": "y3", "nticks": 3},  # of a phone, or of half a screen
        yaxis=_came_axis("rain", most_mm),
        yaxis2=_came_axis("irrigation", most_mm),
        yaxis3=_panel("missing") | {"range": [deepest / (1 - NAME_PART), 0], "nticks": 6},
        shapes=[_planted(group) for group in field.groups],
        annotations=[
            unit_above(say("crop_water_page.axis_rain")),
            unit_above(say("crop_water_page.axis_irrigation"), axis="y2 domain"),
            unit_above(say("crop_water_page.axis_missing"), axis="y3 domain"),
            *(_name(label) for label in labels(field.groups, period)),
        ],
    )


def _panel(name: str) -> dict[str, Any]:
    """Where a panel lies on the paper."""
    names = list(PANELS_PX)
    above = sum(PANELS_PX[other] + BETWEEN_PX for other in names[: names.index(name)])
    domain = [max(0.0, 1 - (above + PANELS_PX[name]) / PLOT_PX), 1 - above / PLOT_PX]
    return {"domain": domain, "fixedrange": True}


def _came_axis(name: str, most_mm: Mapping[str, float]) -> dict[str, Any]:
    """The panel's axis: so low that only 0 and a round number near the top have room."""
    most = most_mm[name] or 1.0
    return _panel(name) | {"range": [0, 1.05 * most], "tickvals": [0, round_below(most)]}


def round_below(most: float) -> float:
    """Return the greatest of 1, 2 and 5 times a power of ten that isn't greater.

    >>> round_below(7.4), round_below(48), round_below(0.3)
    (5.0, 20.0, 0.2)
    """
    power = 10.0 ** floor(log10(most))
    return float(max(step * power for step in (1, 2, 5) if step * power <= most))


def _came(days: Rows, name: str, axis: str) -> list[Any]:
    """Bars of what came; on a day of which nobody tells a dashed line: no bar, and no 0 either."""
    silent: list[datetime | None] = []
    for day in days:
        if day[f"{name}_mm"] is None:
            start = datetime.combine(day["day"], time())
            silent += [start, start + timedelta(days=1), None]
    bars = go.Bar(
        name=name,
        x=[middle(day["day"], day["day"]) for day in days],
        y=[day[f"{name}_mm"] for day in days],
        width=width_ms(days[0]["day"], days[0]["day"]),
        yaxis=axis,
        marker={"color": LIGHT.water, "line": {"width": 0}},
        hovertext=[told(day) for day in days],
        hoverinfo="text",
    )
    dashes = go.Scatter(
        name=f"{name}_unknown",
        x=silent,
        y=[None if x is None else 0 for x in silent],
        mode="lines",
        yaxis=axis,
        line={"color": LIGHT.quiet, "width": 5, "dash": "2px,3px"},
        cliponaxis=False,
        hoverinfo="skip",
    )
    return [bars, dashes]


def _missing(group: Group) -> list[go.Scatter]:
    """The band between the courses, stress within it, and the two lines that it is held against."""
    days = group.days
    wettest, driest = (
        _line(days, f"depletion_{which}_mm", LIGHT.water, 1.4) for which in ("wettest", "driest")
    )
    driest.update(
        fill="tonexty",
        fillcolor=faint(LIGHT.water, FAINT["band"]),
        hovertext=[told(day) for day in days],
        hoverinfo="text",
    )
    stress = [
        _area(days, "stress_possible", _upper, lambda d: d["depletion_driest_mm"], HATCH),
        _area(days, "stress_sure", lambda d: d["raw_mm"], lambda d: d["depletion_wettest_mm"], ""),
    ]  # fmt: skip
    return [
        wettest, driest, *stress,
        _line(days, "raw_mm", LIGHT.ink, 1.6, "5px,3px"), _line(days, "taw_mm", LIGHT.soil, 2.4),
    ]  # fmt: skip


def _upper(day: dict[str, Any]) -> float:
    """Where possible stress begins: below the line, and below what is sure."""
    return float(max(day["raw_mm"], day["depletion_wettest_mm"]))


def _line(days: Rows, name: str, colour: str, width: float, dash: str = "solid") -> go.Scatter:
    return go.Scatter(
        name=name,
        x=[middle(day["day"], day["day"]) for day in days],
        y=[day[name] for day in days],
        mode="lines",
        line={"color": colour, "width": width, "dash": dash},
        yaxis="y3",
        hoverinfo="skip",
    )


def _area(
    days: Rows, name: str, upper: Callable[[dict[str, Any]], float], lower: Callable[[dict[str, Any]], float], pattern: str
) -> go.Scatter:  # fmt: skip
    """What lies between two courses on the days on which the lower is the deeper, each stretch closed by itself."""
    xs: list[datetime | None] = []
    ys: list[float | None] = []
    for stretch in _stretches([d for d in days if d["raw_mm"] is not None and lower(d) > upper(d)]):
        edge = _edge(stretch)
        xs += [*edge, *reversed(edge), None]
        ys += [*_held([upper(d) for d in stretch]), *reversed(_held([lower(d) for d in stretch])), None]
    return go.Scatter(
        name=name,
        x=xs,
        y=ys,
        mode="lines",
        line={"color": LIGHT.alarm, "width": 0.8},
        fill="toself",
        fillcolor=LIGHT.alarm,
        fillpattern={"shape": pattern, "fgcolor": LIGHT.alarm, "bgcolor": LIGHT.paper, "size": 6, "solidity": 0.4}
        if pattern
        else None,
        yaxis="y3",
        hoverinfo="skip",
    )  # fmt: skip


def _stretches(days: Rows) -> list[Rows]:
    """The days, each stretch without a gap by itself."""
    made: list[Rows] = []
    for day in days:
        if made and (day["day"] - made[-1][-1]["day"]).days == 1:
            made[-1].append(day)
        else:
            made.append([day])
    return made


def _edge(days: Rows) -> list[datetime]:
    """The middles of days, and before and after them half a day, so that a single day has a width."""
    noons = [middle(day["day"], day["day"]) for day in days]
    return [noons[0] - timedelta(hours=12), *noons, noons[-1] + timedelta(hours=12)]


def _held(values: Sequence[float]) -> list[float]:
    return [values[0], *values, values[-1]]


def _planted(group: Group) -> dict[str, Any]:
    """A thin line on the first day of a planting, through both panels."""
    start = str(group.span[0])
    return {
        "type": "line", "x0": start, "x1": start, "y0": 0, "y1": 1, "yref": "paper",
        "line": {"color": LIGHT.quiet, "width": 1, "dash": "1px,3px"}, "layer": "below",
    }  # fmt: skip


def _name(label: Label) -> dict[str, Any]:
    """The crop's name under its days, with its day of planting where there is room."""
    group = label.group
    text = say("crop_water_page.planted", crop=group.crop, day=group.planted_on)
    fits = len(text) <= label.letters and not label.ends
    return {
        "text": inert(text if fits else group.crop, label.letters),
        "x": str(label.on), "y": 0, "xref": "x", "yref": "y3 domain", "xanchor": "right" if label.ends else "left",
        "yanchor": "bottom", "showarrow": False, "font": {"color": LIGHT.ink, "size": 12},
    }  # fmt: skip


def faint(colour: str, part: float) -> str:
    """Return a colour of the look, thinned."""
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return f"rgba({red},{green},{blue},{part})"


def told(day: dict[str, Any]) -> str:
    """Return a day in words: what came, what was missing, and from when on that is too much."""
    lines = [
        say("crop_water_page.day_crop", day=day["day"], crop=inert(day["crop"])),
        say("crop_water_page.day_came", irrigation=depth(day["irrigation_mm"]), rain=depth(day["rain_mm"])),
        say("crop_water_page.day_missing", missing=depths(day)),
        say("crop_water_page.day_lines", raw=depth(day["raw_mm"]), taw=depth(day["taw_mm"])),
    ]
    return "<br>".join(lines)


def depth(value_mm: float | None) -> str:
    """Return a depth with its unit; an unknown one has none."""
    text = number(value_mm, DECIMALS)
    return text if value_mm is None else say("crop_water_page.mm", value=text)


def depths(day: dict[str, Any]) -> str:
    """Return how much is missing: one number where it is known, else from least to most."""
    least, most = (number(day[f"depletion_{which}_mm"], DECIMALS) for which in ("wettest", "driest"))
    value = least if least == most else say("crop_water_page.to", least=least, most=most)
    return say("crop_water_page.mm", value=value)
