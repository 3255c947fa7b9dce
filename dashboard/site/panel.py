"""A site's figures: what is most likely wrong, what can hurt there, and every figure of the period."""

from datetime import date
from html import escape
from typing import Any

from dashboard.links import link
from dashboard.numbers import figure as shown
from dashboard.numbers import share, unit
from dashboard.patch import as_uri, patch
from dashboard.visit_list import extras, worth
from pipeline.config import Settings
from pipeline.measures.indicators import BY_NAME, Indicator
from pipeline.words import say

Rows = list[dict[str, Any]]

TAKES = ("parts", "skills", "duration_h", "due_by")  # what somebody who goes there asks
GROUPS = {
    "need": ("need_m3", "net_need_mm", "other_net_need_mm", "effective_rain_mm", "relative_irrigation_supply", "supply_coverage",
             "area_ha", "served_ha", "unjudged_ha", "cropping_coverage", "weather_distance_km"),
    "water": ("water_m3", "water_m3_per_ha", "water_to_blocks_m3", "water_coverage", "longest_interval_days"),
    "energy": ("energy_kwh", "energy_kwh_per_m3", "lift_efficiency", "energy_coverage"),
    "uptime": ("uptime", "uptime_unknown", "uptime_low", "uptime_high", "report_to_water_days", "outages",
               "outages_open", "mean_up_h", "mean_down_h"),
    "money": ("om_cost", "om_cost_per_m3", "om_cost_per_ha", "harvest_kg", "harvest_value", "water_productivity_kg_m3"),
}  # fmt: skip


def heading(site: dict[str, Any]) -> str:
    """Return the site's name, id and district; a pick brings the focus here."""
    more = " · ".join(part for part in (site["site_id"], site["district"]) if part)
    return f'<h2 id="site" tabindex="-1">{escape(site["name"] or site["site_id"])} <span class="quiet">{escape(more)}</span></h2>'


def answer(figure: dict[str, Any], visit: dict[str, Any] | None, settings: Settings) -> str:
    """Return how far the need was met, how far that can be trusted, and what is most likely behind it."""
    supply, coverage = figure["relative_irrigation_supply"], figure["supply_coverage"]
    lead = (
        say("dashboard.site_unknown")
        if supply is None
        else say("dashboard.site_met", supply=share(supply), coverage=share(coverage))
    )
    lines = [f'<p class="answer"><img src="{as_uri(patch(supply, coverage))}" alt=""> {escape(lead)}</p>']
    distance_km = figure["weather_distance_km"]
    if distance_km is not None and distance_km > settings.station_low_trust_km:
        far = say("dashboard.far_weather", distance=shown(distance_km, BY_NAME["weather_distance_km"]))
        lines.append(f"<p>{escape(far)}</p>")
    if visit is None:
        lines.append(f'<p class="quiet">{escape(say("dashboard.not_in_service"))}</p>')
    else:
        lines += [f"<p>{escape(line)}</p>" for line in _cause(visit, settings.horizon_days) if line]
    return "".join(lines)


def _cause(visit: dict[str, Any], horizon_days: int) -> list[str]:
    cause = say(f"dashboard.cause_{visit['cause']}")
    likely = (
        say("dashboard.no_cause")
        if visit["cause"] == "none"
        else say("dashboard.most_likely", cause=cause, probability=share(visit["cause_probability"]))
    )
    since = say("site_page.since", day=visit["since_day"]) if visit["since_day"] else ""
    lines = [f"{likely} {visit['evidence']} {since}".rstrip()]
    others = [say(f"dashboard.cause_{c}") for c in visit["other_causes"].split(";") if c]
    if others:
        lines.append(say("dashboard.also", causes=", ".join(others)))
    key = "dashboard.worth_unknown" if visit["value"] is None else "dashboard.worth"
    lines.append(say(key, value=worth(visit), rank=visit["rank"], days=horizon_days))
    return [*lines, takes(visit)]


def takes(visit: dict[str, Any]) -> str:
    """Return which parts, skills and hours a visit takes, and until when; what isn't known is left out."""
    told = extras(visit)
    return " · ".join(
        say("dashboard.takes", what=say(f"dashboard.head_{name}"), value=told[name]) for name in TAKES if told[name]
    )  # fmt: skip


def cautions(hazards: Rows) -> str:
    """Return what can hurt somebody there, and the rules that hold at every site."""
    here = "; ".join(
        f"{say('dashboard.hazard_' + h['hazard'])}{' (' + h['note'] + ')' if h['note'] else ''}"
        for h in hazards
    )
    lead = say("dashboard.hazards_here", hazards=here) if here else say("dashboard.no_hazards")
    return f'<p class="caution"><b>{escape(lead)}</b><br>{escape(say("dashboard.cautions"))}</p>'


def figures_table(figure: dict[str, Any], period: tuple[date, date], settings: Settings) -> str:
    """Return every figure of the period with its unit and what it says, each a link to what explains it."""
    title = say("dashboard.figures_of", start=period[0], end=period[1])
    heads = "".join(
        f'<th scope="col" class="{name}">{escape(text)}</th>'
        for name, text in (
            ("", title),
            ("number", say("dashboard.figure")),
            ("unit", ""),
            ("says", say("dashboard.definition")),
        )
    )
    groups = "".join(_group(name, figure, period, settings) for name in GROUPS)
    return f'<table class="figures facts"><thead><tr>{heads}</tr></thead>{groups}</table>'


def _group(name: str, figure: dict[str, Any], period: tuple[date, date], settings: Settings) -> str:
    head = f'<tr><th scope="colgroup" colspan="4">{escape(say(f"dashboard.group_{name}"))}</th></tr>'
    rows = "".join(_row(BY_NAME[of], figure[of], period, settings) for of in GROUPS[name])
    return f'<tbody class="group">{head}{rows}</tbody>'


def _row(of: Indicator, value: float | None, period: tuple[date, date], settings: Settings) -> str:
    text = escape(shown(value, of))
    quiet = " quiet" if value is None else ""
    behind = "" if value is None else escape(unit(of, settings.currency))
    days = {"from": period[0], "to": period[1]}
    explained = link("figures", say("dashboard.figure_" + of.name), figure=of.name, **days)
    return (
        f'<tr data-figure="{of.name}"><td>{explained}</td>'
        f'<td class="number{quiet}">{text}</td><td class="unit quiet">{behind}</td>'
        f'<td class="says quiet">{escape(of.defined(settings))}</td></tr>'
    )
