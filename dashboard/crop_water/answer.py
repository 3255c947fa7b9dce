"""The sentence on top: whether a site's crops lacked water, how sure that is, and which nobody can tell of."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from dashboard.numbers import share
from pipeline.config import Settings
from pipeline.measures.planting_water import VERDICTS, verdict
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]
Period = tuple[date, date]

MOST_NAMED = 3  # plantings that the sentence names, the worst first


def answer(plantings: Rows, without: Rows, period: Period, settings: Settings) -> str:
    """Return how many plantings lacked water, surely or perhaps, how many did not, and why of the rest nobody can say.

    Parameters
    ----------
    plantings
        As `planting_water` gives them.
    without
        As `without_balance` does: they count as unseen.
    period
        First and last day.
    settings
        The programme's.
    """
    found = by_verdict(plantings, settings)
    total = len(plantings) + len(without)
    seen = [kind for kind in VERDICTS if kind != "unseen" and found[kind]]
    kinds = ", ".join(_kind(kind, found[kind], total) for kind in seen)
    unseen = len(found["unseen"]) + len(without)
    reasons = _reasons(found["unseen"], without)
    start, end = period
    if not kinds:
        told = [say_n("crop_water_page.all_unseen", total, reasons=reasons, start=start, end=end)]
    else:
        told = [say_n("crop_water_page.answer", total, kinds=kinds, start=start, end=end)]
        told += [say_n("crop_water_page.unseen", unseen, reasons=reasons)] if unseen else []
    return " ".join([*told, shared([p for kind in seen for p in found[kind]])]).strip()


def by_verdict(plantings: Rows, settings: Settings) -> dict[str, Rows]:
    """Return the plantings by what can be said of them."""
    told = [(verdict(planting, settings.judged_coverage), planting) for planting in plantings]
    return {kind: [planting for found, planting in told if found == kind] for kind in VERDICTS}


def shared(plantings: Rows) -> str:
    """Return what all of it hangs on where blocks share one meter; else nothing."""
    blocks = sorted({p["block_id"] for p in plantings if shares(p)})
    return say("crop_water_page.if_even", blocks=listed(blocks)) if blocks else ""


def shares(planting: dict[str, Any]) -> bool:
    """Whether its water came through a meter that other blocks had, too."""
    return (planting["blocks_on_water"] or 0) > 1


def listed(names: Sequence[str]) -> str:
    """Return names one after the other.

    >>> listed(["1"]), listed(["1", "2", "3"])
    ('1', '1, 2 and 3')
    """
    if len(names) == 1:
        return names[0]
    return say("crop_water_page.and", first=", ".join(names[:-1]), last=names[-1])


def stress(planting: dict[str, Any]) -> str:
    """Return days of stress: one number, from least to most, or up to a number where it may be none."""
    if planting["stress_days_least"] == 0 < planting["stress_days_most"]:
        return say("crop_water_page.up_to", most=planting["stress_days_most"])
    return between(planting["stress_days_least"], planting["stress_days_most"])


def between(least: object, most: object) -> str:
    """Return one number, or from least to most.

    >>> between(3, 3), between(3, 5)
    ('3', '3 to 5')
    """
    return str(least) if least == most else say("crop_water_page.to", least=least, most=most)


def _kind(kind: str, plantings: Rows, total: int) -> str:
    """How many had it so; of those that lacked water or may have which, the worst first."""
    counted = _counted(kind, len(plantings), total)
    if kind == "spared":
        return counted
    worst = sorted(plantings, key=lambda p: (-p["stress_days_least"], -p["stress_days_most"], p["block_id"]))
    named = [_named(planting) for planting in worst[:MOST_NAMED]]
    left = len(worst) - MOST_NAMED
    more = [say_n("crop_water_page.others", left)] if left > 0 else []
    return f"{counted} ({'; '.join([*named, *more])})"


def _counted(kind: str, n: int, total: int) -> str:
    if total == 1:
        return say(f"crop_water_page.it_{kind}")
    return say(f"crop_water_page.all_{kind}") if n == total else say_n(f"crop_water_page.n_{kind}", n)


def _named(planting: dict[str, Any]) -> str:
    return say(
        "crop_water_page.stressed", crop=planting["crop"], block=planting["block_id"], days=stress(planting)
    )


def _reasons(unseen: Rows, without: Rows) -> str:
    """Why nobody can say; with two reasons or more, for how many each holds."""
    counts: dict[str, int] = {}
    for reason in [*map(_silent, unseen), *(say(f"crop_water_page.reason_{row['why']}") for row in without)]:
        counts[reason] = counts.get(reason, 0) + 1
    if len(counts) == 1:
        return next(iter(counts))
    return "; ".join(
        say("crop_water_page.counted_reason", n=n, reason=reason) for reason, n in counts.items()
    )


def _silent(planting: dict[str, Any]) -> str:
    """What is missing of a planting that stood for days of which too few are known."""
    seen = planting["irrigation_known_on"]
    if seen is None:
        return say("crop_water_page.reason_never")
    if planting["need_days"] < planting["irrigation_days"]:
        known = share(planting["need_days"] / planting["days"])
        return say("crop_water_page.reason_need", share=known)
    if planting["irrigation_days"] == (seen - planting["from_day"]).days + 1:
        return say("crop_water_page.reason_since", day=seen)
    return say("crop_water_page.reason_gaps", share=share(planting["irrigation_days"] / planting["days"]))
