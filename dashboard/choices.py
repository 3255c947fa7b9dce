"""What was chosen, once for all pages: the period, and which sites are looked at.

A choice stands in the address, so that a link shows the same page, and in the session, so that it
lasts from one page to the next, where the framework empties the address.
"""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from html import escape
from typing import Any

import streamlit as st

from dashboard.outlook import SHOWN_DAYS, Wanted, asked_for, day_of, districts, known_period, titles
from pipeline.words import say

Rows = list[dict[str, Any]]
Places = dict[str, dict[str, Any]]

PERIOD = ("from", "to")
MOST_SAID = 60  # letters of what a link asks for in vain


def period(columns: Sequence[Any], days: tuple[date, date]) -> tuple[date, date]:
    """Return the chosen period, after drawing its two fields.

    Parameters
    ----------
    columns
        Two places to draw in.
    days
        First and last day of which figures are known: a period lies within.
    """
    for name in PERIOD:
        recall(name)
    asked = known_period([st.session_state.get(_held(name)) for name in PERIOD], days)
    picked: list[date] = []
    for column, name, known in zip(columns, PERIOD, asked, strict=True):
        st.session_state[_held(name)] = known  # a load or its undo moves the known days
        label = say(f"dashboard.{name}")
        picked.append(_date(column, name, label, days))
    return picked[0], picked[1]


def day(column: Any, name: str, label: str, usual: date, days: tuple[date, date]) -> date:
    """Return one chosen day, after drawing its field.

    Parameters
    ----------
    column
        A place to draw in.
    name
        Of the choice, as in the address.
    label
        Of the field.
    usual
        The day until somebody chooses another: while it is the one shown, it moves along.
    days
        First and last day that can be chosen.
    """
    recall(name)
    held = day_of(st.session_state.get(_held(name)), usual)
    if held == st.session_state.get(f"usual.{name}"):
        held = usual
    st.session_state[f"usual.{name}"] = usual
    st.session_state[_held(name)] = min(max(held, days[0]), days[1])
    return _date(column, name, label, days)


def _date(column: Any, name: str, label: str, days: tuple[date, date]) -> date:
    """The field of a day, and below it what a link asked for in vain."""
    chosen: date = column.date_input(
        label, min_value=days[0], max_value=days[1], key=_held(name), format="YYYY-MM-DD",
        on_change=_forget_link, args=(name,),
    )  # fmt: skip
    remember(name, str(chosen))
    with column:
        _tell_left_out(name, str(chosen), "dashboard.no_such_day")
    return chosen


def last_day(column: Any, days: tuple[date, date]) -> date:
    """Return the last day of the period that is chosen for all pages, after drawing its field alone.

    A first day that it would leave behind moves before it.
    """
    last = day(column, "to", say("dashboard.to"), days[1], days)
    usual = max(days[0], days[1] - timedelta(days=SHOWN_DAYS - 1))
    if day_of(st.session_state.get("kept.from"), usual) > last:
        st.session_state["kept.from"] = str(max(days[0], last - timedelta(days=SHOWN_DAYS - 1)))
    return last


def choose(
    name: str, options: Sequence[str], nothing: str, labels: Mapping[str, str] | None = None
) -> str | None:
    """Return one of the options or None, after drawing the field to choose it in.

    Parameters
    ----------
    name
        Of the choice, as in the address.
    options
        What can be chosen; a link that asks for anything else counts as none.
    nothing
        What the field says while nothing is chosen.
    labels
        How an option is shown, where it isn't by itself.
    """
    shown = labels or {}
    recall(name)
    held = st.session_state[_held(name)]
    # written anew even if unchanged: the same field on another page starts empty otherwise
    st.session_state[_held(name)] = held if held in options else None
    chosen: str | None = st.selectbox(
        say(f"dashboard.{name}"),
        options,
        index=None,
        placeholder=nothing,
        key=_held(name),
        format_func=lambda option: shown.get(option, option),
        on_change=_forget_link,
        args=(name,),
    )
    remember(name, chosen)
    _tell_left_out(name, chosen, "dashboard.not_on_record")
    return chosen


