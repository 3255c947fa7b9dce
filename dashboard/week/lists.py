"""The lists of the week as HTML: changed sites, whom to telephone, open jobs. Every text is escaped."""

import re
from datetime import date
from html import escape
from typing import Any

from dashboard.links import link
from dashboard.look import ALARM, LINE, PAPER, QUIET, WATER
from dashboard.numbers import share
from dashboard.patch import as_uri, patch
from dashboard.week.words import change_title, job_title, job_waits, job_what, why_words
from pipeline.visits.change_rules import WHYS
from pipeline.words import say, say_n

Row = dict[str, Any]
Rows = list[Row]

MOST = 25  # of a list on the page; the files have all
DIALLED = re.compile(r"\+?\d{4,15}")  # what a telephone can dial, once spaces and dashes are out

RULES = f"""
:is(.stApp, main) .week {{list-style:none;margin:0;padding:0;background:{PAPER};border:1px solid {LINE};overflow-wrap:anywhere}}
:is(.stApp, main) .week > li {{display:grid;grid-template-columns:6.2rem minmax(0,1fr);column-gap:.9rem;padding:.6rem .8rem;margin:0;border-top:1px solid {LINE}}}
:is(.stApp, main) .week > li:first-child {{border-top:0}}
:is(.stApp, main) .week.plain > li {{display:block}}
.week .then {{color:{QUIET};font-size:.85rem;line-height:1.25;font-variant-numeric:tabular-nums}}
.week .then img {{vertical-align:middle}} .week .then span {{display:block}}
.week b.worse {{color:{ALARM}}}
.week a {{color:{WATER};text-underline-offset:3px}} .week .who a {{font-size:1.1rem;font-weight:700;white-space:nowrap;padding:.3rem 0;display:inline-block}}
:is(.stApp, main) .week .ask {{border-left:3px solid {WATER};padding-left:.7rem;margin:.3rem 0}}
:is(.stApp, main) .week p {{line-height:1.4}} .week small {{color:{QUIET};font-size:.85rem}}
:is(.stApp, main) p.down {{display:none;margin-top:.5rem}}
@media (max-width: 1000px) {{:is(.stApp, main) p.down {{display:block}}}}
:is(.stApp, main) p.before {{margin-bottom:.6rem}}
@media (max-width: 640px) {{
  :is(.stApp, main) .week > li {{display:block}} .week .then span {{display:inline;margin-left:.5rem}}
}}
"""  # on the page without a script too
STYLE = f"<style>{RULES}</style>"


def site_link(site: Row) -> str:
    """Return a site's name as a link to its page, with its district."""
    more = " · ".join(part for part in (site["site_id"], site["district"]) if part)
    way = link("site", site["name"] or site["site_id"], site=site["site_id"])
    return f"{way} <small><bdi>{escape(more)}</bdi></small>"


def ways_down(calls: Rows, jobs: Rows) -> str:
    """Return the ways to the lists that a narrow screen has far below; a wide one has them beside the changes."""
    ways = [("calls", say("week_page.to_calls", n=len(calls)))] if calls else []
    ways += [("jobs", say("week_page.to_jobs", n=len(jobs)))] if jobs else []
    told = " · ".join(f'<a href="#{name}">{escape(text)}</a>' for name, text in ways)
    return f'<p class="down">{told}</p>' if told else ""


def change_list(changes: Rows, places: dict[str, Row], jobs: Rows) -> str:
    """Return changed sites: the field patch before and now, in what way, why, and whether a job is open for it.

    Parameters
    ----------
    changes
        Of one direction.
    places
        Name and district by site_id.
    jobs
        Those that are open on the later day.
    """
    return _listed([_change(row, places[row["site_id"]], jobs) for row in changes], "week")


def _change(row: Row, site: Row, jobs: Rows) -> str:
    worse = ' class="worse"' if row["direction"] == "worse" else ""
    evidence = f"<p>{escape(row['evidence'])}</p>" if row["evidence"] else ""
    return (
        f'<li data-site="{escape(row["site_id"])}" data-kind="{escape(row["kind"])}"><div class="then">{_patches(row)}</div>'
        f"<div><p>{site_link(site)}</p><p><b{worse}>{escape(change_title(row))}</b></p>{evidence}{_attended(row, jobs)}</div></li>"
    )


def _attended(row: Row, jobs: Rows) -> str:
    """Whether somebody is on it: the site's open jobs, or that there is none; of what got better nobody asks."""
    if row["direction"] == "better":
        return ""
    told = [
        say("week_page.job_here", job=job["record_id"], waits=job_waits(job))
        for job in jobs
        if job["site_id"] == row["site_id"]
    ]
    lines = "<br>".join(escape(line) for line in told or [say("week_page.no_job_here")])
    return f"<p><small>{lines}</small></p>"


