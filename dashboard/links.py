"""Plain links from page to page: each carries what was chosen on the way there and back."""

from html import escape
from urllib.parse import urlencode

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx


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
    here = (
        st.query_params.to_dict() if get_script_run_ctx(suppress_warning=True) else {}
    )  # a page without scripts
    query = urlencode(here | {name: str(value) for name, value in chosen.items()})
    address = escape(f"{page or './'}?{query}")
    return f'<a href="{address}"><bdi>{escape(text)}</bdi></a>'
