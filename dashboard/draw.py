"""A chart on a page, and the legend under it."""

from collections.abc import Sequence
from typing import Any

import streamlit as st

from dashboard.charts.legend import Sign, legend
from dashboard.charts.template import CONFIG


def draw(drawn: Any, name: str, signs: Sequence[tuple[Sign, str]] = ()) -> None:
    """Draw a chart in the shared frame, under a name of its own on the page.

    Parameters
    ----------
    drawn
        The figure.
    name
        Of its container and of its element.
    signs
        Of the legend; none: there is none.
    """
    with st.container(key=f"chart_{name}"):
        st.plotly_chart(drawn, theme=None, width="stretch", config=CONFIG, key=f"plot_{name}")
    if signs:
        st.html(legend(signs))
