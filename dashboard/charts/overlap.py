"""Two laterals, how far their sprays reach, and the strip between them that stays dry."""

from math import isclose
from typing import Any

import plotly.graph_objects as go

from dashboard.charts.template import CROSS, TEXT_PX, chart, hatched
from dashboard.look import LIGHT
from dashboard.numbers import number
from pipeline.words import say

HEIGHT_PX = 190
STEPS = 24  # of a jet's curve
WET_AT, DRY_HIGH, PIPE_AT = -0.08, 0.16, 0.0
LEAST_STRIP_M = 0.01


def overlap(spacing_m: float, throw_m: float) -> go.Figure:
    """Return the drawing, to scale across; how high the water flies nobody measured.

    Parameters
    ----------
    spacing_m
        Between two laterals, above 0.
    throw_m
        How far across a lateral's sprays wet the ground.
    """
    reach = throw_m / 2
    across = [min(-reach, -0.1 * spacing_m), max(spacing_m + reach, 1.1 * spacing_m)]
    traces = [_ground(across)]
    for lateral in (0.0, spacing_m):
        traces += [_jet(lateral, lateral + side * reach) for side in (-1, 1) if reach]
        traces.append(_wet(lateral - reach, lateral + reach))
    strip = spacing_m - throw_m
    if strip > LEAST_STRIP_M:
        traces.append(_dry(reach, spacing_m - reach))
    traces.append(_pipes(spacing_m))
    return chart(
        traces,
        HEIGHT_PX,
        margin={"l": 12, "r": 12, "t": 26, "b": 50},
        xaxis={"range": across, "title": {"text": say("sprays_page.across_axis"), "font": {"color": LIGHT.quiet, "size": TEXT_PX}, "standoff": 8}, "zeroline": False, "nticks": 7},
        yaxis={"visible": False, "fixedrange": True, "range": [-0.3, 1.25]},
        annotations=_notes(spacing_m, throw_m),
    )  # fmt: skip


def _ground(across: list[float]) -> go.Scatter:
    return go.Scatter(
        name="ground", x=across, y=[WET_AT, WET_AT], mode="lines", line={"color": LIGHT.soil, "width": 2}, hoverinfo="skip",
    )  # fmt: skip


def _jet(start_m: float, end_m: float) -> go.Scatter:
    parts = [n / STEPS for n in range(STEPS + 1)]
    return go.Scatter(
        name="jet", x=[start_m + (end_m - start_m) * part for part in parts], y=[3.2 * part * (1 - part) + WET_AT * part for part in parts],
        mode="lines", line={"color": LIGHT.water, "width": 1.6}, hoverinfo="skip",
    )  # fmt: skip


def _wet(start_m: float, end_m: float) -> go.Scatter:
    text = say("sprays_page.wetted", throw=number(end_m - start_m, 2))
    return go.Scatter(
        name="wet", x=[start_m, end_m], y=[WET_AT, WET_AT], mode="lines", line={"color": LIGHT.water, "width": 9}, opacity=0.65,
        hovertext=[text, text], hoverinfo="text",
    )  # fmt: skip


def _dry(start_m: float, end_m: float) -> go.Bar:
    return go.Bar(
        name="dry", x=[(start_m + end_m) / 2], y=[DRY_HIGH], base=[WET_AT - DRY_HIGH / 2], width=[end_m - start_m],
        marker={"color": LIGHT.alarm, "line": {"color": LIGHT.alarm, "width": 1.4}, "pattern": hatched([True], LIGHT.alarm, CROSS)},
        hovertext=[say("sprays_page.dry_strip", strip=number(100 * (end_m - start_m), 0))], hoverinfo="text",
    )  # fmt: skip


def _pipes(spacing_m: float) -> go.Scatter:
    return go.Scatter(
        name="lateral", x=[0.0, spacing_m], y=[PIPE_AT, PIPE_AT], mode="markers", marker={"symbol": "circle", "size": 11, "color": LIGHT.ink},
        hovertext=[say("sprays_page.lateral")] * 2, hoverinfo="text",
    )  # fmt: skip


def _notes(spacing_m: float, throw_m: float) -> list[dict[str, Any]]:
    """What is drawn, in words over the middle."""
    return [
        {"text": strip_words(spacing_m, throw_m), "x": spacing_m / 2, "y": 1, "yref": "paper", "yanchor": "bottom", "showarrow": False,
         "font": {"color": LIGHT.ink}}
    ]  # fmt: skip


def strip_words(spacing_m: float, throw_m: float) -> str:
    """Return whether throws meet, overlap, or leave a strip.

    >>> strip_words(3.0, 2.4), strip_words(3.0, 3.0), strip_words(3.0, 3.6)
    ('60 cm stays dry', 'the throws just meet', 'the throws overlap by 60 cm')
    """
    strip = spacing_m - throw_m
    if isclose(strip, 0, abs_tol=LEAST_STRIP_M):
        return say("sprays_page.throws_meet")
    key = "sprays_page.dry_strip" if strip > 0 else "sprays_page.throws_overlap"
    return say(key, strip=number(abs(100 * strip), 0))
