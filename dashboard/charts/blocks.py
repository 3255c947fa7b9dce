"""The blocks of a site as they lie: outlines in metres, north up, with a scale; without a tile."""

import json
from collections.abc import Iterator
from math import cos, floor, log10, radians
from typing import Any

import plotly.graph_objects as go

from dashboard.charts.template import chart, inert
from dashboard.look import LIGHT
from dashboard.numbers import number
from pipeline.words import say

Rows = list[dict[str, Any]]
Point = tuple[float, float]

HEIGHT_PX = 290
M_PER_DEG = 111_195  # of a great circle on the sphere of 6,371 km
LEAST_M = 100.0  # across: a site without outlines isn't zoomed in without bound
MARGIN = 0.08  # of what is shown, around it
SCALE_PART = 0.3  # of the width, at most
ID_LETTERS = 14
ROOMY_PART = 0.13  # of the plan's width, that takes an area's text


def blocks(rows: Rows, site: dict[str, Any]) -> go.Figure:
    """Return the plan.

    Parameters
    ----------
    rows
        block_id, area_ha and shape, the outline as GeoJSON or None.
    site
        latitude and longitude of the site's point.
    """
    outlines = [(row, list(_rings(row["shape"], site))) for row in rows if row["shape"]]
    points = [(0.0, 0.0), *(p for _, rings in outlines for ring in rings for p in ring)]
    (west, east), (south, north) = _bounds([x for x, _ in points]), _bounds([y for _, y in points])
    traces = [_outline(row, rings) for row, rings in outlines]
    traces += [
        _ids([(row, rings) for row, rings in outlines if rings], max(east - west, north - south)),
        _site_point(site),
    ]
    traces += [*_scale(west, east, south), _north(east, north)]
    hidden = {"visible": False, "fixedrange": True}
    return chart(
        traces,
        HEIGHT_PX,
        margin={"l": 4, "r": 4, "t": 4, "b": 4},
        xaxis=hidden | {"range": [west, east]},
        yaxis=hidden | {"range": [south - (north - south) * MARGIN, north], "scaleanchor": "x"},
    )


def _rings(shape: str, site: dict[str, Any]) -> Iterator[list[Point]]:
    """The rings of an outline, in metres from the site's point."""
    found = json.loads(shape)
    parts = found["coordinates"] if found["type"] == "MultiPolygon" else [found["coordinates"]]
    east_m = M_PER_DEG * cos(radians(site["latitude"]))
    for part in parts:
        for ring in part:
            yield [((p[0] - site["longitude"]) * east_m, (p[1] - site["latitude"]) * M_PER_DEG) for p in ring]


def _bounds(values: list[float]) -> Point:
    least, most = min(values), max(values)
    centre, across = (least + most) / 2, max(most - least, LEAST_M) * (1 + 2 * MARGIN)
    return centre - across / 2, centre + across / 2


def _width(ring: list[Point]) -> float:
    xs = [x for x, _ in ring]
    return max(xs) - min(xs)


def _outline(row: dict[str, Any], rings: list[list[Point]]) -> go.Scatter:
    xs: list[float | None] = []
    ys: list[float | None] = []
    for ring in rings:
        xs += [*(x for x, _ in ring), None]
        ys += [*(y for _, y in ring), None]
    return go.Scatter(
        name="block", x=xs, y=ys, mode="lines", fill="toself", fillcolor=LIGHT.paper, hoveron="fills",
        line={"color": LIGHT.soil, "width": 2}, text=_told(row), hoverinfo="text",
    )  # fmt: skip


def _ids(outlines: list[tuple[dict[str, Any], list[list[Point]]]], across_m: float) -> go.Scatter:
    """Each block's id in the middle of its outline; its area where all have room for it."""
    roomy = all(_width(rings[0]) >= ROOMY_PART * across_m for _, rings in outlines)
    middles = [
        tuple(sum(_bounds([p[axis] for p in rings[0]])) / 2 for axis in (0, 1)) for _, rings in outlines
    ]
    return go.Scatter(
        name="ids",
        x=[x for x, _ in middles],
        y=[y for _, y in middles],
        text=[_label(row, with_area=roomy) for row, _ in outlines],
        mode="text",
        hoverinfo="skip",
    )


def _label(row: dict[str, Any], *, with_area: bool) -> str:
    name = f"<b>{inert(row['block_id'], ID_LETTERS)}</b>"
    area = say("site_page.hectares", area=number(row["area_ha"], 2))
    return f"{name}<br>{area}" if with_area else name


def _told(row: dict[str, Any]) -> str:
    return say("site_page.block", block=inert(row["block_id"]), area=number(row["area_ha"], 2))


def _site_point(site: dict[str, Any]) -> go.Scatter:
    return go.Scatter(
        name="site", x=[0], y=[0], mode="markers", marker={"symbol": "triangle-up", "size": 11, "color": LIGHT.ink},
        hovertext=[inert(site["name"] or site["site_id"])], hoverinfo="text",
    )  # fmt: skip


def _scale(west: float, east: float, south: float) -> list[go.Scatter]:
    """A line of a round length at the foot, and its metres."""
    length = round_length(SCALE_PART * (east - west))
    start = west + MARGIN / 2 * (east - west)
    line = {"color": LIGHT.quiet, "width": 2}
    bar = go.Scatter(
        name="scale", x=[start, start + length], y=[south, south], mode="lines", line=line, hoverinfo="skip"
    )
    text = go.Scatter(
        name="metres", x=[start + length], y=[south], mode="text", textposition="middle right", hoverinfo="skip",
        text=[" " + say("site_page.metres", length=f"{length:,.0f}")], textfont={"color": LIGHT.quiet},
    )  # fmt: skip
    return [bar, text]


def _north(east: float, north: float) -> go.Scatter:
    return go.Scatter(
        name="north", x=[east], y=[north], mode="text", textposition="bottom left", hoverinfo="skip",
        text=[f"↑<br>{say('dashboard.north')}"], textfont={"color": LIGHT.quiet},
    )  # fmt: skip


def round_length(at_most: float) -> float:
    """Return the greatest of 1, 2 and 5 times a power of ten that isn't longer.

    >>> round_length(99.0), round_length(100.0), round_length(260.0)
    (50.0, 100.0, 200.0)
    """
    power = 10.0 ** floor(log10(at_most))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= at_most)
