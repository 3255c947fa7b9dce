"""The sentence on top of a page: computed from the rows under it."""

from typing import Any

from pipeline.words import say, say_n

Rows = list[dict[str, Any]]

JUDGED_COVERAGE = 0.7  # of the time known: below it nobody can say whether the need was met
HALF, ENOUGH = 0.5, 0.8
BROKEN = frozenset(
    ["pump_stopped", "controller_stopped", "array_loss", "intake_blocked", "main_leak", "tamper", "pump_worn"]
)


def supply_answer(figures: Rows, causes: dict[str, str]) -> str:
    """Return how many sites can be judged and how many fell short, and why the others can't be judged.

    Parameters
    ----------
    figures
        relative_irrigation_supply and supply_coverage of each site.
    causes
        The most likely cause by site_id.
    """
    judged = [
        f
        for f in figures
        if f["relative_irrigation_supply"] is not None and (f["supply_coverage"] or 0) >= JUDGED_COVERAGE
    ]
    under_half = [f for f in judged if f["relative_irrigation_supply"] < HALF]
    short = [f for f in judged if HALF <= f["relative_irrigation_supply"] < ENOUGH]
    parts = [say_n("dashboard.can_be_judged", len(judged), all=len(figures))]
    if judged:
        parts.append(
            say(
                "dashboard.fell_short",
                half=len(under_half),
                short=len(short),
                enough=len(judged) - len(under_half) - len(short),
            )
        )
    if under_half:
        kinds = [causes.get(f["site_id"], "none") for f in under_half]
        broken = sum(1 for kind in kinds if kind in BROKEN)
        unused = kinds.count("water_unused")
        parts.append(
            say("dashboard.of_these", broken=broken, unused=unused, unclear=len(kinds) - broken - unused)
        )
    if len(judged) < len(figures):
        without_need = sum(1 for f in figures if f["need_m3"] is None)
        rest = len(figures) - len(judged)
        parts.append(say_n("dashboard.cannot_be_judged", rest, need=without_need, water=rest - without_need))
    return " ".join(parts)
