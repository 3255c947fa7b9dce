"""The sentence on top of the harvest, what the irrigation adds, and what dryness is thought to have cost."""

from collections import Counter
from datetime import date
from typing import Any

from dashboard.harvest.words import from_memory, known, mass, masses, money
from dashboard.numbers import number
from pipeline.measures.harvest_columns import COMPARED, HOW_KNOWN, UNCOMPARED, UNCOSTED, UNRATED
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]
Period = tuple[date, date]


def harvest_answer(rows: Rows, period: Period) -> str:
    """Return what was harvested, how it compares with what is published, and of how many nobody can tell.

    Parameters
    ----------
    rows
        Of the plantings in view, as `harvest` has them.
    period
        First and last day.
    """
    planted = [row for row in rows if row["planted_on"]]
    loose = [row for row in rows if not row["planted_on"]]
    if not rows:
        return say("harvest_page.nothing", start=period[0], end=period[1])
    told = [_gave(planted, period), _compared(planted), _loose(loose, period, alone=not planted)]
    return " ".join(part for part in told if part)


def irrigation_sentence(rows: Rows) -> str:
    """Return of how many plantings the irrigation is known, and why not of the others."""
    planted = [row for row in rows if row["planted_on"]]
    whys = Counter(row["unrated_why"] for row in planted if row["unrated_why"])
    rated = len(planted) - whys.total()
    told = say_n("harvest_page.rated", rated, all=f"{len(planted):,}")
    if not whys:
        return told
    reasons = ", ".join(
        say(f"harvest_page.unrated_{why}", n=f"{whys[why]:,}") for why in UNRATED if whys[why]
    )
    return f"{told} {say_n('harvest_page.unrated', whys.total(), reasons=reasons)}"


def known_sentence(rows: Rows) -> str:
    """Return how the kilograms are known, and how many plantings rest on memory alone."""
    total = sum(row["harvest_kg"] for row in rows)
    parts = {
        f"{how}_share": sum(row["harvest_kg"] * (row[f"{how}_share"] or 0.0) for row in rows) / total
        if total
        else 0.0
        for how in HOW_KNOWN
    }
    if not total:
        return ""
    told = say("harvest_page.known", shares=known({"harvest_kg": total} | parts))
    alone = sum(1 for row in rows if row["planted_on"] and from_memory(row))
    return f"{told} {say_n('harvest_page.memory_alone', alone)}" if alone else told


def cost_sentences(rows: Rows, currency: str) -> str:
    """Return what dryness is thought to have cost, as a range, and of how many plantings nobody can say."""
    planted = [row for row in rows if row["planted_on"]]
    costed = [row for row in planted if row["lost_kg_most"] is not None]
    whys = Counter(row["uncosted_why"] for row in planted if row["uncosted_why"])
    told = [_cost(costed, currency)] if costed else []
    if whys:
        reasons = ", ".join(
            say(f"harvest_page.uncosted_{why}", n=f"{whys[why]:,}") for why in UNCOSTED if whys[why]
        )
        told.append(say_n("harvest_page.uncosted", whys.total(), reasons=reasons))
    return " ".join(told)


def _gave(planted: Rows, period: Period) -> str:
    if not planted:
        return ""
    kg = sum(row["harvest_kg"] for row in planted)
    return say_n("harvest_page.gave", len(planted), mass=mass(kg), start=period[0], end=period[1])


def _compared(planted: Rows) -> str:
    """How the plantings stand to the published ranges; the reasons of those that can't be compared."""
    stand = Counter(row["compared"] for row in planted if row["compared"])
    whys = Counter(row["uncompared_why"] for row in planted if row["uncompared_why"])
    reasons = ", ".join(
        say(f"harvest_page.uncompared_{why}", n=f"{whys[why]:,}") for why in UNCOMPARED if whys[why]
    )
    if not stand:
        return say("harvest_page.none_compared", reasons=reasons) if whys else ""
    parts = ", ".join(
        say(f"harvest_page.stands_{name}", n=f"{stand[name]:,}") for name in COMPARED if stand[name]
    )
    told = say_n("harvest_page.compared", stand.total(), parts=parts)
    return f"{told} {say_n('harvest_page.uncompared', whys.total(), reasons=reasons)}" if whys else told


def _loose(loose: Rows, period: Period, *, alone: bool) -> str:
    """What was harvested of crops without a planting."""
    if not loose:
        return ""
    key = "harvest_page.loose_alone" if alone else "harvest_page.loose"
    return say(key, mass=mass(sum(row["harvest_kg"] for row in loose)), start=period[0], end=period[1])


def _cost(costed: Rows, currency: str) -> str:
    least, most = (sum(row[f"lost_kg_{end}"] for row in costed) for end in ("least", "most"))
    gave = mass(sum(row["harvest_kg"] for row in costed))
    told = say_n("harvest_page.cost", len(costed), lost=masses(least, most), gave=gave)
    priced = [row for row in costed if row["lost_value_most"] is not None]
    if not priced:
        return f"{told} {say('harvest_page.cost_unpriced')}"
    lower, upper = (sum(row[f"lost_value_{end}"] for row in priced) for end in ("least", "most"))
    value = money(lower, upper, currency)
    key = "harvest_page.cost_value" if len(priced) == len(costed) else "harvest_page.cost_value_of"
    return f"{told} {say(key, value=value, n=number(len(priced), 0))}"
