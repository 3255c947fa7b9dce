"""The cans and the throws of one site: what the drawings show, as numbers and sentences."""

from collections.abc import Sequence
from html import escape
from typing import Any

from dashboard.charts.cans import told
from dashboard.numbers import number, share
from pipeline.agronomy.application import precipitation_rate_mm_h
from pipeline.agronomy.uniformity import LEAST_CANS, LEAST_CANS_LOW_HALF, LEAST_CANS_LOW_QUARTER
from pipeline.config import Settings
from pipeline.words import say, say_n

Row = dict[str, Any]
Rows = list[Row]

LEAST = {
    "christiansen": LEAST_CANS, "low_quarter": LEAST_CANS_LOW_QUARTER, "low_half": LEAST_CANS_LOW_HALF,
}  # fmt: skip
MOST_PAIRS = 3  # of a spacing and a throw that are drawn


def uniformities(survey: Row, settings: Settings) -> str:
    """Return mean, coefficient and distribution uniformities, each against its threshold or with what it lacks."""
    even_from = {"christiansen": settings.even_christiansen, "low_quarter": settings.even_low_quarter}
    depth = say("sprays_page.mm", depth=number(survey["mean_depth_mm"], 1))
    parts = [_part(say("sprays_page.mean"), depth, "")]
    for name, least in LEAST.items():
        value, title = survey[name], say(f"sprays_page.{name}")
        if value is None:
            why = say(f"sprays_page.lacks_{survey[f'{name}_reason']}", least=least, cans=survey["cans"])
            parts.append(_part(title, say("dashboard.unknown"), why))
        else:
            bound = even_from.get(name)
            below = "" if bound is None else say("sprays_page.even_from", least=f"{bound:g}")
            parts.append(_part(title, f"{value:.2f}", below, low=bound is not None and value < bound))
    return f'<dl class="even">{"".join(parts)}</dl>'


def _part(title: str, value: str, below: str, *, low: bool = False) -> str:
    mark = ' class="low"' if low else ""
    small = f"<small>{escape(below)}</small>" if below else ""
    return f"<div><dt>{escape(title)}</dt><dd{mark}>{escape(value)}</dd>{small}</div>"


def cans_table(survey: Row) -> str:
    """Return the cans one by one, folded, for who reads no drawing."""
    low = set(survey["low_cans"])
    lines = [told(n + 1, depth, low=n in low) for n, depth in enumerate(survey["depths_mm"])]
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    title = escape(say("sprays_page.cans_as_text"))
    return f'<details class="numbers"><summary>{title}</summary><ol class="cans">{items}</ol></details>'


def pairs(blocks: Rows) -> list[tuple[Row, list[str]]]:
    """Return the blocks of a site whose overlap is known, one for each spacing and throw, with the ids of its like."""
    found: dict[tuple[float, float], tuple[Row, list[str]]] = {}
    for row in blocks:
        if row["overlap_share"] is not None:
            key = (row["lateral_spacing_m"], row["throw_m"])
            found.setdefault(key, (row, []))[1].append(row["block_id"])
    return sorted(found.values(), key=lambda pair: pair[0]["overlap_share"])


def overlap_sentence(row: Row, ids: Sequence[str]) -> str:
    """Return how far the throws cover the spacing of some blocks, and what that rests on."""
    return say_n(
        f"sprays_page.cover_{row['throw_rests_on']}",
        len(ids),
        blocks=", ".join(ids),
        share=share(row["overlap_share"]),
        spacing=number(row["lateral_spacing_m"], 2),
        throw=number(row["throw_m"], 2),
        day=row["mean_spray_diameter_on"],
    )


def rate_sentence(survey: Row, hours: float, blocks: Rows) -> str:
    """Return how fast the cans filled in so many hours, and which soils of the site take that in."""
    rate = float(precipitation_rate_mm_h(survey["mean_depth_mm"], hours))
    told_rate = say("sprays_page.cans_filled", rate=number(rate, 1))
    soils = {
        row["soil"]: (row["intake_least_mm_h"], row["intake_most_mm_h"]) for row in blocks if row["soil"]
    }
    known = [_soil(soil, *span) for soil, span in sorted(soils.items()) if span[1] is not None]
    return f"{told_rate} {say('sprays_page.soils_take', soils=', '.join(known))}" if known else told_rate


def _soil(soil: str, least: float, most: float) -> str:
    name, low, high = say(f"measures.soil_{soil}"), number(least, 0), number(most, 0)
    return say("sprays_page.soil_takes", soil=name, least=low, most=high)
