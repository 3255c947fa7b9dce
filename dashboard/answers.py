"""The sentence on top of a page: computed from the rows under it."""

from datetime import date, timedelta
from typing import Any

from dashboard.standing import standing
from pipeline.config import Settings
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]

SILENT_DAYS = 14  # the sentence then names the day of the last reading
FAULTS = frozenset(
    [
        "pump_stopped", "controller_stopped", "array_loss", "array_soiled", "intake_blocked", "pump_worn",
        "source_low", "main_leak", "laterals_blocked", "tamper",
    ]
)  # fmt: skip


def supply_answer(figures: Rows, ranking: Rows, as_of: date, settings: Settings) -> str:
    """Return how many sites can be judged and how many fell short, and why the others can't be judged.

    Parameters
    ----------
    figures
        site_id, need_m3, relative_irrigation_supply and supply_coverage of each site.
    ranking
        site_id, cause and data_age_days of those in service.
    as_of
        The ranking's day.
    settings
        judged_coverage and served_supply of the programme.
    """
    if not figures:
        return say("dashboard.no_sites")
    stands = [(f, standing(f, settings)) for f in figures]
    judged = [(f, kind) for f, kind in stands if kind != "unjudged"]
    rest = [f for f, kind in stands if kind == "unjudged"]
    reasons = _reasons(rest, {r["site_id"]: r["data_age_days"] for r in ranking}, as_of)
    if not judged:
        return say_n("dashboard.none_judged", len(figures), reasons=reasons)
    kinds = _kinds(judged, {r["site_id"]: r["cause"] for r in ranking}, settings)
    if not rest:
        return say_n("dashboard.all_judged", len(figures), kinds=kinds)
    some = say_n("dashboard.some_judged", len(judged), all=f"{len(figures):,}", kinds=kinds)
    return f"{some} {say_n('dashboard.not_judged', len(rest), reasons=reasons)}"


def _kinds(judged: list[tuple[dict[str, Any], str]], causes: dict[str, str], settings: Settings) -> str:
    """How the judged ones fared; what none of them is, is left out."""
    found = {
        kind: [f["site_id"] for f, k in judged if k == kind] for kind in ("under_half", "between", "enough")
    }
    return _list(
        [
            _fared(kind, len(sites), len(judged), settings)
            + (_why(sites, causes) if kind == "under_half" else "")
            for kind, sites in found.items()
            if sites
        ]
    )


def _fared(kind: str, n: int, of: int, settings: Settings) -> str:
    served = f"{100 * settings.served_supply:.0f}"
    if of == 1:
        return say(f"dashboard.it_{kind}", served=served)
    return say_n(f"dashboard.{kind}", n, served=served)


def _why(sites: list[str], causes: dict[str, str]) -> str:
    """In brackets: what the most likely causes of the driest are."""
    found = [causes.get(site, "none") for site in sites]
    faulty = sum(cause in FAULTS for cause in found)
    unused = found.count("water_unused")
    counts = {"faulty": faulty, "unused": unused, "unclear": len(found) - faulty - unused}
    if len(sites) == 1:
        return f" ({next(say(f'dashboard.one_{kind}') for kind, n in counts.items() if n)})"
    return f" ({_list([say_n(f'dashboard.{kind}', n) for kind, n in counts.items() if n])})"


def _reasons(rest: Rows, ages: dict[str, int | None], as_of: date) -> str:
    """Why sites can't be judged; with two reasons or more, how many have each."""
    away = [f for f in rest if f["need_m3"] is None and f["site_id"] not in ages]
    without_need = [f for f in rest if f["need_m3"] is None and f["site_id"] in ages]
    needless = [f for f in rest if f["need_m3"] == 0]
    unread = [f for f in rest if f["need_m3"]]
    found = {
        _water_reason([ages.get(f["site_id"]) for f in unread], as_of): len(unread),
        say("dashboard.no_need_known"): len(without_need),
        say("dashboard.out_of_service"): len(away),
        say("dashboard.no_need"): len(needless),
    }
    shown = {reason: n for reason, n in found.items() if n}
    if len(shown) == 1:
        return next(iter(shown))
    return _list([say("dashboard.counted_reason", n=n, reason=reason) for reason, n in shown.items()])


def _water_reason(ages: list[int | None], as_of: date) -> str:
    """Too few readings; where all have been silent for long, since when."""
    known = [age for age in ages if age is not None]
    if known and len(known) == len(ages) and min(known) >= SILENT_DAYS:
        return say("dashboard.no_readings_since", day=as_of - timedelta(days=min(known)))
    return say("dashboard.too_few_readings")


def _list(parts: list[str]) -> str:
    return ", ".join(parts)
