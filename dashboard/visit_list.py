"""The ranked list of visits: table in, drawn list out; a row that is clicked comes back."""

from collections.abc import Callable, Mapping
from importlib.resources import files
from typing import Any

import streamlit as st

from dashboard.look import ALARM, HOVER, INK, LINE, PAPER, PICKED, QUIET, WATER
from dashboard.numbers import number, share
from dashboard.patch import Shared, as_uri, patch
from pipeline.words import say

Rows = list[dict[str, Any]]

STEP = 25  # visits that are shown before more are asked for
MOST_SENT = 300  # visits that the browser orders by itself; of more, it gets those that are looked for
HEADS = ("rank", "site", "value", "supply", "age", "why")
EXTRAS = (
    "visit_kind",
    "skills",
    "parts",
    "duration_h",
    "due_by",
    "since_day",
)  # shown where they are asked for
VALUE_DECIMALS = 1  # of hectare-days

STYLE = f"""
.list {{container-type:inline-size;font-family:'Atkinson Hyperlegible',sans-serif;font-size:.92rem;line-height:1.32;color:{INK};
  max-height:430px;overflow:auto;background:{PAPER};border:1px solid {LINE}}}
table {{border-collapse:collapse;width:100%;table-layout:fixed}}
th.rank {{width:1.5rem}} th.picture {{width:2.3rem}} th.site {{width:6rem}} th.value, th.age {{width:3rem}} th.supply {{width:4.6rem}}
th {{position:sticky;top:0;background:{PAPER};color:{QUIET};font-weight:400;font-size:.85rem;text-align:left;vertical-align:bottom;box-shadow:0 1px {LINE}}}
td, th {{padding:.4rem .45rem}}
td {{border-top:1px solid {LINE};vertical-align:top;overflow-wrap:anywhere}}
th button.order {{text-decoration:none}} th.number button.order {{text-align:right}}
.tools {{display:flex;flex-wrap:wrap;gap:.4rem 1rem;align-items:flex-start;padding-bottom:.4rem;font-family:'Atkinson Hyperlegible',sans-serif;font-size:.92rem;color:{INK}}}
.tools input[type=search] {{font:inherit;color:inherit;flex:1 1 12rem;padding:.3rem .5rem;border:1px solid {QUIET};background:{PAPER}}}
.tools label {{display:inline-flex;gap:.3rem;align-items:center;margin-right:.9rem}} summary {{cursor:pointer;padding:.3rem 0}}
.list p {{padding:.6rem}} table.wide {{min-width:64rem}}
tbody tr {{cursor:pointer}} tbody tr:hover {{background:{HOVER}}}
tr[aria-current] {{background:{PICKED};box-shadow:inset 3px 0 {WATER}}}
.number {{text-align:right;font-variant-numeric:tabular-nums}} td.number {{white-space:nowrap}} td.value span {{font-weight:700;color:{ALARM}}} td.number span.unknown {{font-weight:400;font-size:.8rem;color:{QUIET}}}
.rank {{color:{QUIET};text-align:right}} td.picture img {{display:block}}
small {{display:block;color:{QUIET};font-size:.85rem}} small.head {{display:none}}
.why b {{display:block;font-weight:700}}
button {{font:inherit;color:inherit;background:none;border:0;padding:0;text-align:left;cursor:pointer;text-decoration:underline;text-decoration-color:{LINE};text-underline-offset:3px;overflow-wrap:anywhere}}
button:focus-visible {{outline:3px solid {WATER};outline-offset:2px}}
button.more {{display:block;margin:.7rem auto;padding:.4rem 1rem;border:1px solid {QUIET};text-decoration:none}}
@container (max-width: 560px) {{
  thead {{display:none}} table, tbody {{display:block}}
  tr {{display:grid;grid-template-columns:1.6rem 44px 1fr;padding:.5rem .5rem;border-top:1px solid {LINE};column-gap:.3rem}}
  td {{border:0;padding:0}} td.rank {{text-align:left}}
  td.number {{grid-column:3;text-align:left;display:flex;gap:.4rem}} small.head {{display:inline;min-width:6.5rem}}
  td.why {{grid-column:3;padding-top:.2rem}}
}}
"""

_draw = st.components.v2.component(
    "visit_list",
    html='<div class="tools"></div><div class="list"></div>',
    css=STYLE,
    js=files("dashboard").joinpath("visit_list.js").read_text(encoding="utf-8"),
)


