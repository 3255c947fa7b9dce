"""Rules of the array, the source, the pump and its intake."""

from pipeline.visits.scene import Finding, Scene
from pipeline.words import say

BAD = 2  # survey condition, of 5
GOOD = 3
COSTLY_RATIO = 1.3  # energy per m³ against the site's own past
LOWER_LEVEL = 1.15  # pumping water level against the site's own surveys, and
LOWER_LEVEL_M = 1.5
USUAL_LIFT = 1.1
USUAL_INPUT = 0.95
WEAK_INPUT = 0.8  # input per sun against the site's own past
SUDDEN_FALL = 0.85  # of a week to the next: no dust falls so fast


def dry_source(scene: Scene) -> Finding | None:
    """The pump ran dry, or the last survey found the water lower than usual."""
    level, usual = scene["pumping_water_level_m"], scene["usual_level_m"]
    on = scene["surveyed_on"]
    if scene["dry_run_on"] is not None:
        evidence = say("visits.dry_run", day=scene["dry_run_on"])
        return Finding("source_low", 0.6, scene["dry_run_on"], evidence, 0.1)
    recent = on is not None and (scene.as_of - on).days <= 45  # noqa: PLR2004 - levels move with the season
    if recent and level is not None and usual is not None and level > max(usual * LOWER_LEVEL, usual + LOWER_LEVEL_M):  # fmt: skip
        evidence = say("visits.level", level=f"{level:.1f}", usual=f"{usual:.1f}", day=on)
        return Finding("source_low", 0.5, on, evidence, 0.1)
    return None


def blocked_intake(scene: Scene) -> Finding | None:
    """The survey found something in the strainer or a bad filter, or each m³ takes more energy.

    A strainer is opened before a pump is pulled: without a look at it, it is the first thought.
    """
    dearer = _dearer(scene)
    if scene.survey_counts(90) and not _lifts_as_usual(scene):
        found, grade, on = scene["strainer_found"], scene["filter_condition"], scene["surveyed_on"]
        sure = 0.7 if dearer else 0.5 if scene.short else 0.3
        if found not in (None, "clean", "not_opened"):
            evidence = say("visits.strainer", found=say(f"visits.found_{found}"), day=on)
            return Finding("intake_blocked", sure, on, _with(evidence, dearer), 0.8)
        if grade is not None and grade <= BAD:
            return Finding("intake_blocked", sure, on, _with(say("visits.filter", day=on), dearer), 0.8)
    if dearer and not _intake_seen_clean(scene):
        return Finding("intake_blocked", 0.45, None, dearer, 0.8)
    return None


def worn_pump(scene: Scene) -> Finding | None:
    """Each m³ takes clearly more energy than it did at this site, or the survey found a bad pump."""
    dearer = _dearer(scene)
    if dearer:
        return Finding("pump_worn", 0.5 if _intake_seen_clean(scene) else 0.3, None, dearer, 0.7)
    bad = scene["pump_condition"] is not None and scene["pump_condition"] <= BAD
    if bad and scene.survey_counts(90) and not scene["repaired_since"] and not _lifts_as_usual(scene):
        evidence = say("visits.pump", grade=scene["pump_condition"], day=scene["surveyed_on"])
        return Finding("pump_worn", 0.4 if scene.short else 0.25, scene["surveyed_on"], evidence, 0.5)
    return None


def lost_array(scene: Scene) -> Finding | None:
    """The array gives less for the same sun since one week: strings, modules or wiring are lost."""
    if not _weak_array(scene) or dry_source(scene) or scene["weekly_fall"] is None or scene["weekly_fall"] > SUDDEN_FALL:  # fmt: skip
        return None
    evidence = say("visits.array_fell", share=f"{100 * scene['input_ratio']:.0f}", day=scene["fell_on"])
    return Finding("array_loss", 0.5, scene["fell_on"], evidence, 0.7)


def soiled_array(scene: Scene) -> Finding | None:
    """The last survey found a bad array and no rain has washed it, or it faded slowly."""
    if scene.survey_counts(60) and not _washed(scene) and scene["pv_condition"] is not None and scene["pv_condition"] <= BAD:  # fmt: skip
        evidence = say("visits.array", grade=scene["pv_condition"], day=scene["surveyed_on"])
        return Finding("array_soiled", 0.45 if scene.short else 0.3, scene["surveyed_on"], evidence, 0.5)
    if _weak_array(scene) and (scene["weekly_fall"] is None or scene["weekly_fall"] > SUDDEN_FALL):
        evidence = say("visits.array_faded", share=f"{100 * scene['input_ratio']:.0f}")
        return Finding("array_soiled", 0.4, None, evidence, 0.5)
    return None


def _washed(scene: Scene) -> bool:
    """Whether rain has come since the survey, or the log shows the array at its best."""
    rained, on, ratio = scene["rained_on"], scene["surveyed_on"], scene["input_ratio"]
    return (rained is not None and on is not None and rained > on) or (
        ratio is not None and ratio > USUAL_INPUT
    )


def _lifts_as_usual(scene: Scene) -> bool:
    """Whether each m³ takes no more energy than it did: what a survey found has been mended since."""
    ratio = scene.ratio("now_kwh_per_m3", "before_kwh_per_m3")
    return ratio is not None and ratio < USUAL_LIFT


def _weak_array(scene: Scene) -> bool:
    """Less input for the same sun, and not because less water is lifted with it."""
    ratio = scene.ratio("now_kwh_per_m3", "before_kwh_per_m3")
    lifts = ratio is None or ratio < USUAL_LIFT
    return scene["input_ratio"] is not None and scene["input_ratio"] < WEAK_INPUT and lifts


def _dearer(scene: Scene) -> str:
    """The sentence that says that each m³ takes more energy; empty where it doesn't."""
    ratio = scene.ratio("now_kwh_per_m3", "before_kwh_per_m3")
    if ratio is None or ratio < COSTLY_RATIO:
        return ""
    now, before = scene["now_kwh_per_m3"], scene["before_kwh_per_m3"]
    return say("visits.worn", now=f"{now:.2f}", before=f"{before:.2f}")


def _intake_seen_clean(scene: Scene) -> bool:
    """Whether somebody has just opened it, or looked at the filter, and found nothing."""
    on = scene["surveyed_on"]
    if on is None or (scene.as_of - on).days > 45:  # noqa: PLR2004 - a strainer fills within weeks
        return False
    return scene["strainer_found"] == "clean" and (scene["filter_condition"] or GOOD) >= GOOD


def _with(evidence: str, more: str) -> str:
    return f"{evidence} {more}" if more else evidence
