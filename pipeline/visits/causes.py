"""First rules: what is most likely wrong at a site, with the sentence that says why.

Each rule looks at the facts of one site and may find a cause. Its probability is set by judgement,
not learnt: it orders the causes and says how sure the words may sound. Every threshold without a
source beside it is common practice.
"""

from collections.abc import Iterator, Sequence

from pipeline.visits import rules_field, rules_lift, rules_stops
from pipeline.visits.scene import Finding, Rule, Scene
from pipeline.words import say

RULES: tuple[Rule, ...] = (
    rules_stops.stopped_by_a_job,
    rules_stops.stopped_by_the_log,
    rules_stops.still_at_the_meter,
    rules_stops.tampered,
    rules_lift.dry_source,
    rules_lift.blocked_intake,
    rules_lift.lost_array,
    rules_lift.soiled_array,
    rules_lift.worn_pump,
    rules_field.leaking_main,
    rules_field.doubled_blocks,
    rules_field.blocked_laterals,
    rules_stops.stuck_meter,
    rules_stops.still_counter,
    rules_stops.silent,
    rules_field.unused_water,
)


def findings(scene: Scene) -> list[Finding]:
    """Return every cause that a rule finds, the most probable first, each cause once.

    A service is overdue only where there is nothing else.
    """
    found: dict[str, Finding] = {}
    for finding in sorted(_found(scene), key=lambda f: -(f.probability or 0.0)):
        found.setdefault(finding.cause, finding)
    return list(found.values()) or [rules_field.overdue_service(scene) or _none(scene)]


def averted_share(found: Sequence[Finding]) -> float:
    """Return the share of the shortage that a visit is expected to end, mending what it finds.

    At a stand-still it is that of the surest stop: the crew mends it, whatever the cause. Elsewhere
    each cause is there with its probability, one apart from the other.
    """
    stops = [f.mends for f in found if f.stops]
    if stops:
        return stops[0]
    left = 1.0
    for finding in found:
        left *= 1.0 - finding.mends * (1.0 if finding.probability is None else finding.probability)
    return 1.0 - left


def _found(scene: Scene) -> Iterator[Finding]:
    for rule in RULES:
        finding = rule(scene)
        if finding is not None:
            yield finding


def _none(scene: Scene) -> Finding:
    supply = scene["supply"]
    if scene["paused_since"] is not None:
        return Finding("none", None, None, say("visits.paused", day=scene["paused_since"]), 0.0)
    if supply is None:
        return Finding("none", None, None, say("visits.nothing_known"), 0.0)
    key = "visits.short_unclear" if scene.short else "visits.well"
    evidence = say(
        key, share=f"{100 * supply:.0f}", days=f"{scene['known_days']:.0f}", until=scene["supply_until"]
    )
    if scene.short:  # farmers' choice, mostly; a visit finds some of the rest
        return Finding("none", 0.5, None, evidence, 0.3)
    return Finding("none", 0.8, None, evidence, 0.0)
