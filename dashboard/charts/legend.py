"""The legends of charts: each sign as it is drawn, and what it says."""

from collections.abc import Sequence
from html import escape

from dashboard.look import LIGHT
from dashboard.patch import as_uri

WIDTH, HEIGHT = 22, 14
_PATTERNS = {
    "hatch": '<path d="M-2 8L8 -2M0 14L14 0M8 16L24 0" stroke="{colour}" stroke-width="1.6"/>',
    "cross": '<path d="M0 14L14 0M8 14L22 0M0 0L14 14M8 0L22 14" stroke="{colour}" stroke-width="1.4"/>',
}
SIGNS = {
    "water": (LIGHT.water, LIGHT.water, ""),
    "need": (LIGHT.paper, LIGHT.soil, ""),
    "water_low": (LIGHT.paper, LIGHT.water, "hatch"),
    "energy": (LIGHT.ink, LIGHT.ink, ""),
    "energy_low": (LIGHT.paper, LIGHT.ink, "hatch"),
    "up": (LIGHT.water, LIGHT.water, ""),
    "unknown": (LIGHT.paper, LIGHT.quiet, "hatch"),
    "down": (LIGHT.paper, LIGHT.alarm, "cross"),
    "fallow": (LIGHT.paper, LIGHT.quiet, ""),
    "no_stage": (LIGHT.paper, LIGHT.soil, "hatch"),
    "stress": (LIGHT.alarm, LIGHT.alarm, ""),
    "stress_possible": (LIGHT.paper, LIGHT.alarm, "hatch"),
    "enough": (LIGHT.paper, LIGHT.soil, ""),
}
LINES = {  # colour, width, dashes
    "course": (LIGHT.water, 1.8, ""),
    "ready_water": (LIGHT.ink, 1.8, "5 3"),
    "all_water": (LIGHT.soil, 2.6, ""),
}
FAINT = {"band": 0.25}  # of the water's colour

Sign = (
    str | float
)  # one of `SIGNS`, `LINES` or `FAINT`, "dashed", "gap", "line", "dash" or "site"; or how much of the ground a crop covers


def legend(entries: Sequence[tuple[Sign, str]]) -> str:
    """Return a legend as HTML.

    Parameters
    ----------
    entries
        Each a sign and what it says.
    """
    return '<p class="legend">' + " ".join(
        f'<span><img src="{as_uri(_sign(sign))}" alt="">{escape(text)}</span>' for sign, text in entries
    ) + "</p>"  # fmt: skip


def _sign(sign: Sign) -> str:
    opening = f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}">'
    if sign == "dashed":
        return f'{opening}<path d="M0 10h22" stroke="{LIGHT.quiet}" stroke-width="5" stroke-dasharray="2 3"/></svg>'
    if sign == "gap":
        return f'{opening}<path d="M0 13h22" stroke="{LIGHT.quiet}"/></svg>'
    if sign in ("line", "dash"):
        dashes = ' stroke-dasharray="5 4"' if sign == "dash" else ""
        return f'{opening}<path d="M0 7h22" stroke="{LIGHT.ink}" stroke-width="2"{dashes}/></svg>'
    if sign == "site":
        return f'{opening}<path d="M11 1L17 13H5Z" fill="{LIGHT.ink}"/></svg>'
    if sign in LINES:
        colour, width, dashes = LINES[str(sign)]
        return f'{opening}<path d="M0 7h22" stroke="{colour}" stroke-width="{width}" stroke-dasharray="{dashes}"/></svg>'
    if sign in FAINT:
        fill, line, pattern, covered = LIGHT.water, LIGHT.water, "", FAINT[str(sign)]
    elif isinstance(sign, float):
        fill, line, pattern, covered = LIGHT.soil, LIGHT.soil, "", sign
    else:
        fill, line, pattern, covered = *SIGNS[sign], 1.0
    drawn = _PATTERNS[pattern].format(colour=line) if pattern else ""
    shape = f'x="1" y="1" width="{WIDTH - 2}" height="{HEIGHT - 2}"'
    return (
        f'{opening}<rect {shape} fill="{fill}" fill-opacity="{covered}"/>{drawn}'
        f'<rect {shape} fill="none" stroke="{line}" stroke-width="1.6"/></svg>'
    )
