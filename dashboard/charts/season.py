"""The season: which crop stood in which block and stage, and when the site could deliver water."""

from datetime import date
from typing import Any

import plotly.graph_objects as go

from dashboard.charts.template import (
    BOTTOM,
    CROSS,
    TOP,
    chart,
    hatched,
    inert,
    middle,
    share_axis,
    time_axis,
    unit_above,
    width_ms,
)
from dashboard.look import LIGHT
from dashboard.numbers import share
from pipeline.measures.seasons import STAGES
from pipeline.words import say

Rows = list[dict[str, Any]]

LANE_PX, UPTIME_PX, BETWEEN_PX = 25, 54, 32
MOST_LANES = 8  # the paper has room for no more
FILLS = dict(zip(STAGES, (0.2, 0.5, 1.0, 0.65), strict=True))  # how much of the ground a crop covers
BAR_AT, NAME_AT = 0.22, -0.2  # of a lane, from its middle
STRIP_PART = 0.94  # of a month
TIGHT_PX, LETTER_PX, BLOCK_LETTERS = 290, 6.5, 8  # a chart on a phone; a letter's width


def lanes(stages: Rows) -> list[Rows]:
    """Return the stages in lanes: plantings of a block one after the other, what stands beside them in a lane more."""
    made: list[Rows] = []
    for planting in _plantings(stages):
        free = next((lane for lane in made if _follows(lane, planting)), None)
        if free is None:
            made.append(list(planting))
        else:
            free += planting
    return sorted(made, key=lambda lane: str(lane[0]["block_id"]))


def season(stages: Rows, months: Rows, period: tuple[date, date]) -> go.Figure:
    """Return the crops' bars above, and under them a strip a month of up, unknown and down.

    Parameters
    ----------
    stages
        As `planting_stages` gives them; more lanes than `MOST_LANES` aren't drawn.
    months
        The indicators by month: uptime_low, uptime_unknown and uptime_high.
    period
        First and last day.
    """
    drawn = lanes(stages)[:MOST_LANES]
    crops_px = LANE_PX * max(len(drawn), 1)
    plot_px = crops_px + BETWEEN_PX + UPTIME_PX
    bottom = UPTIME_PX / plot_px
    crops = [_stage(row, n, period) for n, lane in enumerate(drawn) for row in lane]
    return chart(
        [*crops, _names(drawn, period), *_strips([m for m in months if m["uptime_low"] is not None])],
        plot_px + TOP + BOTTOM,
        xaxis=time_axis(period) | {"anchor": "y2"},
        yaxis={
            "domain": [1 - crops_px / plot_px, 1],
            "range": [len(drawn) - 0.5, -0.5],
            "tickvals": [n + BAR_AT for n in range(len(drawn))],
            "ticktext": [inert(lane[0]["block_id"], BLOCK_LETTERS) for lane in drawn],
            "showgrid": False,
            "zeroline": False,
        },
        yaxis2={"domain": [0, bottom], "fixedrange": True} | share_axis(1.0),
        annotations=[
            unit_above(say("site_page.block_and_crop")),
            unit_above(say("site_page.of_service_time"), axis="y2 domain"),
        ],
    )


def _plantings(stages: Rows) -> list[Rows]:
    """The stages by planting, the earliest first within a block."""
    found: dict[tuple[Any, ...], Rows] = {}
    for row in stages:
        found.setdefault((row["block_id"], row["planted_on"], row["crop"]), []).append(row)
    return [found[key] for key in sorted(found)]


def _follows(lane: Rows, planting: Rows) -> bool:
    last = lane[-1]["to_day"]
    same = lane[0]["block_id"] == planting[0]["block_id"]
    return same and last is not None and last < planting[0]["from_day"]


def _cut(row: dict[str, Any], period: tuple[date, date]) -> tuple[date, date]:
    """What of a stage lies in the period; one that nobody knows the end of goes on."""
    return max(row["from_day"], period[0]), min(row["to_day"] or period[1], period[1])


