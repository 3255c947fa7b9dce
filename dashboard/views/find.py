"""Find: what is on record under a name, a number or an id, and where it stands."""

from html import escape

import streamlit as st

from dashboard import access, choices, data
from dashboard.access import Viewer
from dashboard.data import Rows
from dashboard.find import data as find_data
from dashboard.find import lists as find_lists
from dashboard.start import nothing
from pipeline.words import say, say_n


def page() -> None:
    """Draw the page: the sentence, and what was found by kind."""
    who, version = access.viewer(), data.version()
    st.html(f'{find_lists.STYLE}<h1 class="unseen">{escape(say("find_page.find"))}</h1>')
    if not version:
        st.html(f'<p class="empty">{escape(nothing(0))}</p>')
        return
    choices.carry(choices.PERIOD)
    text = choices.tidy(st.query_params.get("find", ""), find_data.MOST_LETTERS)
    if not text:
        st.html(f'<p class="answer">{escape(say("find_page.what"))}</p>')
        return
    answer, found = _found(version, who, text)
    st.html(f'<p class="answer" role="status">{escape(answer)}</p>{find_lists.groups(found)}')


def _found(version: int, who: Viewer, text: str) -> tuple[str, dict[str, Rows]]:
    """The sentence and what it speaks of; of a mistyped name what it most likely meant."""
    found = find_data.find(version, who, text)
    if found:
        return say_n("find_page.answer", _count(found), asked=text), found
    meant = find_data.spelled(version, who, text)
    found = find_data.find(version, who, meant) if meant else {}
    if found:
        return say_n("find_page.answer_meant", _count(found), asked=text, meant=meant), found
    return say("find_page.none", asked=text), {}


def _count(found: dict[str, Rows]) -> int:
    return sum(rows[0]["found"] for rows in found.values())


page()