def places(columns: Sequence[Any], sites: Rows, agreements: Rows) -> Places:
    """Draw the fields of district and agreement, and return the sites that both leave, by id.

    Parameters
    ----------
    columns
        Two.
    sites, agreements
        Those within the viewer's scope.
    """
    named = titles(agreements)
    with columns[0]:
        district = choose("district", districts(sites), say("dashboard.all_districts"))
    with columns[1]:
        agreement = choose("agreement", list(named), say("dashboard.all_agreements"), named)
    here = asked_for(sites, agreements, Wanted(district, agreement))
    return {s["site_id"]: s for s in sites if s["site_id"] in here}


def _tell_left_out(name: str, shown: str | None, key: str) -> None:
    told = left_out(st.session_state.get(_asked(name)), shown, key)
    if told:
        st.html(told)


def left_out(asked: str | None, shown: str | None, key: str) -> str:
    """Return a sentence for what a link asks for and the page can't show; empty where it shows it.

    Parameters
    ----------
    asked
        As the address has it.
    shown
        What is shown in its place.
    key
        Of the sentence.
    """
    if not asked or asked == shown:
        return ""
    text = f"\N{FIRST STRONG ISOLATE}{tidy(asked, MOST_SAID)}\N{POP DIRECTIONAL ISOLATE}"
    return f'<p class="quiet" role="status"><small>{escape(say(key, asked=text))}</small></p>'


def typed(name: str, label: str, hint: str, most: int) -> str:
    """Return what was typed, after drawing the field to type it in; its label is for who can't see it.

    Parameters
    ----------
    name
        Of the choice, as in the address.
    label
        Of the field.
    hint
        What the field says while nothing is typed.
    most
        Letters.
    """
    recall(name)
    held = st.session_state[_held(name)]
    if held != (kept := tidy(held or "", most)):
        st.session_state[_held(name)] = kept
    text = st.text_input(
        label, key=_held(name), placeholder=hint, max_chars=most, type="search", label_visibility="collapsed"
    )
    chosen = tidy(text or "", most)
    remember(name, chosen or None)
    return chosen


def tidy(text: str, most: int) -> str:
    r"""Return a text on one line, without what can't be sent or stored, and no longer than so many letters.

    >>> tidy("  Tisunge\n Mwale ", 100), tidy("a\0b" + "c" * 10_000, 4)
    ('Tisunge Mwale', 'a bc')
    """
    sent = text.encode("utf-8", "replace").decode().replace("\0", " ")
    return " ".join(sent.split())[:most].strip()


def carry(names: Sequence[str]) -> None:
    """Bring what was chosen on other pages into the address, so that the links of a page without its field have it."""
    for name in names:
        recall(name)
        held = st.session_state[_held(name)]
        remember(name, str(held) if held else None)


def recall(name: str) -> None:
    """Bring a choice back into its field: from a link that was followed, else from the page before."""
    asked = st.query_params.get(name)
    followed = asked is not None and asked != st.session_state.get(f"address.{name}")
    if followed or _held(name) not in st.session_state:
        st.session_state[_held(name)] = asked if followed else st.session_state.get(f"kept.{name}")
        st.session_state[_asked(name)] = asked if followed else None


def remember(name: str, chosen: str | None) -> None:
    """Keep a choice for the other pages and in the address."""
    st.session_state[f"kept.{name}"] = st.session_state[f"address.{name}"] = chosen
    if chosen:
        st.query_params[name] = chosen
    elif name in st.query_params:
        del st.query_params[name]


def pick(name: str, chosen: str | None) -> None:
    """Choose by other means than the field: only before it is drawn, as in what a click calls."""
    st.session_state[_held(name)] = chosen
    _forget_link(name)


def _forget_link(name: str) -> None:
    """What a link asked for is of no matter once somebody chooses."""
    st.session_state[_asked(name)] = None


def _asked(name: str) -> str:
    return f"asked.{name}"


def _held(name: str) -> str:
    return f"chosen.{name}"
