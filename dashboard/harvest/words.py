"""How amounts of a harvest are said: kilograms, money, ranges, and how the kilograms are known."""

from typing import Any

from dashboard.numbers import number, share
from pipeline.measures.harvest_columns import HOW_KNOWN
from pipeline.words import say, say_n

Row = dict[str, Any]
TONNES_FROM_KG = 10_000.0


def mass(kg: float | None) -> str:
    """Return a mass, from ten tonnes on in tonnes.

    >>> mass(940.0), mass(12_340.0), mass(None)
    ('940 kg', '12.3 t', 'unknown')
    """
    if kg is None:
        return say("dashboard.unknown")
    if kg >= TONNES_FROM_KG:
        return say("harvest_page.tonnes", t=number(kg / 1000, 1))
    return say("harvest_page.kilograms", kg=number(kg, 1))


def masses(least_kg: float, most_kg: float) -> str:
    """Return a range of masses; where both ends read the same, one of them.

    >>> masses(120.0, 12_340.0), masses(3.0, 3.0)
    ('120 kg to 12.3 t', '3.0 kg')
    """
    least, most = mass(least_kg), mass(most_kg)
    return least if least == most else say("harvest_page.range", least=least, most=most)


def money(least: float, most: float, currency: str) -> str:
    """Return a range of money."""
    lower, upper = number(least, 0), number(most, 0)
    text = lower if lower == upper else say("harvest_page.range", least=lower, most=upper)
    return say("harvest_page.money", value=text, currency=currency)


def per_m3(kg_m3: float | None) -> str:
    """Return a harvest per m³, or that it is unknown."""
    if kg_m3 is None:
        return say("dashboard.unknown")
    return say("harvest_page.kg_m3", value=number(kg_m3, 3))


def published(row: Row) -> str:
    """Return a crop's published range; empty where there is none."""
    if row["published_least_kg_m3"] is None:
        return ""
    ends = (number(row[f"published_{end}_kg_m3"], 2) for end in ("least", "most"))
    return say(
        "harvest_page.kg_m3",
        value=say("harvest_page.range", **dict(zip(("least", "most"), ends, strict=True))),
    )


def known(row: Row) -> str:
    """Return how the kilograms are known, the shares that are there; what nobody said is said.

    >>> known({"harvest_kg": 5.0, "weighed_share": 0.25, "buyer_slip_share": 0.0, "recall_share": 0.5})
    '25 % weighed, 50 % from memory, 25 % nobody said how'
    """
    if not row["harvest_kg"]:
        return ""
    shares = {how: row[f"{how}_share"] for how in HOW_KNOWN}
    shares["unsaid"] = round(1.0 - sum(shares.values()), 4)
    return ", ".join(
        say(f"harvest_page.known_{how}", share=share(part)) for how, part in shares.items() if part > 0
    )


def from_memory(row: Row) -> bool:
    """Tell whether a harvest rests on memory alone."""
    return bool(row["recall_share"] == 1.0)


def half_year(months: str | None) -> str:
    """Return a half-year of planting in words.

    >>> half_year("2025-10/2026-03"), half_year("2026-04/2026-09"), half_year(None)
    ('October 2025 to March 2026', 'April to September 2026', 'no planting on record')
    """
    if months is None:
        return say("harvest_page.no_planting_on_record")
    first, last = (part[:4] for part in months.split("/"))
    if first == last:
        return say("harvest_page.from_april", year=first)
    return say("harvest_page.from_october", year=first, next=last)


def of_plantings(n: int) -> str:
    """Return how many plantings a figure rests on; empty of none."""
    return say_n("harvest_page.of_plantings", n) if n else ""
