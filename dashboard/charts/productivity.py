"""Harvest per m³: each planting a mark, by crop, against the published range as a band, on a logarithmic axis."""

from collections.abc import Sequence
from math import floor, log10
from typing import Any

import plotly.graph_objects as go

from dashboard.charts.template import TEXT_PX, chart, inert
from dashboard.harvest.words import from_memory
from dashboard.look import LIGHT
from dashboard.numbers import exact
from dashboard.patch import as_uri
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]

LANE_PX, AROUND_PX = 46, 74
MOST_CROPS = 14  # drawn; the table has all
CROP_LETTERS = 13
SPREAD, BAND = 0.27, 0.4  # of a lane, from its middle
STEPS = 5  # in which marks lie above one another
MARK_PX = 8
MARGIN_BELOW, MARGIN_ABOVE = 0.7, 1.4  # of the axis, as factors
STEP_OF_TICKS = (1, 2, 5)
PER = {"need": "et_productivity_kg_m3", "irrigation": "water_productivity_kg_m3"}


def drawn(rows: Rows, per: str) -> list[tuple[str, Rows]]:
    """Return the crops that have a figure, with their plantings, those that gave the most first.

    Parameters
    ----------
    rows
        As `harvest` has them.
    per
        One of `PER`.
    """
    by_crop: dict[str, Rows] = {}
    for row in rows:
        if row[PER[per]] is not None:
            by_crop.setdefault(row["crop"], []).append(row)
    found = sorted(by_crop.items(), key=lambda item: (-sum(r["harvest_kg"] for r in item[1]), item[0]))
    return found[:MOST_CROPS]


def productivity(crops: Sequence[tuple[str, Rows]], per: str, told: Sequence[Sequence[str]]) -> go.Figure:
    """Return the drawing.

    Parameters
    ----------
    crops
        As `drawn` has them; at least one.
    per
        One of `PER`. The published ranges are per m³ of evapotranspiration, so only `need` has them beside it.
    told
        What each mark says, in the same order.
    """
    banded = [
        (lane, rows[0])
        for lane, (_, rows) in enumerate(crops)
        if per == "need" and rows[0]["published_least_kg_m3"] is not None
    ]
    low, high = _ends(crops, per, [row for _, row in banded])
    lanes = len(crops)
    return chart(
        [_marks(crops, per, told, low, memory=memory) for memory in (False, True)],
        LANE_PX * lanes + AROUND_PX,
        margin={"l": 104, "r": 10, "t": 10, "b": 52},
        shapes=[*(_band(lane, row) for lane, row in banded), *(_parting(lane) for lane in range(1, lanes))],
        xaxis=_axis(low, high, per),
        yaxis={
            "range": [lanes - 0.5, -0.5],
            "tickvals": list(range(lanes)),
            "ticktext": [_name(crop, len(rows)) for crop, rows in crops],
            "showgrid": False,
            "zeroline": False,
        },
    )


def _ends(crops: Sequence[tuple[str, Rows]], per: str, banded: Rows) -> tuple[float, float]:
    """The least and the greatest that the axis shows [kg/m³]; nothing has no place on a logarithmic one."""
    values = [row[PER[per]] for _, rows in crops for row in rows if row[PER[per]] > 0]
    values += [row[f"published_{end}_kg_m3"] for row in banded for end in ("least", "most")]
    return MARGIN_BELOW * min(values, default=0.1), MARGIN_ABOVE * max(values, default=10.0)


def _axis(low: float, high: float, per: str) -> dict[str, Any]:
    ticks = _ticks(low, high)
    return {
        "type": "log", "range": [log10(low), log10(high)], "tickvals": ticks, "ticktext": [exact(tick, 3) for tick in ticks],
        "showgrid": True, "gridcolor": LIGHT.line, "tickangle": 0, "fixedrange": True,
        "title": {"text": say(f"harvest_page.axis_{per}"), "font": {"color": LIGHT.quiet, "size": TEXT_PX}, "standoff": 8},
    }  # fmt: skip


def _name(crop: str, plantings: int) -> str:
    return f"<b>{inert(crop, CROP_LETTERS)}</b><br>{say_n('harvest_page.lane', plantings)}"


def _marks(
    crops: Sequence[tuple[str, Rows]], per: str, told: Sequence[Sequence[str]], low: float, *, memory: bool
) -> go.Scatter:
    """The plantings whose kilograms are from memory alone as open squares, all others as filled rounds."""
    xs, ys, texts, shapes = [], [], [], []
    plain, at_edge = ("square-open", "triangle-left-open") if memory else ("circle", "triangle-left")
    for lane, ((_, rows), lines) in enumerate(zip(crops, told, strict=True)):
        for n, (row, line) in enumerate(zip(rows, lines, strict=True)):
            if from_memory(row) is memory:
                value = row[PER[per]]
                xs.append(max(value, low))  # nothing has no place on such an axis: it stands at its edge
                ys.append(lane + SPREAD * (2 * (n % STEPS) / (STEPS - 1) - 1))
                texts.append(line)
                shapes.append(plain if value > 0 else at_edge)
    return go.Scatter(
        name="memory" if memory else "recorded", x=xs, y=ys, mode="markers", cliponaxis=False,
        marker={"symbol": shapes, "size": MARK_PX, "color": LIGHT.water, "line": {"width": 1.6, "color": LIGHT.water if memory else LIGHT.paper}},
        hovertext=texts, hoverinfo="text",
    )  # fmt: skip


def _band(lane: int, row: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "rect", "layer": "below", "xref": "x", "yref": "y", "opacity": 0.45,
        "x0": row["published_least_kg_m3"], "x1": row["published_most_kg_m3"], "y0": lane - BAND, "y1": lane + BAND,
        "fillcolor": LIGHT.soil, "line": {"color": LIGHT.ink, "width": 1.4},
    }  # fmt: skip


def _parting(lane: int) -> dict[str, Any]:
    return {
        "type": "line", "layer": "below", "xref": "paper", "yref": "y", "x0": 0, "x1": 1, "y0": lane - 0.5, "y1": lane - 0.5,
        "line": {"color": LIGHT.line, "width": 1},
    }  # fmt: skip


def _ticks(low: float, high: float) -> list[float]:
    """Ones, twos and fives between two values; over three decades the ones alone.

    >>> _ticks(0.3, 12.0)
    [0.5, 1.0, 2.0, 5.0, 10.0]
    """
    powers = range(floor(log10(low)), floor(log10(high)) + 1)
    steps = STEP_OF_TICKS if log10(high / low) <= 3 else STEP_OF_TICKS[:1]  # noqa: PLR2004 - as the docstring says
    return [step * 10.0**power for power in powers for step in steps if low <= step * 10.0**power <= high]


def signs() -> dict[str, str]:
    """Return the signs of the drawing for its legend, as addresses of pictures."""
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="22" height="14" viewBox="0 0 22 14">'
    return {
        "recorded": as_uri(f'{head}<circle cx="11" cy="7" r="4.5" fill="{LIGHT.water}"/></svg>'),
        "memory": as_uri(f'{head}<rect x="7" y="3" width="8" height="8" fill="none" stroke="{LIGHT.water}" stroke-width="1.6"/></svg>'),
        "band": as_uri(f'{head}<rect x="1" y="1" width="20" height="12" fill="{LIGHT.soil}" fill-opacity="0.45" stroke="{LIGHT.ink}"/></svg>'),
    }  # fmt: skip
