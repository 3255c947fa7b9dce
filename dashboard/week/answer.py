"""The sentence on top of the week: computed from the rows under it, with what can't be said and why."""

from collections import Counter
from datetime import date
from typing import Any

from babel.dates import format_date

from dashboard.week.words import why_words
from pipeline.visits.change_rules import DIRECTIONS, WHYS
from pipeline.visits.open_jobs import LONG_DAYS
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]


def week_answer(changes: Rows, jobs: Rows, since: date, to: date) -> str:
    """Return how many sites got worse, how many better, what is open, and what can't be said.

    Parameters
    ----------
    changes
        direction, kind and unsaid_why of each site in service.
    jobs
        age_days of each open job.
    since, to
        The days compared.
    """
    if not changes:
        return say("week_page.nobody_in_service", since=_spoken(since, to), jobs=jobs_part(jobs))
    lead = say("week_page.answer", since=_spoken(since, to), changes=_changes(changes), jobs=jobs_part(jobs))
    unsaid = [row for row in changes if row["direction"] == "unsaid"]
    return f"{lead} {_unsaid(unsaid, len(changes))}" if unsaid else lead


def jobs_part(jobs: Rows) -> str:
    """Return how many jobs are open, and how many of them for long."""
    long = sum(job["age_days"] > LONG_DAYS for job in jobs)
    if not jobs:
        return say("week_page.no_job")
    if not long:
        return say_n("week_page.jobs", len(jobs))
    return say_n("week_page.jobs_long", len(jobs), long=long)


def _spoken(day: date, to: date) -> str:
    """A day as it is said; with its year where that isn't the later day's."""
    return format_date(day, "d MMMM" if day.year == to.year else "d MMMM y", locale="en")


def _changes(changes: Rows) -> str:
    worse, better, other = (
        [row for row in changes if row["direction"] == direction]
        for direction in ("worse", "better", "otherwise")
    )
    parts = []
    if worse:
        parts.append(say_n("week_page.worse", len(worse), kinds=_kinds(worse)))
    if better:
        key = "week_page.and_better" if worse else "week_page.better"
        parts.append(say_n(key, len(better)))
    if other:
        key = "week_page.and_otherwise" if parts else "week_page.otherwise"
        parts.append(say_n(key, len(other)))
    return ", ".join(parts) or say("week_page.no_change")


def _kinds(worse: Rows) -> str:
    """In brackets: in what way, the gravest first."""
    counts = Counter(row["kind"] for row in worse)
    if len(worse) == 1:
        return say(f"week_page.it_{worse[0]['kind']}")
    return ", ".join(say(f"week_page.n_{kind}", n=counts[kind]) for kind in DIRECTIONS if counts[kind])


def _unsaid(unsaid: Rows, of: int) -> str:
    counts = Counter(row["unsaid_why"] for row in unsaid)
    whys = [(why_words(why), counts[why]) for why in WHYS if counts[why]]
    reasons = (
        whys[0][0]
        if len(whys) == 1
        else ", ".join(say("dashboard.counted_reason", n=n, reason=reason) for reason, n in whys)
    )
    return say_n("week_page.unsaid", len(unsaid), all=of, reasons=reasons)
