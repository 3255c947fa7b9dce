"""The legends of charts: each sign as it is drawn, and what it says."""

from collections.abc import Sequence
from html import escape

from dashboard.look import ALARM, INK, PAPER, QUIET, SOIL, WATER
from dashboard.patch import as_uri

WIDTH, HEIGHT = 22, 14
_PATTERNS = {
    "hatch": '<path d="M-2 8L8 -2M0 14L14 0M8 16L24 0" stroke="{colour}" stroke-width="1.6"/>',
    "cross": '<path d="M0 14L14 0M8 14L22 0M0 0L14 14M8 0L22 14" stroke="{colour}" stroke-width="1.4"/>',
}
SIGNS = {
    "water": (WATER, WATER, ""),
    "need": (PAPER, SOIL, ""),
    "water_low": (PAPER, WATER, "hatch"),
    "energy": (INK, INK, ""),
    "energy_low": (PAPER, INK, "hatch"),
    "up": (WATER, WATER, ""),
    "unknown": (PAPER, QUIET, "hatch"),
    "down": (PAPER, ALARM, "cross"),
    "fallow": (PAPER, QUIET, ""),
    "no_stage": (PAPER, SOIL, "hatch"),
}


def legend(entries: Sequence[tuple[str, str]]) -> str:
    """Return a legend as HTML.

    Parameters
    ----------
    entries
        Each a sign and what it says. A sign is one of `SIGNS`, "dashed", "site", or a colour.
    """
    return '<p class="legend">' + " ".join(
        f'<span><img src="{as_uri(_sign(sign))}" alt="">{escape(text)}</span>' for sign, text in entries
    ) + "</p>"  # fmt: skip


def _sign(sign: str) -> str:
    opening = f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}">'
    if sign == "dashed":
        return f'{opening}<path d="M0 10h22" stroke="{QUIET}" stroke-width="5" stroke-dasharray="2 3"/></svg>'
    if sign == "gap":
        return f'{opening}<path d="M0 13h22" stroke="{QUIET}"/></svg>'
    if sign == "site":
        return f'{opening}<path d="M11 1L17 13H5Z" fill="{INK}"/></svg>'
    fill, line, pattern = SIGNS.get(sign, (sign, SOIL, ""))
    drawn = _PATTERNS[pattern].format(colour=line) if pattern else ""
    shape = f'x="1" y="1" width="{WIDTH - 2}" height="{HEIGHT - 2}"'
    return (
        f'{opening}<rect {shape} fill="{fill}"/>{drawn}'
        f'<rect {shape} fill="none" stroke="{line}" stroke-width="1.6"/></svg>'
    )
