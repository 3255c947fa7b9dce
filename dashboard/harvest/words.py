"""How amounts of a harvest are said: kilograms, money, ranges, and how the kilograms are known."""

from math import floor
from typing import Any

from dashboard.numbers import exact, number, share
from pipeline.measures.harvest_columns import HOW_KNOWN, LEAST_COVERAGE
from pipeline.words import say, say_n

Row = dict[str, Any]
TONNES_FROM_KG, MILLION = 10_000.0, 1_000_000.0
LEAST_SHARE = 0.001  # below it lies the rounding of the others


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
    lower, upper = _amount(least), _amount(most)
    text = lower if lower == upper else say("harvest_page.range", least=lower, most=upper)
    return say("harvest_page.money", value=text, currency=currency)


def _amount(value: float) -> str:
    """Money with three significant digits, from a million on in millions.

    >>> _amount(15_704_720.0), _amount(185_003.0)
    ('15.7 million', '185,003')
    """
    if value >= MILLION:
        return say("harvest_page.million", value=number(value / MILLION, 2))
    return number(value, 0)


def covered(coverage: float) -> str:
    """Return how much of a time is known; what falls short of the bound by less than a percent doesn't read as if it met it.

    >>> covered(0.7995), covered(0.8), covered(0.54)
    ('79.9 % known', '80 % known', '54 % known')
    """
    text = share(coverage)
    if text == share(LEAST_COVERAGE) and coverage < LEAST_COVERAGE:
        text = say("dashboard.percent", value=f"{floor(1000 * coverage) / 10:.1f}")
    return say("dashboard.of_known", share=text)


def per_m3(kg_m3: float | None) -> str:
    """Return a harvest per m³, or that it is unknown."""
    if kg_m3 is None:
        return say("dashboard.unknown")
    return say("harvest_page.per_cubic_metre", value=number(kg_m3, 3))


def published(row: Row) -> str:
    """Return a crop's published range; empty where there is none."""
    if row["published_least_kg_m3"] is None:
        return ""
    least, most = (exact(row[f"published_{end}_kg_m3"]) for end in ("least", "most"))
    return say("harvest_page.per_cubic_metre", value=say("harvest_page.range", least=least, most=most))


def known(row: Row) -> str:
    """Return how the kilograms are known, the shares that are there; what nobody said is said.

    >>> known({"harvest_kg": 5.0, "weighed_share": 0.25, "buyer_slip_share": 0.0, "recall_share": 0.5})
    '25 % weighed, 50 % from memory, 25 % nobody said how'
    """
    if not row["harvest_kg"]:
        return ""
    shares = {how: row[f"{how}_share"] for how in HOW_KNOWN}
    shares["unsaid"] = 1.0 - sum(shares.values())
    told = {how: part for how, part in shares.items() if part >= LEAST_SHARE}
    if len(told) == 1:
        return say(f"harvest_page.all_{next(iter(told))}")
    return ", ".join(say(f"harvest_page.known_{how}", share=share(part)) for how, part in told.items())


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
