"""How a block's laterals are said in a few words."""

from typing import Any

from dashboard.numbers import number, share
from pipeline.measures.spray_findings import WORK
from pipeline.words import say

Row = dict[str, Any]


def needs_words(needs: str) -> str:
    """Return needs apart by ; as words.

    >>> needs_words("flush;nozzles")
    'flush the laterals, look at nozzles and spacing'
    """
    return ", ".join(say(f"sprays_page.need_{need}") for need in needs.split(";") if need)


def is_work(needs: str) -> bool:
    """Tell whether the most urgent of needs apart by ; is work on laterals."""
    return needs.partition(";")[0] in WORK


def standing_words(row: Row) -> str:
    """Return how a block stands, in a few words that claim no more than is known."""
    if row["standing"] == "needs":
        return needs_words(row["needs"])
    if row["standing"] == "site_needs":
        key = "sprays_page.somewhere_here" if is_work(row["site_needs"]) else "sprays_page.site_here"
        return say(key, needs=needs_words(row["site_needs"]))
    if row["standing"] == "unjudged":
        return why_words(row)
    return say(f"sprays_page.stands_{row['standing']}")


def why_words(row: Row) -> str:
    """Return why nothing can be said of a block."""
    return say(f"sprays_page.unjudged_{row['unjudged_why'] or 'cans'}", day=row["cans_on"])


def overlap_words(row: Row) -> list[str]:
    """Return the share that the throws wet, and what it rests on."""
    if row["overlap_share"] is None:
        lacks = "spacing" if not row["lateral_spacing_m"] else "throw"
        return [say("dashboard.unknown"), say(f"sprays_page.no_{lacks}")]
    key = f"sprays_page.overlap_{row['throw_rests_on']}"
    values = {"throw": number(row["throw_m"], 2), "spacing": number(row["lateral_spacing_m"], 2)}
    return [share(row["overlap_share"]), say(key, **values)]


def flow_words(row: Row) -> list[str]:
    """Return the flow against the design, and what it rests on."""
    design = (
        say("sprays_page.no_design")
        if row["design_flow_m3h"] is None
        else say("sprays_page.design", flow=number(row["design_flow_m3h"], 1))
    )
    if row["flow_m3h"] is None:
        return [say("dashboard.unknown"), design]
    key = "sprays_page.flow_at_least" if row["flow_rests_on"] == "at_least" else "sprays_page.flow"
    rests_on = say(f"sprays_page.rests_on_{row['flow_rests_on']}", day=row["flow_on"])
    return [say(key, flow=number(row["flow_m3h"], 1)), design, rests_on]


def rate_words(row: Row) -> list[str]:
    """Return how fast the water falls, and what the soil takes in."""
    rate = row["application_rate_mm_h"]
    soil = (
        say("sprays_page.no_soil")
        if row["intake_most_mm_h"] is None
        else say(
            "sprays_page.intake",
            least=number(row["intake_least_mm_h"], 0),
            most=number(row["intake_most_mm_h"], 0),
        )
    )
    return [say("dashboard.unknown") if rate is None else say("sprays_page.rate", rate=number(rate, 1)), soil]


def cans_words(row: Row) -> list[str]:
    """Return the site's uniformities, and the day of the cans."""
    if row["christiansen"] is None:
        return [say("dashboard.unknown"), why_words(row) if row["unjudged_why"] else ""]
    low = say("dashboard.unknown") if row["low_quarter"] is None else f"{row['low_quarter']:.2f}"
    return [
        say("sprays_page.cu_low", cu=f"{row['christiansen']:.2f}", low=low),
        say("sprays_page.cans_on", cans=row["cans"], day=row["cans_on"]),
    ]
