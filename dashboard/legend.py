"""What the field patch says, once for every map that draws it."""

from html import escape

from dashboard.look import LIGHT
from dashboard.numbers import number
from dashboard.patch import APART_AT_MOST, HEIGHT, PLOT_WIDTH, as_uri, patch
from dashboard.visit_list import VALUE_DECIMALS
from pipeline.words import say

SIZE = 'xmlns="http://www.w3.org/2000/svg" width="24" height="14"'
ROAD_SIGN = f'<svg {SIZE}><path d="M1 7h22" stroke="{LIGHT.road}" stroke-width="2"/></svg>'
DISTRICT_SIGN = f'<svg {SIZE}><path d="M2 2h20v10h-20z" fill="{LIGHT.paper}" stroke="{LIGHT.quiet}" stroke-width="1.2"/></svg>'
MOVED_SIGN = f'<svg {SIZE}><path d="M4 11L23 3" stroke="{LIGHT.ink}" stroke-width="0.8"/><circle cx="4" cy="11" r="1.8" fill="{LIGHT.ink}"/></svg>'
GROUP_SIGN = patch(0.6, 1.0).replace(
    "</svg>", f'<text x="{PLOT_WIDTH}" y="{HEIGHT / 2 + 3}" font-size="11" fill="{LIGHT.ink}">9</text></svg>'
)


def legend(most: float, sites: int, *, moved: bool) -> str:
    """Return the legend as HTML.

    Parameters
    ----------
    most
        Hectare-days of the longest bar; 0: there is none.
    sites
        How many the map shows.
    moved
        Whether the map moves patches apart that would lie on each other.
    """
    samples = (
        (0.25, 1.0, None, say("dashboard.legend_little")),
        (1.0, 1.0, None, say("dashboard.legend_met")),
        (1.5, 1.0, None, say("dashboard.legend_over")),
        (0.6, 0.4, None, say("dashboard.legend_part_known")),
        (None, None, None, say("dashboard.legend_unknown")),
        (0.25, 1.0, 1.0, say("dashboard.legend_bar", value=number(most, VALUE_DECIMALS))),
    )
    signs = [(patch(s, c, a), text) for s, c, a, text in (samples if most else samples[:-1])]
    signs += [(ROAD_SIGN, say("dashboard.legend_road")), (DISTRICT_SIGN, say("dashboard.legend_district"))]
    if sites > APART_AT_MOST:
        signs.append((GROUP_SIGN, say("dashboard.legend_group")))
    if moved:
        signs.append((MOVED_SIGN, say("dashboard.legend_moved")))
    return (
        f'<p class="legend">{escape(say("dashboard.legend_patch"))}<br>'
        + "".join(f'<span><img src="{as_uri(sign)}" alt="">{escape(text)}</span> ' for sign, text in signs)
        + f"<span>■ {escape(say('dashboard.legend_base'))}</span></p>"
    )
