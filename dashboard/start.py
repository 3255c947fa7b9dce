"""How a page begins: who looks, at which version, and the way out where there is nothing to show."""

from dataclasses import dataclass
from datetime import date
from html import escape
from typing import Any

import streamlit as st

from dashboard import access, data
from dashboard.access import Viewer
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]


@dataclass(frozen=True)
class Start:
    """What every page of sites begins with: the sites in scope, and first and last day of which figures are known."""

    who: Viewer
    version: int
    sites: Rows
    days: tuple[date, date]


def start(title: str, style: str = "") -> Start | None:
    """Draw the page's name for who can't see the menu; without a known day also what to do, and return None.

    Parameters
    ----------
    title
        Of the page.
    style
        Its own, as HTML.
    """
    who, version = access.viewer(), data.version()
    sites = data.sites(version, who) if version else []
    days = data.known_days(version, who) if sites else None
    st.html(f'{style}<h1 class="unseen">{escape(title)}</h1>')
    if days is None:
        st.html(f'<p class="empty">{escape(nothing(len(sites)))}</p>')
        return None
    return Start(who, version, sites, days)


def waiting(version: int, who: Viewer) -> int:
    """Tell that rows have come which the figures don't show yet; return of how many sites.

    A load is under way, or was cut off.
    """
    sites = data.waiting(version, who) if version else 0
    if sites:
        st.html(f'<p class="caution">{escape(say_n("dashboard.waiting", sites))}</p>')
    return sites


def nothing(sites: int) -> str:
    """Return the sentence of a store that knows no day yet of so many sites."""
    return say_n("dashboard.no_days", sites) if sites else say("dashboard.nothing_yet")


def lines(text: str) -> str:
    """Return a text of several lines as HTML."""
    return escape(text).replace("\n", "<br>")
