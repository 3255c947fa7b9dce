"""What changed between two days: site by site, from two rankings and the figures of the days before each.

A site has one kind of change, the first of these that it shows:

- came, left: it is in service on one of the days only.
- stopped: surely no water comes at all (a rule of the ranking that `stops`), and on the earlier day
  that wasn't so. restored: the other way round, and something has been read there since the earlier
  day.
- silent: on the later day a rule finds with `SURE_SILENCE` or more that its data stay away, and on the
  earlier day none did. heard_again: the other way round. A less sure silence is a delivery that
  is late for every site, and no news of one.
- less_of_need, more_of_need: the share of the crops' need that was met in the `WINDOW_DAYS` up to each day
  (water over need, above 1 taken as 1: more than enough is no gain) fell or rose by `MET_STEP` or more.
- new_cause: the most likely cause of the later day is a sign of trouble, and on the earlier day there
  was none. cause_gone: the other way round, and the later days' water is known. other_cause:
  a sign on both days, and another one. `NO_SIGN` are causes that are none: nothing, a
  planned service, a silence.
- same: the shares of both windows can be compared, or no crop needed water in either, and none of the
  above.
- unsaid: anything else; `unsaid_why` says what is missing.

A share can be compared where `judged_coverage` of the window's time is known on both sides. The
rankings see what each day could see; the figures are those of `sunrill indicators`, with all that has
come since.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import pyarrow as pa

from pipeline.config import Settings
from pipeline.errors import SunrillError
from pipeline.words import say

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
class Column:
    """A column of the table of changes."""

    name: str
    kind: pa.DataType
    unit: str
    meaning: str


_TEXT, _SHARE, _DAY, _WHOLE = pa.string(), pa.float64(), pa.date32(), pa.int64()
COLUMNS = (
    Column("site_id", _TEXT, "", "the site"),
    Column("direction", _TEXT, "", "worse, better, otherwise, unsaid or same"),
    Column("kind", _TEXT, "", "stopped, silent, less_of_need, new_cause, restored, heard_again, more_of_need, cause_gone, other_cause, came, left, unsaid or same"),
    Column("before_on", _DAY, "", "the earlier local day"),
    Column("now_on", _DAY, "", "the later local day"),
    Column("state_before", _TEXT, "", "stopped, silent, late (as all others are) or heard; empty: not in service"),
    Column("state_now", _TEXT, "", "the same on the later day"),
    Column("cause_before", _TEXT, "", "the most likely cause on the earlier day"),
    Column("cause_now", _TEXT, "", "the most likely cause on the later day"),
    Column("cause_probability", _SHARE, "–", "of the later one"),
    Column("supply_before", _SHARE, "–", f"water over need in the {WINDOW_DAYS} days up to the earlier day; empty: unknown"),
    Column("supply_coverage_before", _SHARE, "–", "share of these days' time that is known"),
    Column("supply_now", _SHARE, "–", f"water over need in the {WINDOW_DAYS} days up to the later day; empty: unknown"),
    Column("supply_coverage_now", _SHARE, "–", "share of these days' time that is known"),
    Column("data_age_days", _WHOLE, "d", "since the newest datum, on the later day"),
    Column("rank", _WHOLE, "", "in the later ranking of visits"),
    Column("value", _SHARE, "ha·d", "what a visit averts, in the later ranking; empty: unknown"),
    Column("evidence", _TEXT, "", "the sentence of the later ranking"),
    Column("unsaid_why", _TEXT, "", "what is missing where nothing can be said: " + ", ".join(WHYS)),
)  # fmt: skip
SCHEMA = pa.schema([(column.name, column.kind) for column in COLUMNS])


@dataclass(frozen=True)
class Day:
    """What is known of the sites on one day.

    ranking: the rows of `ranking.judged`; figures: those of `figures.indicators` over `window(on)`.
    """

    on: date
    ranking: Iterable[Row]
    figures: Iterable[Row]


def window(on: date) -> tuple[date, date]:
    """Return the first and the last of the local days whose water speaks for a day."""
    return on - timedelta(days=WINDOW_DAYS - 1), on


def check_days(since: date, to: date) -> None:
    """Tell whether two days can be compared.

    Raises
    ------
    SunrillError
        Where the first isn't earlier.
    """
    if since >= to:
        raise SunrillError(say("visits.not_earlier", since=since, to=to), mend=say("visits.not_earlier_mend"))


def changes(before: Day, now: Day, settings: Settings) -> list[Row]:
    """Compare two days, site by site.

    Parameters
    ----------
    before, now
        The earlier and the later day.
    settings
        judged_coverage of the programme.

    Returns
    -------
    list of dict
        The columns of `SCHEMA`, a row for each site in service on either day: by kind as `DIRECTIONS` has them, then as
        the later ranking has them; sites that left last.
    """
    ranked = [{row["site_id"]: row for row in day.ranking} for day in (before, now)]
    figured = [{row["site_id"]: row for row in day.figures} for day in (before, now)]
    lasting = (now.on - before.on).days
    sites = sorted({*ranked[0], *ranked[1]})
    found = []
    for site_id in sites:
        pair = [_Side.of(r.get(site_id), f.get(site_id), settings) for r, f in zip(ranked, figured, strict=True)]  # fmt: skip
        kind, why = _kind(pair[0], pair[1], lasting)
        found.append(_row(site_id, kind, why, (before.on, now.on), pair))
    order = list(DIRECTIONS)
    found.sort(key=lambda r: (order.index(r["kind"]), r["rank"] is None, r["rank"] or 0, r["site_id"]))
    return found


def as_table(rows: Iterable[Row]) -> pa.Table:
    """Return rows as a table of `SCHEMA`, also where there are none."""
    return pa.Table.from_pylist(list(rows), schema=SCHEMA)


@dataclass(frozen=True)
class _Side:
    """One site on one day.

    met: share of the need [0–1], None where it can't be judged or there was no need; known: whether water
    and need of enough of the window are known.
    """

    visit: Row | None
    figure: Row
    met: float | None
    known: bool

    @classmethod
    def of(cls, visit: Row | None, figure: Row | None, settings: Settings) -> "_Side":
        told = figure or {}
        supply, coverage = told.get("relative_irrigation_supply"), told.get("supply_coverage")
        enough = (coverage or 0.0) >= settings.judged_coverage
        met = min(float(supply), 1.0) if enough and supply is not None else None
        return cls(visit, told, met, enough and (met is not None or told.get("need_m3") == 0))

    @property
    def state(self) -> str | None:
        if self.visit is None:
            return None
        if self.visit["stops"]:
            return "stopped"
        if "data_silent" not in self.visit["probabilities"]:
            return "heard"
        return "silent" if (self.visit["probabilities"]["data_silent"] or 0.0) >= SURE_SILENCE else "late"

    @property
    def cause(self) -> str:
        return "none" if self.visit is None else str(self.visit["cause"])

    @property
    def sign(self) -> str | None:
        return None if self.cause in NO_SIGN else self.cause

    def read_within(self, days: int) -> bool:
        age = None if self.visit is None else self.visit["data_age_days"]
        return age is not None and age < days


def _kind(before: _Side, now: _Side, lasting: int) -> tuple[str, str]:
    """The kind of change, and why nothing can be said."""
    if before.visit is None or now.visit is None:
        return ("came" if before.visit is None else "left"), ""
    for judge in (_stop, _silence, _water, _sign):
        found = judge(before, now, lasting)
        if found:
            return found
    if before.known and now.known and (before.met is None) == (now.met is None):
        return "same", ""
    return "unsaid", _missing(before, now)


def _stop(before: _Side, now: _Side, lasting: int) -> tuple[str, str] | None:
    was, stands = before.state == "stopped", now.state == "stopped"
    if stands:
        return ("same" if was else "stopped"), ""
    if not was:
        return None
    if now.state == "heard" and now.read_within(lasting):
        return "restored", ""
    return "unsaid", "stop_unseen"  # the sign has only grown too old


def _silence(before: _Side, now: _Side, _lasting: int) -> tuple[str, str] | None:
    if now.state == "silent" and before.state != "silent":
        return "silent", ""
    if before.state != "silent" or now.state == "silent":
        return None
    return ("heard_again", "") if now.state == "heard" else ("unsaid", "late")


def _water(before: _Side, now: _Side, _lasting: int) -> tuple[str, str] | None:
    if before.met is None or now.met is None:
        return None
    rise = round(now.met - before.met, 3)  # as the figures are published: 1.0 less 0.75 is 0.25
    if abs(rise) < MET_STEP:
        return None
    return ("more_of_need" if rise > 0 else "less_of_need"), ""


def _sign(before: _Side, now: _Side, _lasting: int) -> tuple[str, str] | None:
    if before.sign == now.sign:
        return None
    if before.sign is None:
        return "new_cause", ""
    if now.sign is not None:
        return "other_cause", ""
    return ("cause_gone", "") if now.known else None  # unread, a sign may only be unseen


def _missing(before: _Side, now: _Side) -> str:
    """What hinders the comparison, the widest reason first."""
    if now.state == "late":
        return "late"
    if None in (side.figure.get("need_m3") for side in (before, now)):
        return "no_need_known"
    if not now.known:
        return "unread_now"
    return "no_need" if before.known else "unread_before"


def _row(site_id: str, kind: str, why: str, days: tuple[date, date], pair: list[_Side]) -> Row:
    before, now = pair
    later = now.visit or {}
    return {
        "site_id": site_id,
        "direction": DIRECTIONS[kind],
        "kind": kind,
        "before_on": days[0],
        "now_on": days[1],
        "state_before": before.state,
        "state_now": now.state,
        "cause_before": None if before.visit is None else before.cause,
        "cause_now": later.get("cause"),
        "cause_probability": later.get("cause_probability"),
        "supply_before": before.figure.get("relative_irrigation_supply"),
        "supply_coverage_before": before.figure.get("supply_coverage"),
        "supply_now": now.figure.get("relative_irrigation_supply"),
        "supply_coverage_now": now.figure.get("supply_coverage"),
        "data_age_days": later.get("data_age_days"),
        "rank": later.get("rank"),
        "value": later.get("value"),
        "evidence": later.get("evidence", ""),
        "unsaid_why": why,
    }
