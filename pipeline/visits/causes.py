"""First rules: what is most likely wrong at a site, with the sentence that says why.

Each rule looks at the facts of one site and may find a cause. Its probability is set by judgement,
not learnt: it orders the causes and says how sure the words may sound.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from statistics import mean
from typing import Any

from pipeline.config import Settings
from pipeline.words import say

Facts = dict[str, Any]

SILENT_DAYS = 14  # without any reading or log
SHORT_SUPPLY = 0.8
LITTLE_SUPPLY = 0.5
WORN_RATIO = 1.25  # energy per m³ against the site's own past
LEAK_SHARE = 0.75  # of the pumped water that the block meters saw
BAD = 2  # survey condition, of 5
UNEVEN = 0.6  # distribution uniformity of the low quarter


@dataclass(frozen=True)
class Finding:
    """A cause, how probable, since when, the evidence, and the share of the shortage that a visit mends."""

    cause: str
    probability: float
    since: date | None
    evidence: str
    mends: float


@dataclass(frozen=True)
class Scene:
    """What every rule may look at."""

    facts: Facts
    as_of: date
    settings: Settings

    def __getitem__(self, name: str) -> Any:
        return self.facts[name]

    @property
    def short(self) -> bool:
        """Whether the site got less than it needed, as far as is known."""
        supply = self.facts["supply"]
        return supply is not None and supply < SHORT_SUPPLY

    def recent_survey(self, days: int = 60) -> bool:
        """Whether the last survey is no older."""
        on = self.facts["surveyed_on"]
        return on is not None and (self.as_of - on).days <= days


Rule = Callable[[Scene], Finding | None]

WORDS_OF_JOBS = (  # in a technician's component, the cause it points to
    ("controller", "controller_stopped"),
    ("inverter", "controller_stopped"),
    ("panel", "array_loss"),
    ("array", "array_loss"),
    ("cable", "array_loss"),
    ("strainer", "intake_blocked"),
    ("filter", "intake_blocked"),
    ("intake", "intake_blocked"),
    ("pipe", "main_leak"),
    ("pump", "pump_stopped"),
)


def stopped_by_a_job(scene: Scene) -> Finding | None:
    """An open job says that the water stopped."""
    if scene["job_id"] is None:
        return None
    words = (scene["job_component"] or "").casefold()
    cause = next((c for word, c in WORDS_OF_JOBS if word in words), "pump_stopped")
    evidence = say("visits.job", job=scene["job_id"], day=scene["job_day"], days=(scene.as_of - scene["job_day"]).days,
                   status=say(f"visits.status_{scene['job_status']}"))  # fmt: skip
    return Finding(cause, 0.85, scene["job_day"], evidence, 1.0)


def stopped_by_the_log(scene: Scene) -> Finding | None:
    """The log shows sun and no water up to the last day."""
    if scene["down_since"] is None or scene["down_by"] != "log":
        return None
    evidence = say("visits.log_down", day=scene["down_since"], hours=f"{scene['down_h']:.0f}")
    return Finding(
        "controller_stopped" if scene["fault_on"] else "pump_stopped", 0.7, scene["down_since"], evidence, 1.0
    )


def tampered(scene: Scene) -> Finding | None:
    """The alarm of the fence or the array went off."""
    if scene["tamper_on"] is None:
        return None
    return Finding("tamper", 0.75, scene["tamper_on"], say("visits.tamper", day=scene["tamper_on"]), 0.9)


def dry_source(scene: Scene) -> Finding | None:
    """The pump ran dry, or the last survey found the water lower than usual."""
    level, usual = scene["pumping_water_level_m"], scene["usual_level_m"]
    if scene["dry_run_on"] is not None:
        return Finding(
            "source_low", 0.6, scene["dry_run_on"], say("visits.dry_run", day=scene["dry_run_on"]), 0.2
        )
    if scene.recent_survey() and level is not None and usual is not None and level > usual + 3:
        evidence = say("visits.level", level=f"{level:.1f}", usual=f"{usual:.1f}", day=scene["surveyed_on"])
        return Finding("source_low", 0.5, scene["surveyed_on"], evidence, 0.2)
    return None


def blocked_intake(scene: Scene) -> Finding | None:
    """The last survey found something in the strainer, or a bad filter."""
    if not scene.recent_survey(90):
        return None
    found = scene["strainer_found"]
    if found not in (None, "clean", "not_opened"):
        evidence = say("visits.strainer", found=say(f"visits.found_{found}"), day=scene["surveyed_on"])
        return Finding("intake_blocked", 0.5 if scene.short else 0.3, scene["surveyed_on"], evidence, 0.6)
    if scene["filter_condition"] is not None and scene["filter_condition"] <= BAD:
        return Finding(
            "intake_blocked", 0.4, scene["surveyed_on"], say("visits.filter", day=scene["surveyed_on"]), 0.5
        )
    return None


def soiled_or_lost_array(scene: Scene) -> Finding | None:
    """The last survey found a bad array."""
    if scene.recent_survey() and scene["pv_condition"] is not None and scene["pv_condition"] <= BAD:
        evidence = say("visits.array", grade=scene["pv_condition"], day=scene["surveyed_on"])
        return Finding("array_soiled", 0.45 if scene.short else 0.3, scene["surveyed_on"], evidence, 0.5)
    return None


def worn_pump(scene: Scene) -> Finding | None:
    """Each m³ takes clearly more energy than it did at this site."""
    now, before = scene["now_kwh_per_m3"], scene["before_kwh_per_m3"]
    if now is None or before is None or now < WORN_RATIO * before:
        return None
    evidence = say("visits.worn", now=f"{now:.2f}", before=f"{before:.2f}")
    return Finding("pump_worn", 0.45, None, evidence, 0.5)


def leaking_main(scene: Scene) -> Finding | None:
    """The block meters saw clearly less than was pumped."""
    to_blocks, pumped = scene["blocks_m3"], scene["source_m3"]
    if not pumped or to_blocks is None or to_blocks >= LEAK_SHARE * pumped:
        return None
    evidence = say("visits.leak", share=f"{100 * to_blocks / pumped:.0f}")
    return Finding("main_leak", 0.5, None, evidence, 0.7)


def blocked_laterals(scene: Scene) -> Finding | None:
    """The catch cans of the last survey filled unevenly, or the laterals looked bad."""
    if not scene.recent_survey(90):
        return None
    cans = sorted(scene["catch_depths_mm"] or [])
    if len(cans) >= 8 and mean(cans) > 0:  # noqa: PLR2004 - fewer cans tell nothing of a quarter
        evenness = mean(cans[: len(cans) // 4]) / mean(cans)
        if evenness < UNEVEN:
            evidence = say("visits.uneven", du=f"{evenness:.2f}", cans=len(cans), day=scene["surveyed_on"])
            return Finding("laterals_blocked", 0.45, scene["surveyed_on"], evidence, 0.3)
    if scene["laterals_condition"] is not None and scene["laterals_condition"] <= BAD:
        evidence = say("visits.laterals", grade=scene["laterals_condition"], day=scene["surveyed_on"])
        return Finding("laterals_blocked", 0.4, scene["surveyed_on"], evidence, 0.3)
    return None


def stuck_meter(scene: Scene) -> Finding | None:
    """The counter stands still while the pump runs."""
    if scene["stuck_since"] is None:
        return None
    return Finding("meter_stuck", 0.65, scene["stuck_since"], scene["stuck_reason"], 0.0)


def silent(scene: Scene) -> Finding | None:
    """Nothing was read or logged for weeks: whether there is water nobody knows."""
    age = scene["data_age_days"]
    if age is not None and age <= SILENT_DAYS:
        return None
    if age is None:
        return Finding("data_silent", 0.5, scene["commissioned_on"], say("visits.never_heard"), 0.0)
    return Finding(
        "data_silent", 0.5, scene["newest"], say("visits.silent", day=scene["newest"], days=age), 0.0
    )


def unused_water(scene: Scene) -> Finding | None:
    """The site works, and little water is used."""
    supply, up, down = scene["supply"], scene["up_h"] or 0.0, scene["recent_down_h"] or 0.0
    works = up > 0 and up >= 9 * down
    if supply is None or supply >= LITTLE_SUPPLY or not works:
        return None
    evidence = say("visits.unused", share=f"{100 * supply:.0f}", up=f"{100 * up / (up + down):.0f}")
    return Finding("water_unused", 0.35, None, evidence, 0.3)


def overdue_service(scene: Scene) -> Finding | None:
    """Nothing else, and the last service is long ago."""
    last = scene["serviced_on"]
    if last is None or (scene.as_of - last).days <= scene.settings.service_overdue_days:
        return None
    evidence = say("visits.overdue", day=last, days=(scene.as_of - last).days)
    return Finding("service_overdue", 0.2, last, evidence, 0.1)


RULES: tuple[Rule, ...] = (
    stopped_by_a_job,
    stopped_by_the_log,
    tampered,
    dry_source,
    blocked_intake,
    soiled_or_lost_array,
    worn_pump,
    leaking_main,
    blocked_laterals,
    stuck_meter,
    silent,
    unused_water,
    overdue_service,
)


def findings(scene: Scene) -> list[Finding]:
    """Return every cause that a rule finds, the most probable first, each cause once."""
    found: dict[str, Finding] = {}
    for finding in sorted(_found(scene), key=lambda f: -f.probability):
        found.setdefault(finding.cause, finding)
    return list(found.values()) or [_none(scene)]


def _found(scene: Scene) -> Iterator[Finding]:
    for rule in RULES:
        finding = rule(scene)
        if finding is not None:
            yield finding


def _none(scene: Scene) -> Finding:
    supply = scene["supply"]
    if supply is None:
        return Finding("none", 0.0, None, say("visits.nothing_known"), 0.0)
    key = "visits.short_unclear" if scene.short else "visits.well"
    evidence = say(key, share=f"{100 * supply:.0f}", days=f"{scene['known_days']:.0f}")
    return Finding("none", 0.0, None, evidence, 0.3 if scene.short else 0.0)