def _stage(row: dict[str, Any], lane: int, period: tuple[date, date]) -> go.Bar:
    start, end = _cut(row, period)
    open_ground = row["fallow"] or row["stage"] is None
    return go.Bar(
        name=row["stage"] or "",
        orientation="h",
        base=[str(start)],
        x=[width_ms(start, end)],
        y=[lane + BAR_AT],
        width=0.38,
        marker={
            "color": LIGHT.paper if open_ground else _ground(FILLS[row["stage"]]),
            "line": {"color": LIGHT.soil if not row["fallow"] else LIGHT.quiet, "width": 1},
            "pattern": hatched([bool(open_ground and not row["fallow"])], LIGHT.soil),
        },
        hovertext=[_told(row)],
        hoverinfo="text",
    )


def _ground(covered: float) -> str:
    """The soil, as far as the crop covers the ground."""
    red, green, blue = (int(LIGHT.soil[at : at + 2], 16) for at in (1, 3, 5))
    return f"rgba({red},{green},{blue},{covered})"


def crop_label(row: dict[str, Any]) -> str:
    """Return what stands in a block: the crop as written, or fallow."""
    return say("site_page.fallow") if row["fallow"] else str(row["crop"])


def stage_label(row: dict[str, Any]) -> str:
    """Return a stage in words; nothing for fallow, and that it isn't known where it isn't."""
    if row["fallow"]:
        return ""
    return say(f"site_page.stage_{row['stage'] or 'unknown'}")


def _told(row: dict[str, Any]) -> str:
    end = row["to_day"] or say("site_page.end_unknown")
    return "<br>".join(
        part
        for part in (
            say("site_page.crop_in_block", crop=inert(crop_label(row)), block=inert(row["block_id"])),
            stage_label(row),
            say("site_page.days", start=row["from_day"], end=end),
        )
        if part
    )


def _names(drawn: list[Rows], period: tuple[date, date]) -> go.Scatter:
    """The crops' names over their bars, cut to the room that a phone gives them."""
    whole = (period[1] - period[0]).days + 1
    xs, ys, texts = [], [], []
    for n, lane in enumerate(drawn):
        for planting in _plantings(lane):
            start, end = _cut(planting[0], period)[0], _cut(planting[-1], period)[1]
            letters = int(TIGHT_PX * ((end - start).days + 1) / whole / LETTER_PX)
            if letters > 1:
                xs.append(str(start))
                ys.append(n + NAME_AT)
                texts.append(inert(crop_label(planting[0]), letters))
    return go.Scatter(
        name="crops", x=xs, y=ys, text=texts, mode="text", textposition="middle right", hoverinfo="skip",
        textfont={"color": LIGHT.ink, "size": 12},
    )  # fmt: skip


def _strips(months: Rows) -> list[go.Bar]:
    """Up from below, down from above, and what is unknown between: uptime lies within it."""
    up = _strip(months, "up", "uptime_low", LIGHT.water, base=None)
    unknown = _strip(months, "unknown", "uptime_unknown", LIGHT.quiet, base="uptime_low", shape="/")
    down = _strip(months, "down", "uptime_high", LIGHT.alarm, base="uptime_high", shape=CROSS)
    return [up, unknown, down]


def _strip(months: Rows, name: str, of: str, colour: str, *, base: str | None, shape: str = "") -> go.Bar:
    heights = [1 - m[of] if name == "down" else m[of] for m in months]
    return go.Bar(
        name=name,
        x=[middle(m["from_day"], m["to_day"]) for m in months],
        y=heights,
        base=[m[base] for m in months] if base else 0,
        width=[width_ms(m["from_day"], m["to_day"], STRIP_PART) for m in months],
        yaxis="y2",
        marker={
            "color": colour,
            "line": {"color": colour, "width": [1 if height else 0 for height in heights]},
            "pattern": hatched([bool(shape)] * len(months), colour, shape or "/"),
        },
        hovertext=[_told_uptime(m) for m in months],
        hoverinfo="text",
    )


def _told_uptime(month: dict[str, Any]) -> str:
    return "<br>".join(
        [
            say("site_page.days", start=month["from_day"], end=month["to_day"]),
            say("site_page.month_uptime", uptime=share(month["uptime"])),
            say("site_page.month_between", low=share(month["uptime_low"]), high=share(month["uptime_high"])),
            say("site_page.month_unknown", share=share(month["uptime_unknown"])),
        ]
    )
