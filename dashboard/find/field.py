"""The field that every page has: what is typed there is looked for on the page of what is found."""

import streamlit as st

from dashboard import choices
from dashboard.find.data import MOST_LETTERS
from dashboard.look import WATER
from pipeline.words import say

# it stands in the bar of the menu, which leaves it the room, and costs no page a line
STYLE = f"""
[data-testid="stHeader"] {{padding-right:18rem}}
[data-testid="stLayoutWrapper"]:has(> .st-key-find) {{position:fixed;top:.6rem;right:1rem;width:16.5rem;z-index:999990}}
.st-key-find [data-testid="InputInstructions"] {{display:none}}
.st-key-find input:focus-visible {{outline:none}}
.st-key-find [data-testid="stTextInputRootElement"]:focus-within {{outline:3px solid {WATER};outline-offset:2px}}
@media (max-width: 640px) {{[data-testid="stHeader"] {{padding-right:15rem}} [data-testid="stLayoutWrapper"]:has(> .st-key-find) {{right:.6rem;width:14rem}}}}
@media print {{.st-key-find {{display:none}}}}
"""


def draw() -> bool:
    """Draw the field; return whether something was asked for just now."""
    with (
        st.container(key="find"),
        st.form("find.form", border=False),
        st.container(horizontal=True, gap="xsmall"),
    ):
        choices.typed("find", say("find_page.field"), say("find_page.hint"), MOST_LETTERS)
        return st.form_submit_button(say("find_page.find"), key="find.ask")
