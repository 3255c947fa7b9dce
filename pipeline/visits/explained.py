"""How a visit's value is reckoned, and what each rule looks for: the causes in words, with their thresholds.

Probabilities and shares stand in the rules; a test holds the lists here to them.
"""

from dataclasses import dataclass

from pipeline.agronomy.uniformity import LEAST_CANS_LOW_QUARTER
from pipeline.config import Settings
from pipeline.visits import rules_field, rules_lift, rules_stops
from pipeline.visits.facts import LOOKED_BACK
from pipeline.visits.ranking import STOP_DAYS
from pipeline.words import say


@dataclass(frozen=True)
class Rule:
    """One rule: the causes that it may find, how probable, and which share of the shortage mending ends.

    The lists are in the order in which the rule has them.
    """

    name: str
    causes: tuple[str, ...]
    probabilities: tuple[float, ...]
    mends: tuple[float, ...]


JOB_CAUSES = tuple(dict.fromkeys(cause for _, cause in rules_stops.WORDS_OF_JOBS))
RULES: tuple[Rule, ...] = (
    Rule("stopped_by_a_job", (*JOB_CAUSES, "tamper"), (0.5, 0.85), (1.0,)),
    Rule("stopped_by_the_log", ("pump_stopped", "controller_stopped", "tamper"), (0.7,), (1.0,)),
    Rule("still_at_the_meter", ("pump_stopped",), (0.6, 0.4), (0.9,)),
    Rule("still_counter", ("meter_stuck",), (0.4,), (0.0,)),
    Rule("stuck_meter", ("meter_stuck",), (0.65,), (0.0,)),
    Rule("tampered", ("tamper",), (0.4, 0.75), (0.3, 0.9)),
    Rule("dry_source", ("source_low",), (0.6, 0.5), (0.1,)),
    Rule("blocked_intake", ("intake_blocked",), (0.7, 0.5, 0.3, 0.45), (0.8,)),
    Rule("worn_pump", ("pump_worn",), (0.5, 0.3, 0.4, 0.25), (0.7, 0.5)),
    Rule("lost_array", ("array_loss",), (0.5,), (0.7,)),
    Rule("soiled_array", ("array_soiled",), (0.45, 0.3, 0.4), (0.5,)),
    Rule("leaking_main", ("main_leak",), (0.5,), (0.7,)),
    Rule("doubled_blocks", ("blocks_doubled",), (0.6, 0.5), (0.5,)),
    Rule("blocked_laterals", ("laterals_blocked",), (0.45, 0.4), (0.3,)),
    Rule("silent", ("data_silent",), (0.5, 0.25), (0.0,)),
    Rule("unused_water", ("water_unused",), (0.2, 0.45), (0.3,)),
    Rule("overdue_service", ("service_overdue",), (0.4, 0.2), (0.4, 0.1)),
    Rule("no_sign", ("none",), (0.5, 0.8), (0.3, 0.0)),
)


@dataclass(frozen=True)
class Told:
    """A rule as people read it: causes, what it looks for; least and greatest probability and share."""

    causes: tuple[str, ...]
    looks_for: str
    probability: tuple[float, float]
    ends: tuple[float, float]


def rules(settings: Settings) -> list[Told]:
    """Return every rule in words, its thresholds as they are in force."""
    values = thresholds(settings)
    return [
        Told(
            tuple(say(f"dashboard.cause_{cause}") for cause in rule.causes),
            say(f"explained.rule_{rule.name}", **values),
            (min(rule.probabilities), max(rule.probabilities)),
            (min(rule.mends), max(rule.mends)),
        )
        for rule in RULES
    ]


def value(settings: Settings) -> list[str]:
    """Return how a visit's value is reckoned, a sentence or two a step."""
    values = thresholds(settings)
    return [
        say(f"explained.value_{step}", **values)
        for step in ("formula", "shortage", "share", "need", "unknown", "rank")
    ]


def thresholds(settings: Settings) -> dict[str, str]:
    """Return what the sentences name: settings, and the rules' own bounds; shares in percent."""
    stops, lift, field = rules_stops, rules_lift, rules_field
    percent = {
        "served_pct": settings.served_supply, "little_supply": field.LITTLE_SUPPLY, "little_use": field.LITTLE_USE,
        "reached": field.REACHED_SHARE, "low_pressure": field.LOW_PRESSURE, "small_spray": field.SMALL_SPRAY,
        "full_flow": field.FULL_FLOW, "weak_input": lift.WEAK_INPUT, "sudden_fall": lift.SUDDEN_FALL,
        "half_low": LOOKED_BACK["half_low"], "half_high": LOOKED_BACK["half_high"],
    }  # fmt: skip
    plain = {
        "still_days": stops.STILL_DAYS, "delivery_days": stops.DELIVERY_DAYS, "bad": field.BAD, "uneven": settings.even_low_quarter,
        "cans": LEAST_CANS_LOW_QUARTER, "doubled_times": field.DOUBLED_TIMES, "costly": lift.COSTLY_RATIO, "level": lift.LOWER_LEVEL,
        "level_m": lift.LOWER_LEVEL_M, "stop_days": STOP_DAYS, **LOOKED_BACK,
    }  # fmt: skip
    return (
        settings.texts()
        | {name: f"{100 * float(str(share)):.12g}" for name, share in percent.items()}
        | {name: f"{float(str(bound)):.12g}" for name, bound in plain.items() if name not in percent}
    )
