"""How a number looks on a page: one rule for all of them.

A share is a percentage without decimals, but with one where it would else round to 0 % or 100 %
without being it. Any other number has three significant digits or is whole, and never more decimals
than its figure is published with.
"""

from decimal import ROUND_HALF_UP, Decimal

from pipeline.measures.indicators import Indicator
from pipeline.words import say

SHARE = "–"  # the unit of a share
COUNT = ""  # that of a count, whole but where an agreement takes a part of it
DIGITS = 3


def _round(value: float, decimals: int) -> Decimal:
    """Half away from zero, as people do it: Python's own rounds 0.5 down."""
    return Decimal(repr(value)).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)


def share(value: float | None) -> str:
    """Return a share of 0–1 as a percentage.

    >>> share(0.273), share(0.996), share(1.0), share(0.003), share(1.312)
    ('27 %', '99.6 %', '100 %', '0.3 %', '131 %')
    """
    if value is None:
        return say("dashboard.unknown")
    percent = 100 * value
    whole = _round(percent, 0)
    hides = whole in {0, 100} and _round(percent, 1) != whole
    return say("dashboard.percent", value=f"{_round(percent, 1) if hides else whole:,}")


def number(value: float | None, decimals: int) -> str:
    """Return a number with three significant digits, or whole.

    >>> number(0.16004, 4), number(13.84, 2), number(5056.1, 1), number(3.0, 2), number(0.0, 1)
    ('0.160', '13.8', '5,056', '3.00', '0')
    """
    if value is None:
        return say("dashboard.unknown")
    before = len(str(abs(int(value)))) if abs(value) >= 1 else 0
    wanted = min(decimals, max(0, DIGITS - before))
    return f"{_round(value, wanted):,f}" if value else "0"


def figure(value: float | None, of: Indicator) -> str:
    """Return a figure as the pages show it, without its unit."""
    if of.unit == SHARE:
        return share(value)
    text = number(value, of.decimals)
    return text.rstrip("0").rstrip(".") if of.unit == COUNT and "." in text else text


def unit(of: Indicator, currency: str) -> str:
    """Return what stands behind a figure: nothing behind a percentage or a count."""
    return "" if of.unit == SHARE else of.unit.replace("currency", currency)


def exact(value: float | None, decimals: int | None = None) -> str:
    """Return a number as it stands on record: no digit of a counter or a measurement is left out.

    >>> exact(3405.0), exact(12345.678), exact(0.5), exact(-2.0), exact(986.44, 1)
    ('3,405', '12,345.678', '0.5', '-2', '986.4')
    """
    if value is None:
        return say("dashboard.unknown")
    text = f"{Decimal(repr(value)) if decimals is None else _round(value, decimals):,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
