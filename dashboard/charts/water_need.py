"""Water pumped against what the crops needed, by week."""

from datetime import date
from typing import Any

import plotly.graph_objects as go

from dashboard.charts.template import amount, chart, hatched, middle, time_axis, unit_above, width_ms
from dashboard.look import LIGHT
from dashboard.numbers import share
from pipeline.measures.indicators import BY_NAME
from pipeline.words import say

Rows = list[dict[str, Any]]

HEIGHT_PX = 210
NEED_PART, WATER_PART = 0.9, 0.5  # of the week's width: the water stands within the need


def by_area(weeks: Rows) -> bool:
    """Whether the planted area is known, so that depths can be drawn; else amounts are."""
    return any(w["water_m3_per_ha"] is not None or w["need_m3_per_ha"] is not None for w in weeks)


def water_need(weeks: Rows, period: tuple[date, date]) -> go.Figure:
    """Return the bars: the need as an empty plot, the water that was pumped within it.

    Parameters
    ----------
    weeks
        As `site_weeks` gives them. None leaves a gap; a sum that can't be judged is hatched.
    period
        First and last day.
    """
    ending = "m3_per_ha" if by_area(weeks) else "m3"
    unit = BY_NAME[f"water_{ending}"].unit
    needs = [w for w in weeks if w[f"need_{ending}"] is not None]
    waters = [w for w in weeks if w[f"water_{ending}"] is not None]
    traces = [
        _bars(needs, f"need_{ending}", "need_judged", LIGHT.soil, NEED_PART, fill=False),
        _bars(waters, f"water_{ending}", "water_judged", LIGHT.water, WATER_PART, fill=True),
        _unknown([w for w in weeks if w["water_m3"] is None]),
    ]
    return chart(
        traces,
        HEIGHT_PX,
        xaxis=time_axis(period),
        yaxis={"rangemode": "tozero"},
        annotations=[unit_above(say("site_page.a_week", unit=unit))],
    )


def _bars(weeks: Rows, name: str, judged: str, colour: str, part: float, *, fill: bool) -> go.Bar:
    return go.Bar(
        name=name,
        x=[middle(w["week_from"], w["week_to"]) for w in weeks],
        y=[w[name] for w in weeks],
        width=[width_ms(w["week_from"], w["week_to"], part) for w in weeks],
        marker={
            "color": colour if fill else LIGHT.paper,
            "line": {"color": colour, "width": 1.6},
            "pattern": hatched([not w[judged] for w in weeks], colour),
        },
        hovertext=[told(w) for w in weeks],
        hoverinfo="text",
    )


def _unknown(weeks: Rows) -> go.Scatter:
    """A dashed line where nobody knows how much was pumped: no bar, and no 0 either."""
    xs: list[date | None] = []
    for week in weeks:
        xs += [week["week_from"], week["week_to"], None]
    return go.Scatter(
        name="unknown",
        x=xs,
        y=[None if x is None else 0 for x in xs],
        mode="lines",
        line={"color": LIGHT.quiet, "width": 5, "dash": "2px,3px"},
        cliponaxis=False,
        hovertext=[told(week) for week in weeks for _ in range(3)],
        hoverinfo="text",
    )


def told(week: dict[str, Any]) -> str:
    """Return a week in words: what was pumped and needed, and how much of the week is known."""
    water, need = (amount(week[name], BY_NAME[name]) for name in ("water_m3", "need_m3"))
    lines = [
        say("site_page.days", start=week["week_from"], end=week["week_to"]),
        say("site_page.week_water", water=water, share=share(week["water_coverage"])),
        say("site_page.week_need", need=need, share=share(week["need_coverage"])),
    ]
    return "<br>".join(lines)
