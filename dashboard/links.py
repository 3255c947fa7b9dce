"""Plain links from page to page: each carries what was chosen on the way there and back."""

from html import escape
from urllib.parse import urlencode

import streamlit as st


def link(page: str, text: str, **chosen: object) -> str:
    """Return a link as HTML; a name that turns its letters turns no other.

    Parameters
    ----------
    page
        The page's address; "" for the first page.
    text
        What it says.
    chosen
        What the page shall show, beside what the address says now, which comes along.
    """
    query = urlencode(st.query_params.to_dict() | {name: str(value) for name, value in chosen.items()})
    address = escape(f"{page or './'}?{query}")
    return f'<a href="{address}"><bdi>{escape(text)}</bdi></a>'
