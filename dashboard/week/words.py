"""How a change and a job are said in a few words."""

from typing import Any

from dashboard.numbers import share
from pipeline.visits.change_rules import WINDOW_DAYS
from pipeline.words import say, say_n

Row = dict[str, Any]


def change_title(row: Row) -> str:
    """Return in what way a site changed, from what to what."""
    before, now = (say(f"dashboard.cause_{row[name] or 'none'}") for name in ("cause_before", "cause_now"))
    return say(
        f"week_page.kind_{row['kind']}",
        before=before, now=now, met_before=share(row["supply_before"]), met_now=share(row["supply_now"]),
    )  # fmt: skip


def why_words(why: str) -> str:
    """Return what is missing where nothing can be said of a site."""
    return say(f"week_page.why_{why}", days=WINDOW_DAYS)


def job_title(job: Row) -> str:
    """Return whether the water stands, as far as is on record, and for how long the job has been open."""
    water = say(f"week_page.water_{job['water_stopped'] or 'unknown'}")
    if job["water_seen_on"]:
        water = say("week_page.water_seen", day=job["water_seen_on"])
    if job["age_days"] == 0:
        return say("week_page.job_title_today", water=water)
    return say_n("week_page.job_title", job["age_days"], water=water)


def job_what(job: Row) -> str:
    """Return the kind of a job and, in the technician's words, of what."""
    kind = say(f"dashboard.kind_{job['kind']}")
    if not job["component"]:
        return say("week_page.job_kind", kind=kind)
    return say("week_page.job_of", kind=kind, component=job["component"])


def job_waits(job: Row) -> str:
    """Return what a job waits for; somebody who is there waits for nobody to go."""
    if job["waits_for"] == "open" and job["arrived_on"]:
        return say("week_page.waits_arrived", day=job["arrived_on"])
    return say(f"week_page.waits_{job['waits_for']}")
