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
come since. The thresholds stand in `change_rules.py`.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from pipeline.config import Settings
from pipeline.errors import SunrillError
from pipeline.visits.change_rules import DIRECTIONS, WINDOW_DAYS, Side, kind_of
from pipeline.words import say

Row = dict[str, Any]


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
        The columns of `change_columns.SCHEMA`, a row for each site in service on either day: by kind as `DIRECTIONS` has them, then as
        the later ranking has them; sites that left last.
    """
    ranked = [{row["site_id"]: row for row in day.ranking} for day in (before, now)]
    figured = [{row["site_id"]: row for row in day.figures} for day in (before, now)]
    lasting = (now.on - before.on).days
    sites = sorted({*ranked[0], *ranked[1]})
    found = []
    for site_id in sites:
        pair = [Side.of(r.get(site_id), f.get(site_id), settings) for r, f in zip(ranked, figured, strict=True)]  # fmt: skip
        kind, why = kind_of(pair[0], pair[1], lasting)
        found.append(_row(site_id, kind, why, (before.on, now.on), pair))
    order = list(DIRECTIONS)
    found.sort(key=lambda r: (order.index(r["kind"]), r["rank"] is None, r["rank"] or 0, r["site_id"]))
    return found


def _row(site_id: str, kind: str, why: str, days: tuple[date, date], pair: list[Side]) -> Row:
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
