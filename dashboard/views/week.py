"""The week: what changed between two days, whom to telephone first, and which jobs are open."""

from collections.abc import Sequence
from datetime import date, timedelta
from html import escape
from typing import Any

import streamlit as st

from dashboard import choices, data
from dashboard.access import Viewer
from dashboard.choices import Places
from dashboard.downloads import downloads, points
from dashboard.numbers import share
from dashboard.start import start, waiting
from dashboard.week import data as week_data
from dashboard.week import lists as week_lists
from dashboard.week.answer import jobs_part, week_answer
from pipeline.visits.change_rules import MET_STEP, WINDOW_DAYS
from pipeline.words import say

Rows = list[dict[str, Any]]
SHOWN = ("worse", "better", "otherwise")  # directions with a list of their own


def page() -> None:
    """Draw the page, or the way out where there is nothing to draw."""
    begun = start(say("week_page.week"), week_lists.STYLE)
    if begun is None:
        return
    who, version, everywhere, days = begun.who, begun.version, begun.sites, begun.days
    top = st.container()
    with st.container(key="choices"):
        columns = st.columns([4, 4, 5, 6, 6])
    since, to = _days(columns[:2], days)
    places = choices.places(columns[2:4], everywhere, data.agreements(version, who))
    if not places:
        top.html(f'<p class="answer">{escape(say("week_page.no_such_site"))}</p>')
        return
    _drawn(top, version, who, places, since, to)


def _days(columns: Sequence[Any], known: tuple[date, date]) -> tuple[date | None, date]:
    """The earlier day, None where there is none, and the later one, which is the end of the pages' period."""
    to = choices.last_day(columns[1], known)
    usual, _ = week_data.usual_days(known, to)
    if usual is None:
        columns[0].date_input(say("week_page.since_field"), value=None, disabled=True, key="since.none")
        return None, to
    earlier = (known[0], to - timedelta(days=1))
    return choices.day(columns[0], "since", say("week_page.since_field"), usual, earlier), to


def _drawn(top: Any, version: int, who: Viewer, places: Places, since: date | None, to: date) -> None:
    """The sentence and the three lists; what needs one day alone comes before what needs two."""
    left, right = st.columns([13, 10], gap="large") if since else (None, st.container())
    with top, st.spinner(say("dashboard.computing")):
        now = {name: _here(rows, places) for name, rows in data.on_day(version, who, to).items()}
        with right:
            _calls(now["calls"], places)
            _jobs(now["jobs"], places, to)
        changed = None if since is None else _here(week_data.changed(version, who, since, to), places)
    if since is None or changed is None or left is None:
        answer = say("week_page.one_day", day=to, jobs=jobs_part(now["jobs"]))
    else:
        answer = week_answer(changed, now["jobs"], since, to)
        with left:
            _changes(changed, now["jobs"], places, (since, to))
    with top:
        st.html(f'<p class="answer">{escape(answer)}</p>{week_lists.ways_down(now["calls"], now["jobs"])}')
        waiting(version, who)


def _here(rows: Rows, places: Places) -> Rows:
    return [row for row in rows if row["site_id"] in places]


def _changes(changed: Rows, jobs: Rows, places: Places, days: tuple[date, date]) -> None:
    groups = {direction: [r for r in changed if r["direction"] == direction] for direction in SHOWN}
    if not any(groups.values()):
        st.html(f'<p class="quiet">{escape(say("week_page.no_changes_here"))}</p>')
    for direction, rows in groups.items():
        if rows:
            title = escape(say(f"week_page.group_{direction}"))
            st.html(f"<h2>{title}</h2>{week_lists.change_list(rows, places, jobs)}")
    if any(groups.values()):
        legend = say("week_page.patches_say", days=WINDOW_DAYS, before=days[0], now=days[1])
        judged = say("week_page.how_judged", step=share(MET_STEP))
        st.html(f'<p class="legend">{escape(legend)} {escape(judged)}</p>')
    unsaid = [row for row in changed if row["direction"] == "unsaid"]
    if unsaid:
        title = escape(say("week_page.group_unsaid"))
        st.html(f"<h2>{title}</h2>{week_lists.unsaid_list(unsaid, places)}")
    if changed:
        downloads(_named(changed, places), "changes", points(list(places.values())))


def _calls(calls: Rows, places: Places) -> None:
    st.html(f"<h2 id='calls'>{escape(say('week_page.calls_title'))}</h2>")
    if not calls:
        st.html(f'<p class="quiet">{escape(say("week_page.no_calls"))}</p>')
        return
    caution = escape(say("week_page.calls_say"))
    st.html(f'<p class="before">{caution}</p>{week_lists.call_list(calls, places)}')


def _jobs(jobs: Rows, places: Places, to: date) -> None:
    st.html(f"<h2 id='jobs'>{escape(say('week_page.jobs_title', day=to))}</h2>")
    if not jobs:
        st.html(f'<p class="quiet">{escape(say("week_page.no_jobs"))}</p>')
        return
    st.html(week_lists.job_list(jobs, places))
    downloads(_named(jobs, places), "open_jobs")


def _named(rows: Rows, places: Places) -> Rows:
    """The rows with what the list shows beside them."""
    return [row | {name: places[row["site_id"]][name] for name in ("name", "district")} for row in rows]


page()
