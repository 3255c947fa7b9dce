"""Whether a promised figure can be defended with what is known, and what would have to come from where.

A coverage is held against `judged_coverage`, the share below which no month is judged either. Uptime has
bounds beside it: where the target lies between them, the time of which nothing is known decides.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pipeline.config import Settings
from pipeline.measures.bases import BASES

Figures = Mapping[str, Any]

VERDICTS = ("known", "bounded", "counted", "little", "open", "unknown", "unmeasured")
DEFENDED = frozenset(("known", "bounded", "counted"))
COMPLEMENT = "uptime_unknown"  # the one figure to rest on that says what is not known
LACKS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "water": ("water_coverage", "supply_coverage", "unjudged_ha"),
        "energy": ("energy_coverage",),
        "crops": ("cropping_coverage", "supply_coverage", "unjudged_ha"),
        "states": (COMPLEMENT,),
    }
)  # what can be missing, and the figures to rest on that it holds up
TOLD_BY: Mapping[str, str] = MappingProxyType(
    {
        "water": "water_coverage",
        "energy": "energy_coverage",
        "crops": "cropping_coverage",
        "states": COMPLEMENT,
    }
)  # the figure of a site that says how much of it has come


@dataclass(frozen=True)
class Ground:
    """How far a promised figure can be defended.

    Attributes
    ----------
    verdict
        One of `VERDICTS`.
    known
        Share that is known, 0 to 1; None: no coverage is computed.
    """

    verdict: str
    known: float | None = None


def ground(name: str, target: float, found: Figures, settings: Settings) -> Ground:
    """Return how far the figure of a target can be defended.

    Parameters
    ----------
    name
        Of the figure; of one that nobody measures it says so.
    target
        In the figure's unit.
    found
        Every figure of the agreement in the period.
    settings
        judged_coverage of the programme.
    """
    if name not in BASES:
        return Ground("unmeasured")
    known = _known(BASES[name].rests_on, found)
    if found.get(name) is None:
        return Ground("unknown", known)
    if name == "uptime":
        return Ground("open" if found["uptime_low"] < target <= found["uptime_high"] else "bounded", known)
    if not BASES[name].rests_on:
        return Ground("counted")
    return Ground("known" if known is not None and known >= settings.judged_coverage else "little", known)


def lacking(name: str, sites: Iterable[Figures], settings: Settings) -> dict[str, list[str]]:
    """Return what would make a figure better known: for each kind of `LACKS` the sites, the least known first.

    Parameters
    ----------
    name
        Of a figure; of one without a coverage nothing is known to lack.
    sites
        Every figure of each site in the period; one that was not in service lacks nothing.
    settings
        judged_coverage of the programme.
    """
    rests_on = BASES[name].rests_on if name in BASES else ""
    rows = list(sites)
    found = {}
    for kind, held_up in LACKS.items():
        if rests_on in held_up:
            shares = [(_known(TOLD_BY[kind], site), site["site_id"]) for site in rows]
            found[kind] = [s for k, s in sorted((k, s) for k, s in shares if k is not None and k < settings.judged_coverage)]  # fmt: skip
    return {kind: short for kind, short in found.items() if short}


def _known(rests_on: str, found: Figures) -> float | None:
    """The share of the time that is known, of what a figure rests on; an area that can't be judged is none."""
    if rests_on == "unjudged_ha":
        rests_on = "supply_coverage"
    value = found.get(rests_on)
    return 1 - value if rests_on == COMPLEMENT and value is not None else value