def _patches(row: Row) -> str:
    """The patch of the days before each day, with its figures under it."""
    sides = [(row[f"supply_{when}"], row[f"supply_coverage_{when}"], row[f"{when}_on"]) for when in ("before", "now")]  # fmt: skip
    images = [
        f'<img src="{as_uri(patch(supply, coverage))}" alt="{escape(_alt(supply, coverage, on))}">'
        for supply, coverage, on in sides
    ]
    told = " → ".join(share(supply) for supply, _, _ in sides)
    return f"{images[0]} → {images[1]}<span>{escape(told)}</span>"


def _alt(supply: float | None, coverage: float | None, on: date) -> str:
    return say("week_page.patch", day=on, supply=share(supply), coverage=share(coverage))


def unsaid_list(unsaid: Rows, places: dict[str, Row]) -> str:
    """Return of which sites nothing can be said, by what is missing."""
    items = []
    for why in WHYS:
        sites = [site_link(places[row["site_id"]]) for row in unsaid if row["unsaid_why"] == why]
        if sites:
            more = _more(len(sites) - MOST)
            items.append(
                f'<li data-why="{why}"><p>{escape(why_words(why))}</p><p>{"<br>".join(sites[:MOST])}</p>{more}</li>'
            )
    return f'<ol class="week plain">{"".join(items)}</ol>'


def call_list(calls: Rows, places: dict[str, Row]) -> str:
    """Return whom to telephone: the contact with number and language, the last call, and what to ask."""
    return _listed([_call(row, places[row["site_id"]]) for row in calls], "week plain")


def _call(row: Row, site: Row) -> str:
    contacts = [_contact(contact) for contact in row["contacts"]] or [say("week_page.no_contact")]
    who = "".join(f'<p class="who">{text if row["contacts"] else escape(text)}</p>' for text in contacts)
    return (
        f'<li data-site="{escape(row["site_id"])}"><p>{site_link(site)}</p>{who}'
        f'<p class="ask">{escape(say("week_page.ask_" + row["ask"]))}</p>'
        f"<p><small>{escape(_last_call(row))}<br>{escape(row['evidence'])}</small></p></li>"
    )


def _contact(contact: Row) -> str:
    """Name, role, number and language of a person as HTML."""
    number = (contact["phone"] or "").strip()
    dialled = re.sub(r"[\s().\-/]", "", number)
    phone = (
        f'<a href="tel:{dialled}">{escape(number)}</a>'
        if DIALLED.fullmatch(dialled)
        else escape(number or say("week_page.no_number"))
    )
    language = say("week_page.speaks", tongue=contact["language"]) if contact["language"] else ""
    agreed = "" if contact["agreed"] else say("week_page.not_agreed")
    told = [
        f"<bdi>{escape(part)}</bdi>" for part in (contact["name"], contact["role"], language, agreed) if part
    ]
    return " · ".join([*told[:1], phone, *told[1:]])


def _last_call(row: Row) -> str:
    if row["called_on"] is None:
        return say("week_page.never_called")
    ago = say_n("week_page.called", row["called_days_ago"], day=row["called_on"])
    answer = say("week_page.answered", answer=row["answer"]) if row["answer"] else say("week_page.no_answer")
    follows = say("week_page.next_step", step=row["next_step"]) if row["next_step"] else ""
    return " ".join(part for part in (ago, answer, follows) if part)


def job_list(jobs: Rows, places: dict[str, Row]) -> str:
    """Return the open jobs, those that stopped the water first."""
    return _listed([_job(job, places[job["site_id"]]) for job in jobs], "week plain")


def _job(job: Row, site: Row) -> str:
    worse = ' class="worse"' if job["water_stopped"] == "yes" and not job["water_seen_on"] else ""
    reported = say("week_page.reported", job=job["record_id"], day=job["reported_on"])
    return (
        f'<li data-job="{escape(job["record_id"])}"><p>{site_link(site)}</p>'
        f"<p><b{worse}>{escape(job_title(job))}</b></p>"
        f"<p><bdi>{escape(job_what(job))}</bdi></p><p>{escape(job_waits(job))}</p><p><small>{escape(reported)}</small></p></li>"
    )


def _listed(items: list[str], kind: str) -> str:
    return f'<ol class="{kind}">{"".join(items[:MOST])}</ol>{_more(len(items) - MOST)}'


def _more(left: int) -> str:
    return f'<p class="quiet">{escape(say_n("week_page.more", left))}</p>' if left > 0 else ""
