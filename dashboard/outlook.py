"""The sites in view with their figures and their ranking: the same for each page that shows them."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Any
from urllib.parse import urlencode

from dashboard import data
from dashboard.access import Viewer
from dashboard.answers import supply_answer
from dashboard.standing import standing
from pipeline.config import Settings
from pipeline.words import say

Rows = list[dict[str, Any]]
Period = tuple[date, date]

SHOWN_DAYS = 90  # until somebody chooses


@dataclass(frozen=True)
class Wanted:
    """Which sites are asked for; None: whatever they are."""

    district: str | None = None
    agreement: str | None = None
    standing: str | None = None


@dataclass(frozen=True)
class Outlook:
    """What is known of the sites in view.

    `places` in the order of their names, `figures` by site_id, `ranking` best first, `of` how many
    sites there are without a choice.
    """

    places: Rows
    figures: dict[str, dict[str, Any]]
    ranking: Rows
    of: int
    period: Period
    settings: Settings

    @property
    def answer(self) -> str:
        """The sentence on top."""
        if not self.places:
            return say("dashboard.none_such")
        return supply_answer(list(self.figures.values()), self.ranking, self.period[1], self.settings)

    @cached_property
    def averts(self) -> dict[str, float]:
        """What a visit averts over the most that one averts here, by site_id; without it there is no bar."""
        return {r["site_id"]: r["value"] / self.most for r in self.ranking if r["value"]}

    @cached_property
    def most(self) -> float:
        """The most hectare-days that a visit averts here."""
        return max((r["value"] or 0.0 for r in self.ranking), default=0.0)


def outlook(version: int, viewer: Viewer, period: Period, wanted: Wanted) -> Outlook:
    """Return the sites that are asked for, within the viewer's scope."""
    everywhere = data.sites(version, viewer)
    settings = data.settings(version)
    here = asked_for(everywhere, data.agreements(version, viewer), wanted)
    figures = {r["site_id"]: r for r in data.indicators(version, viewer, *period) if r["site_id"] in here}
    if wanted.standing:
        figures = {s: f for s, f in figures.items() if standing(f, settings) == wanted.standing}
    return Outlook(
        places=[s for s in everywhere if s["site_id"] in figures],
        figures=figures,
        ranking=[r for r in data.visits(version, viewer, period[1]) if r["site_id"] in figures],
        of=len(everywhere),
        period=period,
        settings=settings,
    )


def asked_for(places: Rows, agreements: Rows, wanted: Wanted) -> set[str]:
    """Return the ids of the sites in a district and under an agreement, whatever their standing."""
    paid = next((set(a["sites"]) for a in agreements if a["agreement_id"] == wanted.agreement), None)
    return {
        s["site_id"]
        for s in places
        if wanted.district in (None, s["district"]) and (paid is None or s["site_id"] in paid)
    }


def address(seen: Outlook, wanted: Wanted) -> str:
    """Return the part of an address that shows the same sites in the same period."""
    chosen = {"from": seen.period[0], "to": seen.period[1], **asdict(wanted)}
    return urlencode({name: value for name, value in chosen.items() if value})


def districts(places: Rows) -> list[str]:
    """Return the names to choose a district by."""
    return sorted({s["district"] for s in places if s["district"]})


def titles(agreements: Rows) -> dict[str, str]:
    """Return what an agreement is called where one is chosen."""
    return {a["agreement_id"]: f"{a['agreement_id']} {a['title']}" for a in agreements}


def known_period(held: Sequence[object], days: Period) -> Period:
    """Return a period within the known days; what is no day, or was not said, counts as usual.

    Parameters
    ----------
    held
        Start and end, as days or as a link writes them.
    days
        First and last day of which figures are known.
    """
    first, last = days
    start, end = (
        min(max(day_of(value, otherwise), first), last)
        for value, otherwise in zip(held, (last - timedelta(days=SHOWN_DAYS - 1), last), strict=True)
    )
    return start, max(start, end)


def day_of(held: object, otherwise: date) -> date:
    """Return the day that a field holds or a link wrote; what is none counts as not said."""
    if isinstance(held, date):
        return held
    try:
        return date.fromisoformat(str(held or ""))
    except ValueError:
        return otherwise
