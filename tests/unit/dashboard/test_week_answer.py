"""The sentence on top of the week, in every situation."""

from datetime import date
from typing import Any

import pytest

from dashboard.week.answer import week_answer
from dashboard.week.words import change_title, job_title, job_waits, job_what
from pipeline.visits.change_rules import DIRECTIONS
from pipeline.visits.open_jobs import LONG_DAYS

SINCE, TO = date(2026, 10, 24), date(2026, 10, 31)


def answer(*kinds: str, ages: tuple[int, ...] = (), since: date = SINCE) -> str:
    """Of sites with these kinds, `unsaid:why` with its reason, and jobs of these ages."""
    changes = [
        {"kind": kind.partition(":")[0], "direction": DIRECTIONS[kind.partition(":")[0]], "unsaid_why": kind.partition(":")[2]}
        for kind in kinds
    ]  # fmt: skip
    return week_answer(changes, [{"age_days": age} for age in ages], since, TO)


@pytest.mark.parametrize(
    ("kinds", "ages", "sentence"),
    [
        (["same"], (), "Since 24 October: no change is known at any site; no job is open."),
        (["stopped"], (1,), "Since 24 October: one site got worse (it stopped); one job is open."),
        (["restored"], (15,), "Since 24 October: one site got better; one job is open, for more than two weeks."),
        (["came", "left"], (14, 1), "Since 24 October: 2 sites changed otherwise; 2 jobs are open."),
        (
            ["stopped", "stopped", "silent", "less_of_need", "new_cause", "restored", "heard_again", "more_of_need", "other_cause", "same"],
            (1, 2, 3, 14, 15, 99),
            ("Since 24 October: 5 sites got worse (2 stopped, 1 fell silent, 1 got less of their need, 1 with a new sign of "
            "trouble), 3 got better, one changed otherwise; 6 jobs are open, 2 of them for more than two weeks."),
        ),
        (
            ["silent", "cause_gone", "unsaid:unread_now"], (),
            ("Since 24 October: one site got worse (it fell silent), one got better; no job is open. "
            "Of one of the 3 sites nothing can be said: too few water readings in the last 7 days."),
        ),
        (
            ["same", "unsaid:unread_now", "unsaid:no_need", "unsaid:unread_now"], (),
            ("Since 24 October: no change is known at any site; no job is open. Of 3 of the 4 sites nothing can be said: "
            "no crop needed water in one of the two weeks (1), too few water readings in the last 7 days (2)."),
        ),
        ([], (3,), "Since 24 October no site of these was in service; one job is open."),
    ],
)  # fmt: skip
def test_the_sentence_says_what_is_so(kinds: list[str], ages: tuple[int, ...], sentence: str) -> None:
    """None, one and many read as a person would say it; what can't be said stands with its reason."""
    assert answer(*kinds, ages=ages) == sentence


def test_two_weeks_are_fourteen_days() -> None:
    """The words say weeks, the rule counts days."""
    assert LONG_DAYS == 14


def test_a_day_of_another_year_has_its_year() -> None:
    """The end of October is read with its year in the next."""
    assert answer("same", since=date(2025, 10, 24)).startswith("Since 24 October 2025: ")


@pytest.mark.parametrize("kind", [k for k in DIRECTIONS if k not in ("unsaid", "same")])
def test_a_change_says_from_what_to_what(kind: str) -> None:
    """Every kind with a list has its own words; unknown shares are called unknown."""
    row = {
        "kind": kind,
        "cause_before": None,
        "cause_now": "pump_worn",
        "supply_before": None,
        "supply_now": 0.5,
    }
    told = change_title(row)
    assert told.endswith(".")
    assert "{" not in told
    if "of_need" in kind:
        assert "unknown before, 50 % now" in told


def job(**more: Any) -> dict[str, Any]:
    return {
        "kind": "corrective", "component": "pump", "age_days": 1, "waits_for": "open", "arrived_on": None, "water_stopped": "yes",
        "water_seen_on": None,
    } | more  # fmt: skip


def test_a_job_says_how_the_water_stands_and_what_it_waits_for() -> None:
    """Unknown water is said as such; who is there already isn't waited for."""
    assert job_title(job()) == "Water stopped. Open for one day."
    assert job_title(job(water_stopped=None, age_days=9)) == (
        "Whether the water stopped is not on record. Open for 9 days."
    )
    assert "some was seen since, last on 2026-10-30" in job_title(job(water_seen_on=date(2026, 10, 30)))
    assert job_title(job(age_days=0)) == "Water stopped. Reported on that very day."
    assert job_what(job()) == "Work: mend (pump)."
    assert job_what(job(component=None)) == "Work: mend."
    assert job_waits(job()) == "Waits for somebody to go."
    assert "2026-10-30" in job_waits(job(arrived_on=date(2026, 10, 30)))
    assert job_waits(job(waits_for="waiting_part", arrived_on=date(2026, 10, 30))) == "Waits for a part."
