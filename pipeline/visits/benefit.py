"""What a visit averts: the unmet need of the days to come, left as it is, less the same once mended."""

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.visits.causes import averted_share
from pipeline.visits.facts import Facts
from pipeline.visits.scene import Finding


@dataclass(frozen=True)
class Benefit:
    """The worth of a visit to one site.

    unmet_m3_per_day [m³/d]: of the need to come that stays unmet if nothing is done; None where need or
    water is unknown. by_day [ha·d]: averted by a visit on day 1, 2, …; empty where nobody can say.
    """

    unmet_m3_per_day: float | None
    by_day: tuple[float, ...]

    @property
    def value(self) -> float | None:
        """Of a visit now [ha·d]."""
        return self.by_day[0] if self.by_day else None


def benefit(facts: Facts, found: Sequence[Finding]) -> Benefit:
    """Return what a visit is worth.

    A site that stands still gets none of its need; elsewhere the shortage of the last weeks goes on.
    Of a silent site whose water is unknown nobody knows the shortage: its worth is the chance that it
    stands still, taken as the share of the programme's known time without water.
    """
    coming = facts["coming"]
    if facts["paused_since"] is not None:  # nobody wants to irrigate, or nobody can
        return Benefit(0.0, (0.0,) * len(coming))
    if all(m3 is None for m3, _ in coming):
        return Benefit(None, ())
    if not any(m3 for m3, _ in coming):
        return Benefit(0.0, (0.0,) * len(coming))
    need = [m3 or 0.0 for m3, _ in coming]  # after the harvest no need is on record that a visit could meet
    share, supply = averted_share(found), facts["supply"]
    if any(f.stops for f in found):
        missing = 1.0
    elif supply is not None:
        missing = max(0.0, 1.0 - supply)
    elif any(f.cause == "data_silent" for f in found) and facts["down_share"] is not None:
        return Benefit(None, _averted(need, coming, facts["down_share"]))
    else:
        return Benefit(None, ())
    return Benefit(round(missing * sum(need) / len(need), 2), _averted(need, coming, missing * share))


def _averted(
    need: Sequence[float], coming: Sequence[tuple[float | None, float | None]], share: float
) -> tuple[float, ...]:
    """Hectare-days that are averted from each day to the last; without need, 0."""
    hectare_days = sum(ha or 0.0 for m3, ha in coming if m3 is not None)
    if not hectare_days:
        return (0.0,) * len(need)
    need_per_ha = sum(need) / hectare_days
    return tuple(round(sum(need[k:]) * share / need_per_ha, 3) for k in range(len(need)))
