"""What the field patch says, once for every map that draws it."""

from html import escape

from dashboard.numbers import number
from dashboard.patch import as_uri, patch
from dashboard.visit_list import VALUE_DECIMALS
from pipeline.words import say


def legend(most: float) -> str:
    """Return the legend as HTML.

    Parameters
    ----------
    most
        Hectare-days of the longest bar; 0: there is none.
    """
    samples = (
        (0.25, 1.0, None, say("dashboard.legend_little")),
        (1.0, 1.0, None, say("dashboard.legend_met")),
        (1.5, 1.0, None, say("dashboard.legend_over")),
        (0.6, 0.4, None, say("dashboard.legend_part_known")),
        (None, None, None, say("dashboard.legend_unknown")),
        (0.25, 1.0, 1.0, say("dashboard.legend_bar", value=number(most, VALUE_DECIMALS))),
    )
    shown = samples if most else samples[:-1]
    return (
        '<p class="legend">'
        + "".join(
            f'<span><img src="{as_uri(patch(s, c, a))}" alt="">{escape(text)}</span> '
            for s, c, a, text in shown
        )
        + f"<span>■ {escape(say('dashboard.legend_base'))}</span></p>"
    )
