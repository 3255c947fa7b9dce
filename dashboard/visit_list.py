"""The ranked list of visits: table in, drawn list out; a row that is clicked comes back."""

from collections.abc import Callable
from importlib.resources import files
from typing import Any

import streamlit as st

from dashboard.look import ALARM, HOVER, INK, LINE, PAPER, PICKED, QUIET, WATER
from dashboard.numbers import number, share
from dashboard.patch import Shared, as_uri, patch
from pipeline.words import say

Rows = list[dict[str, Any]]

STEP = 25  # visits that are shown before more are asked for
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
        Of the component; `st.session_state[key].picked` is the site, in `picked`.
    """
    shared = Shared()
    shown = [
        row(v, places[v["site_id"]], figures[v["site_id"]], averts.get(v["site_id"]), shared) for v in visits
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
            "step": STEP,
            "chosen": chosen,
            "unknown": say("dashboard.unknown"),
        },
        key=key,
        on_picked_change=picked,
    )


def row(
    visit: dict[str, Any], place: dict[str, Any], figure: dict[str, Any], averts: float | None, shared: Shared
) -> dict[str, Any]:
    """Return a visit as the list shows it: texts, the place of its drawing, and what it is ordered by."""
    supply, coverage = figure["relative_irrigation_supply"], figure["supply_coverage"]
    age = visit["data_age_days"]
    name, cause = place["name"] or visit["site_id"], say(f"dashboard.cause_{visit['cause']}")
    extras = {extra: "" if visit[extra] is None else str(visit[extra]) for extra in EXTRAS}
    extras["skills"] = ", ".join(
        say(f"dashboard.skill_{skill}") for skill in extras["skills"].split(";") if skill
    )
    extras["visit_kind"] = say(f"dashboard.kind_{visit['visit_kind']}") if visit["visit_kind"] else ""
    order = {
        "rank": visit["rank"],
        "site": name,
        "value": visit["value"],
        "supply": supply,
        "age": age,
        "why": cause,
    }
    return extras | {
        "site_id": visit["site_id"],
        "rank": str(visit["rank"]),
        "name": name,
        "district": place["district"] or "",
        "patch": shared.place(patch(supply, coverage, averts)),
        "value": worth(visit),
        "supply": share(supply),
        "known": say("dashboard.of_known", share=share(coverage)) if coverage else "",
        "age": say("dashboard.unknown") if age is None else str(age),
        "cause": cause,
        "evidence": visit["evidence"],
        "order": order
        | {extra: text or None for extra, text in extras.items()}
        | {"duration_h": visit["duration_h"]},
        "searched": " ".join((name, visit["site_id"], place["district"] or "", cause)),
    }


def worth(visit: dict[str, Any]) -> str:
    """Return a visit's value as shown; where the shortage is unknown it is no 0."""
    return number(visit["value"], VALUE_DECIMALS)
