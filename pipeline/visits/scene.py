"""What a rule looks at, and what it may find."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from pipeline.config import Settings
from pipeline.visits.facts import Facts


@dataclass(frozen=True)
class Finding:
    """A cause, how probable, since when, the evidence, and the share of the shortage that mending it ends.

    `stops`: no water comes at all, whatever the cause turns out to be.
    """

    cause: str
    probability: float | None
    since: date | None
    evidence: str
    mends: float
    stops: bool = False


@dataclass(frozen=True)
class Scene:
    """The facts of one site on the evening of a day."""

    facts: Facts
    as_of: date
    settings: Settings

    def __getitem__(self, name: str) -> Any:
        return self.facts[name]

    @property
    def short(self) -> bool:
        """Whether the site got less than it needed, as far as is known."""
        supply = self.facts["supply"]
        return supply is not None and supply < self.settings.served_supply

    def survey_counts(self, days: int) -> bool:
        """Whether the last survey is no older, and no service has come since."""
        on = self.facts["surveyed_on"]
        return on is not None and (self.as_of - on).days <= days and not self.facts["serviced_since"]

    def ratio(self, now: str, before: str) -> float | None:
        """One fact over another; None where either is unknown or nothing."""
        over, under = self.facts[now], self.facts[before]
        return None if over is None or not under else float(over / under)


Rule = Callable[[Scene], Finding | None]
