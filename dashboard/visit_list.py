"""The ranked list of visits: table in, drawn list out; a row that is clicked comes back."""

from collections.abc import Callable
from importlib.resources import files
from typing import Any

import streamlit as st

from dashboard.look import ALARM, INK, LINE, PAPER, QUIET, WATER
from dashboard.numbers import number, share
from dashboard.patch import as_uri, patch
from pipeline.words import say

Rows = list[dict[str, Any]]

STEP = 25  # visits that are shown before more are asked for
HEADS = ("rank", "site", "value", "supply", "age", "why")
VALUE_DECIMALS = 1  # of hectare-days

STYLE = f"""
.list {{container-type:inline-size;font-family:'Atkinson Hyperlegible',sans-serif;font-size:.92rem;line-height:1.32;color:{INK};
  max-height:430px;overflow-y:auto;background:{PAPER};border:1px solid {LINE}}}
table {{border-collapse:collapse;width:100%;table-layout:fixed}}
th.rank {{width:1.5rem}} th.picture {{width:2.3rem}} th.site {{width:6rem}} th.value, th.age {{width:3rem}} th.supply {{width:4.6rem}}
th {{position:sticky;top:0;background:{PAPER};color:{QUIET};font-weight:400;font-size:.85rem;text-align:left;vertical-align:bottom;box-shadow:0 1px {LINE}}}
td, th {{padding:.4rem .45rem}}
td {{border-top:1px solid {LINE};vertical-align:top;overflow-wrap:anywhere}}
tbody tr {{cursor:pointer}} tbody tr:hover {{background:#f1eee4}}
tr[aria-current] {{background:#eaf1f5;box-shadow:inset 3px 0 {WATER}}}
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
    html='<div class="list"></div>',
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
    shown = [row(v, places[v["site_id"]], figures[v["site_id"]], averts.get(v["site_id"])) for v in visits]
    _draw(
        data={
            "visits": shown,
            "heads": {name: say(f"dashboard.head_{name}") for name in HEADS},
            "more": say("dashboard.more"),
            "step": STEP,
            "chosen": chosen,
            "unknown": say("dashboard.unknown"),
        },
        key=key,
        on_picked_change=picked,
    )


def row(
    visit: dict[str, Any], place: dict[str, Any], figure: dict[str, Any], averts: float | None
) -> dict[str, str]:
    """Return a visit as the list shows it: texts, and the patch as a picture."""
    supply, coverage = figure["relative_irrigation_supply"], figure["supply_coverage"]
    age = visit["data_age_days"]
    return {
        "site_id": visit["site_id"],
        "rank": str(visit["rank"]),
        "name": place["name"] or visit["site_id"],
        "district": place["district"] or "",
        "patch": as_uri(patch(supply, coverage, averts)),
        "value": worth(visit),
        "supply": share(supply),
        "known": say("dashboard.of_known", share=share(coverage)) if coverage else "",
        "age": say("dashboard.unknown") if age is None else str(age),
        "cause": say(f"dashboard.cause_{visit['cause']}"),
        "evidence": visit["evidence"],
    }


def worth(visit: dict[str, Any]) -> str:
    """Return a visit's value as shown; where the shortage is unknown it is no 0."""
    return number(visit["value"], VALUE_DECIMALS)
