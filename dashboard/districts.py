"""The districts beside one another: how many of their sites can be judged, and their figures."""

from html import escape
from typing import Any

from dashboard.links import link
from dashboard.numbers import figure as shown
from dashboard.numbers import share, unit
from dashboard.standing import standing
from pipeline.config import Settings
from pipeline.measures.bases import BASES
from pipeline.measures.indicators import BY_NAME, Indicator
from pipeline.words import say

Rows = list[dict[str, Any]]

COMPARED = ("relative_irrigation_supply", "water_m3_per_ha", "energy_kwh_per_m3", "uptime")


def beside_one_another(
    found: Rows, district_of: dict[str, str | None], figures: Rows, settings: Settings, chosen: str | None
) -> str:
    """Return a table of the districts; empty where there are fewer than two.

    Parameters
    ----------
    found
        Every figure of each district.
    district_of
        By site_id.
    figures
        Every figure of each site.
    settings
        currency, and what a site is judged by.
    chosen
        The district that stands out.
    """
    if len(found) < 2:  # noqa: PLR2004 - one has none beside it
        return ""
    stands: dict[str | None, list[str]] = {row["district"]: [] for row in found}
    for site in figures:
        stands[district_of[site["site_id"]]].append(standing(site, settings))
    heads = [
        say("dashboard.district"),
        say("dashboard.districts_judged"),
        say("dashboard.districts_under_half"),
    ]
    heads += [_head(BY_NAME[name], settings) for name in COMPARED]
    head = "".join(f'<th scope="col"{_kind(n)}>{escape(text)}</th>' for n, text in enumerate(heads))
    rows = "".join(_row(row, heads, stands[row["district"]], chosen) for row in found)
    return f'<div class="scroll"><table class="figures districts labelled"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>'


def _kind(place: int) -> str:
    return ' class="number"' if place else ""


def _head(of: Indicator, settings: Settings) -> str:
    behind = unit(of, settings.currency)
    return ", ".join(part for part in (say(f"dashboard.figure_{of.name}"), behind) if part)


def _row(row: dict[str, Any], heads: list[str], stands: list[str], chosen: str | None) -> str:
    name = row["district"]
    judged = [kind for kind in stands if kind != "unjudged"]
    cells = [
        escape(say("dashboard.no_district")) if name is None else link("", name, district=name),
        escape(say("dashboard.part_of", n=len(judged), of=len(stands))),
        str(judged.count("under_half")) if judged else escape(say("dashboard.unknown")),
        *(f"{escape(shown(row[n], BY_NAME[n]))}{_ground(n, row)}" for n in COMPARED),
    ]
    pairs = enumerate(zip(heads, cells, strict=True))
    drawn = "".join(f'<td{_kind(n)} data-head="{escape(head)}">{cell}</td>' for n, (head, cell) in pairs)
    picked = ' class="picked"' if name is not None and name == chosen else ""
    return f"<tr{picked}>{drawn}</tr>"


def _ground(name: str, row: dict[str, Any]) -> str:
    """What a figure rests on, small below it."""
    if row[name] is None:
        return ""
    if name == "uptime":
        text = say("dashboard.between_shares", low=share(row["uptime_low"]), high=share(row["uptime_high"]))
    else:
        text = say("dashboard.of_known", share=share(row[BASES[name].rests_on]))
    return f"<small>{escape(text)}</small>"
