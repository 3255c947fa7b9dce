"""What a survey and a block's own records say about its laterals: which need flushing, straightening, an end cap.

A survey stands on a site, not on a block: what it finds is somewhere at that site, unless the site has one
block with laterals only. What a block's own meter, spacing and throw say is of that block.

Thresholds that are no settings are common practice, no source: a pressure below 0.75 of the usual is low; a throw
below 0.85 of the design small; a can below a quarter of the mean nearly dry; a block with 1.2 of its design flow has
a surplus; and flow is judged only where the pump took 0.8 of its rated power, for it gives less without the sun.
Blocked holes make throws small and raise the pressure; an open end makes them small and lowers it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any

from pipeline.config import Settings
from pipeline.words import say, say_n

LOW_PRESSURE, RAISED_PRESSURE = 0.75, 1.1  # of what is usual at the site
SMALL_THROW, FULL_FLOW, SURPLUS = 0.85, 0.85, 1.2  # of the design
NEARLY_DRY, FULL_POWER = 0.25, 0.8  # of the mean of the cans; of the rated power
BAD = 2  # survey condition, of 5
Row = dict[str, Any]


class Need(StrEnum):
    """What laterals need, the most urgent first."""

    FLUSH = "flush"
    STRAIGHTEN = "straighten"
    END_CAP = "end_cap"
    NOZZLES = "nozzles"
    WATER_FIRST = "water_first"
    PRESSURE = "pressure"
    SLOWER = "slower"


NEEDS = tuple(Need)
WORK = (Need.FLUSH, Need.STRAIGHTEN, Need.END_CAP, Need.NOZZLES)  # on the laterals themselves


@dataclass(frozen=True)
class Finding:
    """A need, what shows it in words, and the day of that."""

    need: Need
    evidence: str
    on: date | None


@dataclass(frozen=True)
class Design:
    """What the blocks with laterals of a site were made for; None: not on record.

    `throw_m` is the smallest wetted diameter, or where none is known the smallest spacing; the flows are the
    least and the most of a block.
    """

    throw_m: float | None
    least_flow_m3h: float | None
    most_flow_m3h: float | None


def cans_findings(survey: Row, design: Design, settings: Settings) -> Iterator[Finding]:
    """Yield what the cans of a survey show: nothing where they filled evenly, or were too few to tell."""
    unevenness = _unevenness(survey, settings)
    if not unevenness:
        return
    on, cans = survey["surveyed_on"], [c for c in survey["depths_mm"] if c is not None]
    dry = sum(c < NEARLY_DRY * survey["mean_depth_mm"] for c in cans)
    if _is_low(survey):
        need = Need.WATER_FIRST if _lacks_flow(survey, design, settings) else Need.END_CAP
        yield Finding(need, f"{unevenness} {_pressure_words(survey)}", on)
    elif dry or _is_small(survey, design):
        more = say_n("sprays.nearly_dry", dry) if dry else _throw_words(survey, design)
        yield Finding(Need.FLUSH, f"{unevenness} {more}", on)
    else:
        yield Finding(Need.STRAIGHTEN, unevenness, on)


def _unevenness(survey: Row, settings: Settings) -> str:
    """The uniformities in words where one of them is below its threshold; else empty."""
    cu, low = survey["christiansen"], survey["low_quarter"]
    if cu is None or (cu >= settings.even_christiansen and (low is None or low >= settings.even_low_quarter)):
        return ""
    told = {"cans": survey["cans"], "cu": f"{cu:.2f}", "day": survey["surveyed_on"]}
    return say("sprays.uneven_cu", **told) if low is None else say("sprays.uneven", low=f"{low:.2f}", **told)


def gauge_findings(survey: Row, design: Design, settings: Settings) -> Iterator[Finding]:
    """Yield what the flow, the throw, the pressure and the eye of a survey show."""
    yield from _flow_findings(survey, design, settings)
    if _is_small(survey, design) and not (_is_low(survey) and _lacks_flow(survey, design, settings)):
        need = Need.PRESSURE if _pressure(survey) is None else Need.END_CAP if _is_low(survey) else Need.FLUSH
        evidence = f"{_throw_words(survey, design)} {_pressure_words(survey)}"
        yield Finding(need, evidence, survey["surveyed_on"])
    grade = survey["laterals_condition"]
    if grade is not None and grade <= BAD:
        on = survey["surveyed_on"]
        yield Finding(Need.FLUSH, say("sprays.graded", grade=grade, day=on), on)


def _flow_findings(survey: Row, design: Design, settings: Settings) -> Iterator[Finding]:
    """Of the flow at full power: too little for whichever block was open, or enough with too little pressure."""
    flow, most, on = _full_power_flow(survey), design.most_flow_m3h, survey["surveyed_on"]
    if flow is None or not most:
        return
    values = {"flow": f"{flow:.1f}", "day": on}
    if _lacks_flow(survey, design, settings):
        parts = [
            say("sprays.low_flow", design=f"{design.least_flow_m3h:.1f}", **values),
            _pressure_words(survey),
        ]
        if survey["mean_spray_diameter_m"] is not None and design.throw_m:
            parts.append(_throw_words(survey, design))
        yield Finding(_behind_low_flow(survey, design), " ".join(parts), on)
    elif flow >= FULL_FLOW * most and _is_low(survey):
        text = say("sprays.full_flow", design=f"{most:.1f}", **values)
        yield Finding(Need.END_CAP, f"{text} {_pressure_words(survey)}", on)


def _full_power_flow(survey: Row) -> float | None:
    """The measured flow where the pump took enough of its rated power; else the sun may be behind it."""
    power = _over(survey["measured_input_kw"], survey["pump_rated_power_kw"])
    flow: float | None = survey["measured_flow_m3h"]
    return None if power is None or power < FULL_POWER else flow


def _lacks_flow(survey: Row, design: Design, settings: Settings) -> bool:
    """Whether even the block that is made for the least would have got too little. An open end would take more."""
    flow, least = _full_power_flow(survey), design.least_flow_m3h
    return flow is not None and bool(least) and flow < settings.design_flow_least * (least or 0.0)


def _behind_low_flow(survey: Row, design: Design) -> Need:
    """Blocked laterals hold the water back: throws are small, the pressure rises. Else less comes from the pump."""
    pressure, throw = _pressure(survey), _over(survey["mean_spray_diameter_m"], design.throw_m)
    if throw is None:
        raised = pressure is not None and pressure >= RAISED_PRESSURE
        return Need.PRESSURE if pressure is None else Need.FLUSH if raised else Need.WATER_FIRST
    if throw >= SMALL_THROW:  # whatever the pressure: holes that are blocked throw less far
        return Need.WATER_FIRST
    return Need.PRESSURE if pressure is None else Need.WATER_FIRST if _is_low(survey) else Need.FLUSH


def block_findings(block: Row, settings: Settings) -> Iterator[Finding]:
    """Yield what a block's own spacing, throw, meter, area and soil show."""
    spacing, throw = block["lateral_spacing_m"], block["wetted_diameter_m"]
    if spacing and throw is not None and throw < spacing:
        text = say("sprays.dry_strip", spacing=f"{spacing:.2f}", throw=f"{throw:.2f}", strip=f"{100 * (spacing - throw):.0f}")  # fmt: skip
        yield Finding(Need.NOZZLES, text, None)
    yield from _own_flow(block, settings)
    if block["beyond_intake_least_mm_h"]:
        rate, intake = f"{block['application_rate_mm_h']:.1f}", f"{block['intake_most_mm_h']:.0f}"
        yield Finding(Need.SLOWER, say("sprays.too_fast", rate=rate, intake=intake), None)


