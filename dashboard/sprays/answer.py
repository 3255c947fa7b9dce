"""The sentence on top of the sprays: what needs work, and of how many sites nobody can tell."""

from collections import Counter
from datetime import date
from typing import Any

from pipeline.config import Settings
from pipeline.measures.spray_columns import UNJUDGED
from pipeline.measures.spray_findings import WORK, Need
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]


def sprays_answer(rows: Rows, sites: int, to_day: date, settings: Settings) -> str:
    """Return which work is needed at how many blocks and sites, and of how many the cans tell nothing.

    Parameters
    ----------
    rows
        Of the blocks in view, as `block_sprays` gives them.
    sites
        How many there are in view.
    to_day
        The day of the rows.
    settings
        spray_evidence_days of the programme.
    """
    by_site = {row["site_id"]: row for row in rows if row["standing"] != "no_laterals"}
    if not by_site:
        return say_n("sprays_page.no_laterals_here", sites, day=to_day)
    parts = [_work(rows, list(by_site.values())), _before_the_laterals(list(by_site.values()), rows)]
    seen = _seen(list(by_site.values()), sites, to_day, settings)
    return " ".join(part for part in (*parts, seen) if part)


def first_need(needs: str) -> str:
    """Return the most urgent of needs apart by ;, or nothing."""
    return needs.partition(";")[0]


def _work(rows: Rows, sites: Rows) -> str:
    named = [first_need(row["needs"]) for row in rows]
    somewhere = [first_need(row["site_needs"]) for row in sites]
    blocks, places = (Counter(need for need in found if need in WORK) for found in (named, somewhere))
    parts = []
    if blocks:
        parts.append(say_n("sprays_page.named", blocks.total(), kinds=_kinds("n", blocks)))
    if places:
        key = "sprays_page.and_somewhere" if blocks else "sprays_page.somewhere"
        parts.append(say_n(key, places.total(), kinds=_kinds("at", places)))
    return (", ".join(parts) or say("sprays_page.nothing_needed")) + "."


def _kinds(whose: str, counts: Counter[str]) -> str:
    return ", ".join(say(f"sprays_page.{whose}_{need}", n=counts[need]) for need in WORK if counts[need])


def _before_the_laterals(sites: Rows, rows: Rows) -> str:
    """Where something else comes first: the water itself, a pressure that nobody measured, or shorter turns."""
    told = []
    for need in (Need.WATER_FIRST, Need.PRESSURE):
        of = {row["site_id"] for row in sites if first_need(row["site_needs"]) == need}
        of |= {row["site_id"] for row in rows if first_need(row["needs"]) == need}
        if of:
            told.append(say_n(f"sprays_page.sites_{need.value}", len(of)))
    slower = sum(first_need(row["needs"]) == Need.SLOWER for row in rows)
    if slower:
        told.append(say_n("sprays_page.blocks_slower", slower))
    return " ".join(told)


def _seen(with_laterals: Rows, sites: int, to_day: date, settings: Settings) -> str:
    """Of all sites: how many have cans that count, and why the others don't."""
    whys = Counter(row["unjudged_why"] for row in with_laterals)
    read = whys[""]
    reasons = [say(f"sprays_page.why_{why}", n=whys[why]) for why in UNJUDGED if whys[why]]
    without = sites - len(with_laterals)
    if without:
        reasons.append(say_n("sprays_page.why_no_laterals", without))
    lead = say_n("sprays_page.seen", sites, read=read, days=settings.spray_evidence_days, day=to_day)
    if not reasons:
        return f"{lead}."
    return f"{lead}; {say('sprays_page.unseen', n=sites - read, reasons=', '.join(reasons))}"
