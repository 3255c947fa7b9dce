"""Energy per m³ and lift efficiency, by month."""

from datetime import date
from typing import Any

import plotly.graph_objects as go

from dashboard.charts.template import (
    amount,
    chart,
    hatched,
    middle,
    share_axis,
    time_axis,
    unit_above,
    width_ms,
)
from dashboard.look import LIGHT
from dashboard.numbers import figure as shown
from dashboard.numbers import share
from pipeline.measures.indicators import BY_NAME
from pipeline.words import say

Rows = list[dict[str, Any]]

HEIGHT_PX = 240
PANELS = (("energy_kwh_per_m3", "y", LIGHT.ink), ("lift_efficiency", "y2", LIGHT.quiet))
BAR_PART = 0.7  # of the month's width
HEADROOM = 1.35  # over the highest bar, for its number


def energy(months: Rows, period: tuple[date, date], judged_coverage: float) -> go.Figure:
    """Return two rows of bars; a month without the figure is a gap.

    Parameters
    ----------
    months
        The indicators by month.
    period
        First and last day.
    judged_coverage
        Share of the time [-] for which water and energy must be known; with less a bar is hatched.
    """
    traces = [_bars(months, name, axis, colour, judged_coverage) for name, axis, colour in PANELS]
    lifts = [m["lift_efficiency"] or 0.0 for m in months]
    highest = max((m["energy_kwh_per_m3"] or 0.0 for m in months), default=0.0)
    units = [say(f"dashboard.figure_{name}") for name, *_ in PANELS]
    return chart(
        traces,
        HEIGHT_PX,
        xaxis=time_axis(period) | {"anchor": "y2"},
        yaxis={"domain": [0.6, 1], "range": [0, HEADROOM * highest or 1], "nticks": 4},
        yaxis2={"domain": [0, 0.4], "fixedrange": True} | share_axis(max(lifts, default=0.0)),
        annotations=[
            unit_above(f"{units[0]}, {BY_NAME['energy_kwh_per_m3'].unit}"),
            unit_above(units[1], axis="y2 domain"),
        ],
    )


def _bars(months: Rows, name: str, axis: str, colour: str, judged_coverage: float) -> go.Bar:
    known = [m for m in months if m[name] is not None]
    low = [is_low(m, judged_coverage) for m in known]
    return go.Bar(
        name=name,
        x=[middle(m["from_day"], m["to_day"]) for m in known],
        y=[m[name] for m in known],
        width=[width_ms(m["from_day"], m["to_day"], BAR_PART) for m in known],
        yaxis=axis,
        text=[shown(m[name], BY_NAME[name]) for m in known],
        textposition="outside",
        textangle=0,
        marker={
            "color": colour,
            "line": {"color": colour, "width": 1.2},
            "pattern": hatched(low, colour),
        },
        hovertext=[_told(m) for m in known],
        hoverinfo="text",
    )


def is_low(month: dict[str, Any], judged_coverage: float) -> bool:
    """Whether water or energy is known for too little of a month to trust what is made of both."""
    return min(month["water_coverage"] or 0.0, month["energy_coverage"] or 0.0) < judged_coverage


def _told(month: dict[str, Any]) -> str:
    per_m3, lift = (amount(month[name], BY_NAME[name]) for name, *_ in PANELS)
    return "<br>".join(
        [
            say("site_page.days", start=month["from_day"], end=month["to_day"]),
            say("site_page.month_energy", energy=per_m3),
            say("site_page.month_lift", lift=lift),
            say("site_page.month_known", water=share(month["water_coverage"]), energy=share(month["energy_coverage"])),
        ]
    )  # fmt: skip
