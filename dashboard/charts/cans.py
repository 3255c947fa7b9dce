"""Catch cans in the order read: what stood in each, the mean, and the low quarter."""

from typing import Any

import plotly.graph_objects as go

from dashboard.charts.template import TEXT_PX, chart, hatched, unit_above
from dashboard.look import LIGHT
from dashboard.numbers import number
from pipeline.words import say

HEIGHT_PX = 250
CAN_PART, FULL = 0.78, 1.12  # of the place of a can; over the highest depth
FEW = 60  # of more, the cans themselves aren't drawn
MARK_PX = 13


def cans(survey: dict[str, Any]) -> go.Figure:
    """Return the drawing.

    Parameters
    ----------
    survey
        As `catch_can_surveys` gives it.
    """
    depths: list[float | None] = survey["depths_mm"]
    top = FULL * max((depth for depth in depths if depth is not None), default=0.0) or 1.0
    count = len(depths)
    traces = [_cans(count, top)] if count <= FEW else []
    traces += [_water(depths, set(survey["low_cans"])), *_marks(depths)]
    lines = [_line(survey["mean_depth_mm"], count, "mean", "solid")]
    if survey["low_quarter_mm"] is not None:
        lines.append(_line(survey["low_quarter_mm"], count, "low_quarter", "5px,4px"))
    return chart(
        [*traces, *lines],
        HEIGHT_PX,
        margin={"l": 62, "r": 8, "t": 26, "b": 50},
        xaxis={"range": [0.3, count + 0.7], "title": {"text": say("sprays_page.can_axis"), "font": {"color": LIGHT.quiet, "size": TEXT_PX}, "standoff": 8},
               "tick0": 1, "dtick": max(1, round(count / 10)), "zeroline": False, "tickangle": 0},
        yaxis={"range": [0, top * 1.04], "nticks": 5},
        annotations=[unit_above(say("sprays_page.depth_axis"))],
    )  # fmt: skip


def _cans(count: int, top: float) -> go.Bar:
    """The empty cans, all of one height."""
    return go.Bar(
        name="can", x=list(range(1, count + 1)), y=[top] * count, width=CAN_PART, hoverinfo="skip",
        marker={"color": LIGHT.paper, "line": {"color": LIGHT.line, "width": 1.4}},
    )  # fmt: skip


def _water(depths: list[float | None], low: set[int]) -> go.Bar:
    """What stood in each; the low quarter hatched."""
    places = [n for n, depth in enumerate(depths) if depth is not None]
    return go.Bar(
        name="water",
        x=[n + 1 for n in places],
        y=[depths[n] for n in places],
        width=CAN_PART,
        marker={
            "color": LIGHT.water,
            "line": {"color": LIGHT.water, "width": 1.2},
            "pattern": hatched([n in low for n in places], LIGHT.water),
        },
        hovertext=[told(n + 1, depths[n], low=n in low) for n in places],
        hoverinfo="text",
    )


def _marks(depths: list[float | None]) -> list[go.Scatter]:
    """A cross where a can stayed dry, a dash where none was read: neither is a bar."""
    marked = {
        "dry": ("x", LIGHT.alarm, [n for n, d in enumerate(depths, 1) if d == 0]),
        "spilt": ("line-ew-open", LIGHT.quiet, [n for n, d in enumerate(depths, 1) if d is None]),
    }
    return [
        go.Scatter(
            name=name, x=places, y=[0] * len(places), mode="markers", cliponaxis=False,
            marker={"symbol": symbol, "size": MARK_PX, "color": colour, "line": {"width": 2, "color": colour}},
            hovertext=[told(n, 0.0 if name == "dry" else None, low=False) for n in places], hoverinfo="text",
        )
        for name, (symbol, colour, places) in marked.items() if places
    ]  # fmt: skip


def _line(value: float, count: int, name: str, dash: str) -> go.Scatter:
    text = say(f"sprays_page.line_{name}", depth=number(value, 1))
    return go.Scatter(
        name=name, x=[0.3, count + 0.7], y=[value, value], mode="lines",
        line={"color": LIGHT.ink, "width": 2, "dash": dash}, hovertext=[text, text], hoverinfo="text",
    )  # fmt: skip


def told(can: int, depth: float | None, *, low: bool) -> str:
    """Return a can in words.

    >>> told(3, 5.2, low=True), told(4, None, low=False)
    ('Can 3: 5.2 mm, in the low quarter', 'Can 4: not read')
    """
    if depth is None:
        return say("sprays_page.can_unread", can=can)
    key = "sprays_page.can_low" if low else "sprays_page.can"
    return say(key, can=can, depth=number(depth, 1))