def visit_list(
    visits: Rows, places: dict[str, dict[str, Any]], figures: dict[str, dict[str, Any]],
    averts: dict[str, float], chosen: str | None, *, key: str, picked: Callable[[], None],
) -> None:  # fmt: skip
    """Draw the list.

    Parameters
    ----------
    visits
        The ranking, best first.
    places, figures, averts
        Name and district; supply and coverage; what a visit averts over the most in view: by site_id.
    chosen
        The site that stands out.
    key
        Of the component; `st.session_state[key].picked` is the site, in `picked`. Of many visits, `.asked` is
        what is looked for.
    """
    asked = getattr(st.session_state.get(key), "asked", None) or {}
    looked = visits if len(visits) <= MOST_SENT else looked_for(visits, places, figures, asked)
    shared = Shared()
    shown = [
        row(v, places[v["site_id"]], figures[v["site_id"]], averts.get(v["site_id"]), shared)
        for v in looked[:MOST_SENT]
    ]
    _draw(
        data={
            "visits": shown,
            "drawings": [as_uri(drawing) for drawing in shared.drawings],
            "heads": {name: say(f"dashboard.head_{name}") for name in HEADS},
            "extras": {name: say(f"dashboard.head_{name}") for name in EXTRAS},
            "more": say("dashboard.more"),
            "find": say("dashboard.find"),
            "columns": say("dashboard.columns"),
            "none": say("dashboard.none_found"),
            "all_here": len(visits) <= MOST_SENT,
            "rest": say("dashboard.rest_unsent", n=MOST_SENT, of=f"{len(looked):,}")
            if len(looked) > MOST_SENT
            else "",
            "step": STEP,
            "chosen": chosen,
            "unknown": say("dashboard.unknown"),
        },
        key=key,
        on_picked_change=picked,
        on_asked_change=lambda: None,
    )


def looked_for(
    visits: Rows,
    places: dict[str, dict[str, Any]],
    figures: dict[str, dict[str, Any]],
    asked: Mapping[str, Any],
) -> Rows:
    """Return the visits that hold a text, in an order: what the browser does with those that it has.

    Parameters
    ----------
    visits, places, figures
        As in `visit_list`.
    asked
        find: the text; by: a column; down: the greatest first. What is unknown stands last either way.
    """
    wanted, by = str(asked.get("find") or "").strip().lower(), asked.get("by")
    named = [(v, places[v["site_id"]]) for v in visits]
    found = [v for v, place in named if wanted in _searched(v, place).lower()]
    if by not in (*HEADS, *EXTRAS):
        return found
    ordered = [(_order(v, places[v["site_id"]], figures[v["site_id"]])[by], v) for v in found]
    known = sorted(
        (pair for pair in ordered if pair[0] is not None),
        key=lambda pair: pair[0],
        reverse=bool(asked.get("down")),
    )
    return [v for _, v in known] + [v for value, v in ordered if value is None]


def _searched(visit: dict[str, Any], place: dict[str, Any]) -> str:
    """The texts by which a visit is found."""
    cause = say(f"dashboard.cause_{visit['cause']}")
    return " ".join((place["name"] or "", visit["site_id"], place["district"] or "", cause))


def _order(visit: dict[str, Any], place: dict[str, Any], figure: dict[str, Any]) -> dict[str, Any]:
    """What each column is ordered by; None: unknown."""
    return (
        {
            "rank": visit["rank"],
            "site": place["name"] or visit["site_id"],
            "value": visit["value"],
            "supply": figure["relative_irrigation_supply"],
            "age": visit["data_age_days"],
            "why": say(f"dashboard.cause_{visit['cause']}"),
        }
        | {name: text or None for name, text in extras(visit).items()}
        | {"duration_h": visit["duration_h"]}
    )


def extras(visit: dict[str, Any]) -> dict[str, str]:
    """Return what a visit takes and until when, as the list shows it where it is asked for."""
    told = {extra: "" if visit[extra] is None else str(visit[extra]) for extra in EXTRAS}
    skills = (say(f"dashboard.skill_{skill}") for skill in told["skills"].split(";") if skill)
    kind = say(f"dashboard.kind_{visit['visit_kind']}") if visit["visit_kind"] else ""
    return told | {"skills": ", ".join(skills), "visit_kind": kind}


def row(
    visit: dict[str, Any], place: dict[str, Any], figure: dict[str, Any], averts: float | None, shared: Shared
) -> dict[str, Any]:
    """Return a visit as the list shows it: texts, the place of its drawing, and what it is ordered by."""
    supply, coverage = figure["relative_irrigation_supply"], figure["supply_coverage"]
    age = visit["data_age_days"]
    return extras(visit) | {
        "site_id": visit["site_id"],
        "rank": str(visit["rank"]),
        "name": place["name"] or visit["site_id"],
        "district": place["district"] or "",
        "patch": shared.place(patch(supply, coverage, averts)),
        "value": worth(visit),
        "supply": share(supply),
        "known": say("dashboard.of_known", share=share(coverage)) if coverage else "",
        "age": say("dashboard.unknown") if age is None else str(age),
        "cause": say(f"dashboard.cause_{visit['cause']}"),
        "evidence": visit["evidence"],
        "order": _order(visit, place, figure),
        "searched": _searched(visit, place),
    }


def worth(visit: dict[str, Any]) -> str:
    """Return a visit's value as shown; where the shortage is unknown it is no 0."""
    return number(visit["value"], VALUE_DECIMALS)
