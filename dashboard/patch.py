"""The field patch: a small plot whose crop rows are wetted as far as the need was met.

One drawing for the map, the table and every later paper. The part of its border that is drawn solid
tells how much of the time is known; a dashed bare outline stands where nothing is. The bar beside
it is what a visit averts, over the most that one averts anywhere in view.
"""

from base64 import b64encode
from functools import cache

from dashboard.look import LIGHT, darkened

PLOT_WIDTH, HEIGHT, ROWS = 30, 24, 4
WIDTH = PLOT_WIDTH + 6  # with the bar
PUDDLE = 1.2  # of the need: above it water stands past the plot's edge
EDGE = 2 * (PLOT_WIDTH - 4 + HEIGHT - 6)
BAR_HEIGHT = HEIGHT - 6
STEP = 0.025  # of a share: two pixels of a row, so that sites that look alike share a drawing
APART_AT_MOST = 150  # sites with a patch each on one map: more have no room there
GROUP_PX = 48  # where there are more, those that lie closer than about this share one
LEAST_BAR = 2  # pixels; a share too small for it has no bar


def patch(supply: float | None, coverage: float | None, averts: float | None = None) -> str:
    """Return the drawing as SVG.

    Parameters
    ----------
    supply : float or None
        Water over need [-]; None: unknown.
    coverage : float or None
        Share of the time that is known.
    averts : float or None
        Hectare-days that a visit averts, as a share of the most in view; None: unknown, no bar.
    """
    wet = None if supply is None else min(supply, 1.0)
    return _drawn(_coarse(wet), _coarse(coverage), _coarse(averts), over=(supply or 0.0) > PUDDLE)


@cache  # there are few of a kind: a thousand sites share some hundred
def _drawn(supply: float | None, coverage: float | None, averts: float | None, *, over: bool) -> str:
    known = supply is not None and bool(coverage)
    body = _rows(min(max(supply or 0.0, 0.0), 1.0)) if known else ""
    puddle = (
        f'<path d="M1 {HEIGHT - 1}h{PLOT_WIDTH - 2}" stroke="{LIGHT.water}" stroke-width="2"/>'
        if known and over
        else ""
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}">'
        f"{_border(coverage if known else None)}{body}{puddle}{_bar(averts)}</svg>"
    )


def _coarse(share: float | None) -> float | None:
    """To the nearest step; what is little more than nothing stays more than nothing."""
    if share is None or share <= 0:
        return share
    return round(max(round(share / STEP), 1) * STEP, 3)


def _border(coverage: float | None) -> str:
    shape = f'x="2" y="2" width="{PLOT_WIDTH - 4}" height="{HEIGHT - 6}" rx="1"'
    if coverage is None:
        return f'<rect {shape} fill="{LIGHT.paper}" fill-opacity=".7" stroke="{LIGHT.quiet}" stroke-dasharray="2.5 2.5"/>'
    solid = EDGE * min(max(coverage, 0.0), 1.0)
    return (
        f'<rect {shape} fill="{LIGHT.paper}" stroke="{LIGHT.quiet}" stroke-dasharray="1.5 2.5"/>'
        f'<rect {shape} fill="none" stroke="{LIGHT.ink}" stroke-width="1.6" stroke-dasharray="{solid:.1f} {EDGE}"/>'
    )


def _rows(met: float) -> str:
    """The rows from the top, wetted one after the other."""
    heights = [5 + row * (HEIGHT - 12) / (ROWS - 1) for row in range(ROWS)]
    dry = "".join(f"M5 {y:.3g}h{PLOT_WIDTH - 10}" for y in heights)
    shares = [min(max(met * ROWS - row, 0.0), 1.0) for row in range(ROWS)]
    wet = "".join(
        f"M5 {y:.3g}h{w * (PLOT_WIDTH - 10):.3g}" for y, w in zip(heights, shares, strict=True) if w
    )
    drawn = f'<path d="{dry}" stroke="{LIGHT.soil}" stroke-width="1.6" stroke-dasharray="2 1.6"/>'
    return drawn + (f'<path d="{wet}" stroke="{LIGHT.water}" stroke-width="2.8"/>' if wet else "")


def _bar(averts: float | None) -> str:
    height = BAR_HEIGHT * min(averts or 0.0, 1.0)
    if height < LEAST_BAR:
        return ""
    top = 2 + BAR_HEIGHT - height
    return f'<rect x="{PLOT_WIDTH + 1}" y="{top:.1f}" width="4" height="{height:.1f}" fill="{LIGHT.alarm}"/>'


class Shared:
    """Drawings of which each is kept once, however many sites have it."""

    def __init__(self) -> None:
        self.drawings: list[str] = []
        self._places: dict[str, int] = {}

    def place(self, drawing: str) -> int:
        """Return where a drawing stands among `drawings`."""
        if drawing not in self._places:
            self._places[drawing] = len(self.drawings)
            self.drawings.append(drawing)
        return self._places[drawing]


def as_uri(drawing: str) -> str:
    """Return a drawing as an address that a picture takes; it follows the reader's look by itself."""
    opening, body = drawing.split(">", 1)
    whole = f"{opening}><style>{darkened(drawing)}</style>{body}"
    return "data:image/svg+xml;base64," + b64encode(whole.encode()).decode()
