"""The fields at a glance: on which days their crops surely or perhaps lacked water."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import plotly.graph_objects as go

from dashboard.charts.fields import Field, Group, labels, runs, silent, state
from dashboard.charts.template import BOTTOM, TOP, chart, hatched, inert, time_axis, unit_above, width_ms
from dashboard.look import LIGHT
from pipeline.words import say

Period = tuple[date, date]
Lasting = tuple[str, date, date, Group, int]

LANE_PX, LANE_PART = 34, 0.4
BAR_AT, NAME_AT, SILENT_AT = 0.2, -0.25, 0.46  # of a lane, from its middle
BLOCK_LETTERS = 8
LOOKS = {  # of a state: fill, outline, hatching; how high the bar is
    "enough": (LIGHT.paper, LIGHT.soil, "", 0.5),
    "unknown": (LIGHT.paper, LIGHT.quiet, "/", 0.5),
    "possible": (LIGHT.paper, LIGHT.alarm, "/", 1.0),
    "sure": (LIGHT.alarm, LIGHT.alarm, "", 1.0),
}


def stress_days(fields: Sequence[Field], period: Period) -> go.Figure:
    """Return a lane a field: thin where the crop had enough, high where it surely (filled) or perhaps (hatched) lacked water.

    Parameters
    ----------
    fields
        In the order of their lanes.
    period
        First and last day of the axis of time.
    """
    found = [
        (kind, start, end, group, lane)
        for lane, field in enumerate(fields)
        for group in field.groups
        for kind, start, end in runs(group.days, state)
    ]
    return chart(
        [
            *(_bars([run for run in found if run[0] == kind], kind) for kind in LOOKS),
            _silent(fields),
            _names(fields, period),
        ],
        LANE_PX * len(fields) + TOP + BOTTOM,
        xaxis=time_axis(period) | {"nticks": 3},  # a phone has room for no more
        yaxis={
            "range": [len(fields) - 0.5, -0.5],
            "tickvals": [lane + BAR_AT for lane in range(len(fields))],
            "ticktext": [inert(", ".join(field.blocks), BLOCK_LETTERS) for field in fields],
            "showgrid": False,
            "zeroline": False,
        },
        annotations=[unit_above(say("crop_water_page.axis_blocks"))],
    )


def _bars(found: Sequence[Lasting], kind: str) -> go.Bar:
    fill, outline, shape, high = LOOKS[kind]
    return go.Bar(
        name=kind,
        orientation="h",
        base=[str(start) for _, start, *_ in found],
        x=[width_ms(start, end) for _, start, end, *_ in found],
        y=[lane + BAR_AT for *_, lane in found],
        width=high * LANE_PART,
        marker={
            "color": fill,
            "line": {"color": outline, "width": 1},
            "pattern": hatched([bool(shape)] * len(found), outline, shape or "/"),
        },
        hovertext=[told(run) for run in found],
        hoverinfo="text",
    )


def _silent(fields: Sequence[Field]) -> go.Scatter:
    """A dashed line under the days of which no meter, or no weather, tells."""
    xs: list[str | None] = []
    ys: list[float | None] = []
    for lane, field in enumerate(fields):
        for group in field.groups:
            for is_silent, start, end in runs(group.days, silent):
                if is_silent:
                    xs += [str(start), str(end + timedelta(days=1)), None]
                    ys += [lane + SILENT_AT, lane + SILENT_AT, None]
    return go.Scatter(
        name="silent", x=xs, y=ys, mode="lines", line={"color": LIGHT.quiet, "width": 4, "dash": "2px,3px"}, hoverinfo="skip"
    )  # fmt: skip


def told(run: Lasting) -> str:
    """Return a stretch of days in words."""
    kind, start, end, group, _ = run
    days = (end - start + timedelta(days=1)).days
    return "<br>".join(
        [
            say("crop_water_page.crop_blocks", crop=inert(group.crop), blocks=inert(", ".join(group.blocks))),
            say(f"crop_water_page.state_{kind}"),
            say("crop_water_page.run", start=start, end=end, days=days),
        ]
    )


def _names(fields: Sequence[Field], period: Period) -> go.Scatter:
    """The crops' names over their bars, cut to the room that a phone gives them."""
    named = [
        (str(label.on), lane + NAME_AT, inert(label.group.crop, label.letters), "middle left" if label.ends else "middle right")
        for lane, field in enumerate(fields)
        for label in labels(field.groups, period)
    ]  # fmt: skip
    columns: list[list[Any]] = [list(column) for column in zip(*named, strict=True)] or [[]] * 4
    return go.Scatter(
        name="crops", x=columns[0], y=columns[1], text=columns[2], mode="text", textposition=columns[3],
        hoverinfo="skip", textfont={"color": LIGHT.ink, "size": 12},
    )  # fmt: skip