def _own_flow(block: Row, settings: Settings) -> Iterator[Finding]:
    share = block["flow_share"]
    if share is None or block["flow_rests_on"] != "meter_and_log":
        return
    flow, design = (f"{block[name]:.1f}" for name in ("flow_m3h", "design_flow_m3h"))
    values = {"flow": flow, "design": design, "day": block["flow_on"]}
    if share < settings.design_flow_least:
        yield Finding(Need.FLUSH, say("sprays.own_low", **values), block["flow_on"])
    elif share > SURPLUS:
        yield Finding(Need.END_CAP, say("sprays.own_surplus", **values), block["flow_on"])


def in_order(findings: Sequence[Finding]) -> list[Finding]:
    """Return the findings, the most urgent need first."""
    return sorted(findings, key=lambda finding: NEEDS.index(finding.need))


def _pressure(survey: Row) -> float | None:
    return _over(survey["measured_pressure_kpa"], survey["usual_pressure_kpa"])


def _is_low(survey: Row) -> bool:
    share = _pressure(survey)
    return share is not None and share < LOW_PRESSURE


def _is_small(survey: Row, design: Design) -> bool:
    share = _over(survey["mean_spray_diameter_m"], design.throw_m)
    return share is not None and share < SMALL_THROW


def _pressure_words(survey: Row) -> str:
    share = _pressure(survey)
    if share is None:
        return say("sprays.no_pressure")
    raised = "raised" if share >= RAISED_PRESSURE else "kept"
    key = "sprays.pressure_low" if _is_low(survey) else f"sprays.pressure_{raised}"
    return say(
        key,
        pressure=f"{survey['measured_pressure_kpa']:.0f}",
        usual=f"{survey['usual_pressure_kpa']:.0f}",
        day=survey["surveyed_on"],
    )


def _throw_words(survey: Row, design: Design) -> str:
    key = "small_throw" if _is_small(survey, design) else "full_throw"
    return say(
        f"sprays.{key}",
        throw=f"{survey['mean_spray_diameter_m']:.2f}",
        design=f"{design.throw_m:.2f}",
        day=survey["surveyed_on"],
    )


def _over(part: float | None, whole: float | None) -> float | None:
    return None if part is None or not whole else part / whole
