"""Rules of the way from the pump to the crops, and of how the water is used."""

from pipeline.agronomy.uniformity import distribution_uniformity_low_quarter
from pipeline.visits.scene import Finding, Scene
from pipeline.words import say

LITTLE_SUPPLY = 0.5
LITTLE_USE = 0.5  # of the sun, or of the site's own busy days' energy
REACHED_SHARE = 0.75  # of the pumped water that the block meters saw
BAD = 2  # survey condition, of 5
DOUBLED_TIMES = 3  # that a block ran at half its flow: a turn of valves may do it once
LOW_PRESSURE, SMALL_SPRAY, FULL_FLOW = 0.75, 0.85, 0.85  # of what is usual, designed and rated


def leaking_main(scene: Scene) -> Finding | None:
    """The block meters saw clearly less than was pumped."""
    share = scene["reached_share"]
    if share is None or share >= REACHED_SHARE:
        return None
    return Finding("main_leak", 0.5, None, say("visits.leak", share=f"{100 * share:.0f}"), 0.7)


def doubled_blocks(scene: Scene) -> Finding | None:
    """Two blocks run at once, each at about half its flow.

    Common practice, no source. Block meters read within two hours show it themselves; a survey
    shows the pump at its full flow, the pressure low and the sprays small. (Blocked laterals, which
    make the sprays small too, raise the pressure.)
    """
    if (scene["doubled"] or 0) >= DOUBLED_TIMES:
        evidence = say("visits.doubled", times=scene["doubled"], day=scene["doubled_since"])
        return Finding("blocks_doubled", 0.6, scene["doubled_since"], evidence, 0.5)
    if not scene.survey_counts(60):
        return None
    flow = scene.ratio("measured_flow_m3h", "pump_rated_flow_m3h")
    pressure = scene.ratio("measured_pressure_kpa", "usual_pressure_kpa")
    spray = scene.ratio("mean_spray_diameter_m", "wetted_m")
    if flow is None or pressure is None or spray is None:
        return None
    if flow < FULL_FLOW or pressure > LOW_PRESSURE or spray > SMALL_SPRAY:
        return None
    evidence = say("visits.doubled_survey", day=scene["surveyed_on"], flow=f"{scene['measured_flow_m3h']:.1f}",
                   pressure=f"{scene['measured_pressure_kpa']:.0f}", usual=f"{scene['usual_pressure_kpa']:.0f}", spray=f"{100 * spray:.0f}")  # fmt: skip
    return Finding("blocks_doubled", 0.5, scene["surveyed_on"], evidence, 0.5)


def blocked_laterals(scene: Scene) -> Finding | None:
    """The catch cans of the last survey filled unevenly, or the laterals looked bad."""
    if not scene.survey_counts(60):
        return None
    on, cans = scene["surveyed_on"], scene["catch_depths_mm"] or []
    evenness = float(distribution_uniformity_low_quarter(cans))  # NaN of too few cans is not below
    if evenness < scene.settings.even_low_quarter:
        evidence = say("visits.uneven", du=f"{evenness:.2f}", cans=len(cans), day=on)
        return Finding("laterals_blocked", 0.45, on, evidence, 0.3)
    if scene["laterals_condition"] is not None and scene["laterals_condition"] <= BAD:
        evidence = say("visits.laterals", grade=scene["laterals_condition"], day=on)
        return Finding("laterals_blocked", 0.4, on, evidence, 0.3)
    return None


def unused_water(scene: Scene) -> Finding | None:
    """The site works, and little of the water that it could give is used.

    A pump that works hard for little water is not unused: where the log or the energy meter shows
    that, this is no cause.
    """
    supply, up, down = scene["supply"], scene["up_h"] or 0.0, scene["recent_down_h"] or 0.0
    works = up > 0 and up >= 9 * down
    if supply is None or supply >= LITTLE_SUPPLY or not works:
        return None
    used = scene["sun_used"] if scene["sun_used"] is not None else scene["energy_used"]
    if used is not None and used > LITTLE_USE:
        return None
    evidence = say("visits.unused", share=f"{100 * supply:.0f}", up=f"{100 * up / (up + down):.0f}")
    return Finding("water_unused", 0.2 if used is None else 0.45, None, evidence, 0.3)


def overdue_service(scene: Scene) -> Finding | None:
    """The last service is long ago."""
    last = scene["serviced_on"]
    if last is None or (scene.as_of - last).days <= scene.settings.service_overdue_days:
        return None
    evidence = say("visits.overdue", day=last, days=(scene.as_of - last).days)
    if scene.short:
        return Finding("service_overdue", 0.4, last, evidence, 0.4)
    return Finding("service_overdue", 0.2, last, evidence, 0.1)
