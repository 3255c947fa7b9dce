"""The kinds of change: what two days of a site must show for each. They are told in `changes.py`."""

from dataclasses import dataclass
from typing import Any

from pipeline.config import Settings

Row = dict[str, Any]

WINDOW_DAYS = 7  # our own choice: one turn of the field's week, with as many market days as any other
MET_STEP = 0.25  # of the need, our own choice: in a common week few sites move by as much
SURE_SILENCE = 0.5  # our own choice: the rule of silence gives it to a site that lags behind the others
NO_SIGN = frozenset({"none", "service_overdue", "data_silent"})  # our own choice

DIRECTIONS = {  # of each kind; rows stand in this order
    "stopped": "worse", "silent": "worse", "less_of_need": "worse", "new_cause": "worse",
    "restored": "better", "heard_again": "better", "more_of_need": "better", "cause_gone": "better",
    "other_cause": "otherwise", "came": "otherwise", "left": "otherwise",
    "unsaid": "unsaid", "same": "same",
}  # fmt: skip
WHYS = ("stop_unseen", "late", "no_need_known", "no_need", "unread_now", "unread_before")


@dataclass(frozen=True)
class Side:
    """One site on one day.

    visit: its row of the ranking, None out of service; figure: its figures of the window; met: share of the need [0–1], None where it can't be judged or there was no need; known: whether water
    and need of enough of the window are known.
    """

    visit: Row | None
    figure: Row
    met: float | None
    known: bool

    @classmethod
    def of(cls, visit: Row | None, figure: Row | None, settings: Settings) -> "Side":
        """Return the side, with what `judged_coverage` of the programme lets be judged."""
        told = figure or {}
        supply, coverage = told.get("relative_irrigation_supply"), told.get("supply_coverage")
        enough = (coverage or 0.0) >= settings.judged_coverage
        met = min(float(supply), 1.0) if enough and supply is not None else None
        return cls(visit, told, met, enough and (met is not None or told.get("need_m3") == 0))

    @property
    def state(self) -> str | None:
        """Whether it is stopped, silent, late as all others are, or heard; None out of service."""
        if self.visit is None:
            return None
        if self.visit["stops"]:
            return "stopped"
        if "data_silent" not in self.visit["probabilities"]:
            return "heard"
        return "silent" if (self.visit["probabilities"]["data_silent"] or 0.0) >= SURE_SILENCE else "late"

    @property
    def cause(self) -> str:
        """The most likely cause."""
        return "none" if self.visit is None else str(self.visit["cause"])

    @property
    def sign(self) -> str | None:
        """The most likely cause where it is a sign of trouble."""
        return None if self.cause in NO_SIGN else self.cause

    def read_within(self, days: int) -> bool:
        """Tell whether its newest datum is of the last days."""
        age = None if self.visit is None else self.visit["data_age_days"]
        return age is not None and age < days


def kind_of(before: Side, now: Side, lasting: int) -> tuple[str, str]:
    """Return the kind of change, and why nothing can be said, else an empty text.

    Parameters
    ----------
    before, now
        The site on the earlier and the later day.
    lasting
        Days between the two.
    """
    if before.visit is None or now.visit is None:
        return ("came" if before.visit is None else "left"), ""
    for judge in (_stop, _silence, _water, _sign):
        found = judge(before, now, lasting)
        if found:
            return found
    if before.known and now.known and (before.met is None) == (now.met is None):
        return "same", ""
    return "unsaid", _missing(before, now)


def _stop(before: Side, now: Side, lasting: int) -> tuple[str, str] | None:
    was, stands = before.state == "stopped", now.state == "stopped"
    if stands:
        return ("same" if was else "stopped"), ""
    if not was:
        return None
    if now.state == "heard" and now.read_within(lasting):
        return "restored", ""
    return "unsaid", "stop_unseen"  # the sign has only grown too old


def _silence(before: Side, now: Side, _lasting: int) -> tuple[str, str] | None:
    if now.state == "silent" and before.state != "silent":
        return "silent", ""
    if before.state != "silent" or now.state == "silent":
        return None
    return ("heard_again", "") if now.state == "heard" else ("unsaid", "late")


def _water(before: Side, now: Side, _lasting: int) -> tuple[str, str] | None:
    if before.met is None or now.met is None:
        return None
    rise = round(now.met - before.met, 3)  # as the figures are published: 1.0 less 0.75 is 0.25
    if abs(rise) < MET_STEP:
        return None
    return ("more_of_need" if rise > 0 else "less_of_need"), ""


def _sign(before: Side, now: Side, _lasting: int) -> tuple[str, str] | None:
    if before.sign == now.sign:
        return None
    if before.sign is None:
        return "new_cause", ""
    if now.sign is not None:
        return "other_cause", ""
    return ("cause_gone", "") if now.known else None  # unread, a sign may only be unseen


def _missing(before: Side, now: Side) -> str:
    """What hinders the comparison, the widest reason first."""
    if now.state == "late":
        return "late"
    if None in (side.figure.get("need_m3") for side in (before, now)):
        return "no_need_known"
    if not now.known:
        return "unread_now"
    return "no_need" if before.known else "unread_before"
