"""What all charts share: typeface, axes with units, gaps for what is unknown, hatching for what is hardly known.

A colour is never the only sign: what is of low trust is hatched, what is unknown is dashed or a gap, what is down is
crossed. A text from a file is cut and made inert before it comes into a chart.
"""

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from html import escape
from typing import Any

import plotly.graph_objects as go

from dashboard.look import LIGHT
from dashboard.numbers import figure, share, unit
from pipeline.measures.indicators import Indicator

CONFIG = {"displayModeBar": False, "scrollZoom": False, "doubleClick": False, "showTips": False}
LEFT, RIGHT, TOP, BOTTOM = (
    62,
    8,
    22,
    24,
)  # pixels: one left edge, so that charts under each other share their time
DAY_MS = 86_400_000
HATCH, CROSS = "/", "x"
TEXT_PX = 13
LETTERS = 40  # of a text from a file, in a chart

TEMPLATE = go.layout.Template(
    layout={
        "font": {"family": "Atkinson Hyperlegible, sans-serif", "size": TEXT_PX, "color": LIGHT.ink},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "margin": {"l": LEFT, "r": RIGHT, "t": TOP, "b": BOTTOM},
        "showlegend": False,
        "dragmode": False,
        "hovermode": "closest",
        "hoverlabel": {"bgcolor": LIGHT.paper, "bordercolor": LIGHT.ink, "font": {"color": LIGHT.ink}, "align": "left"},
        "barmode": "overlay",
        "separators": ".,",
        "uniformtext": {"minsize": TEXT_PX - 1, "mode": "hide"},
        "xaxis": {"fixedrange": True, "showgrid": False, "linecolor": LIGHT.quiet, "tickcolor": LIGHT.quiet, "ticks": "outside"},
        "yaxis": {"fixedrange": True, "gridcolor": LIGHT.line, "zerolinecolor": LIGHT.quiet, "zerolinewidth": 1, "tickformat": ",~f", "nticks": 5,
                  "ticklabelstandoff": 4},
    }
)  # fmt: skip


def chart(traces: Sequence[Any], height_px: int, **layout: Any) -> go.Figure:
    """Return a figure of the traces in the shared look."""
    return go.Figure(list(traces), {"template": TEMPLATE, "height": height_px} | layout)


def time_axis(period: tuple[date, date]) -> dict[str, Any]:
    """Return the axis from the period's first to the end of its last day; days as 2026-10-31."""
    return {
        "type": "date",
        "range": [str(period[0]), str(period[1] + timedelta(days=1))],
        "tickformat": "%Y-%m-%d",
        "hoverformat": "%Y-%m-%d",
        "nticks": 5,
        "tickangle": 0,
    }


def share_axis(highest: float) -> dict[str, Any]:
    """Return an axis of shares from 0 to 100 %, or beyond it as far as the highest goes."""
    top = max(1.0, highest)
    step = 0.5 if top <= 2 else round(top / 3)  # noqa: PLR2004 - twice: five lines are enough
    ticks = [step * n for n in range(int(top / step) + 1)]
    return {"range": [0, 1.04 * top], "tickvals": ticks, "ticktext": [share(tick) for tick in ticks]}


def unit_above(text: str, *, axis: str = "y domain") -> dict[str, Any]:
    """Return a unit as a note over its axis: read without turning the head."""
    return {
        "text": text, "x": 0, "y": 1, "xref": "paper", "yref": axis, "xshift": -LEFT + 2, "xanchor": "left", "yanchor": "bottom",
        "yshift": 4, "showarrow": False, "align": "left", "font": {"color": LIGHT.quiet},
    }  # fmt: skip


def middle(from_day: date, to_day: date) -> datetime:
    """Return the moment half-way through some days, for a bar that stands over them."""
    start = datetime.combine(from_day, time())
    return start + (to_day + timedelta(days=1) - from_day) / 2


def width_ms(from_day: date, to_day: date, part: float = 1.0) -> float:
    """Return a part of the length of some days, as the axis of time counts it [ms]."""
    return part * DAY_MS * ((to_day - from_day).days + 1)


def hatched(flags: Sequence[bool], colour: str, shape: str = HATCH) -> dict[str, Any]:
    """Return a pattern that is drawn where a flag is set, in the colour of the bar on paper."""
    return {
        "shape": [shape if flag else "" for flag in flags],
        "fillmode": "replace",
        "fgcolor": colour,
        "bgcolor": LIGHT.paper,
        "size": 6,
        "solidity": 0.4,
    }


def amount(value: float | None, of: Indicator) -> str:
    """Return a figure with its unit behind it; an unknown one has none.

    >>> from pipeline.measures.indicators import BY_NAME
    >>> amount(70.0, BY_NAME["water_m3"]), amount(None, BY_NAME["water_m3"])
    ('70.0 m³', 'unknown')
    """
    behind = "" if value is None else unit(of, "")
    return f"{figure(value, of)} {behind}".rstrip()


def inert(text: str, letters: int = LETTERS) -> str:
    """Return a text from a file cut to its letters, with nothing in it that a chart would read as a tag.

    >>> inert("<b>maize</b>"), inert("a & b"), inert("abcdef", 4)
    ('&lt;b&gt;maize&lt;/b&gt;', 'a &amp; b', 'abc…')
    """
    plain = " ".join(text.split())
    cut = plain if len(plain) <= letters else plain[: max(0, letters - 1)] + "…"
    return escape(cut, quote=False)
