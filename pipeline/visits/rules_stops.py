"""Rules of sites that give no water, or that nobody has heard of."""

from pipeline.visits.scene import Finding, Scene
from pipeline.words import say, say_n

STILL_DAYS = 6.0  # without a drop through the source meter
DELIVERY_DAYS = 45  # sheets of a month come in the next: within that time silence is nobody's

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
    """An open job says that the water stopped, and nothing has shown water since."""
    if scene["job_id"] is None:
        return None
    words = (scene["job_component"] or "").casefold()
    cause = next((c for word, c in WORDS_OF_JOBS if word in words), "pump_stopped")
    if scene["job_kind"] == "security":  # what was taken is what the job is about
        cause = "tamper"
    told = {
        "job": scene["job_id"],
        "day": scene["job_day"],
        "status": say(f"visits.status_{scene['job_status']}"),
    }
    days = (scene.as_of - scene["job_day"]).days
    evidence = say_n("visits.job", days, **told) if days else say("visits.job_of_today", **told)
    closed = scene["job_status"] == "closed"  # somebody thought it done, and wrote no end
    down = scene["down_since"]
    since = scene["job_day"] if down is None else min(down, scene["job_day"])
    return Finding(cause, 0.5 if closed else 0.85, since, evidence, 1.0, stops=True)


def stopped_by_the_log(scene: Scene) -> Finding | None:
    """The log shows sun and no water up to the last day."""
    if scene["down_since"] is None or scene["down_by"] != "log":
        return None
    evidence = say("visits.log_down", day=scene["down_since"], hours=f"{scene['down_h']:.0f}")
    cause = "controller_stopped" if scene["fault_on"] else "pump_stopped"
    if scene["tamper_on"]:
        cause = "tamper"
    return Finding(cause, 0.7, scene["down_since"], evidence, 1.0, stops=True)


def still_at_the_meter(scene: Scene) -> Finding | None:
    """Not a drop has come through the source meter, there is need, and nobody has paused.

    Sure only where the energy meter stands still as well: a stop is reported within days, a stuck
    counter often isn't.
    """
    if not _still(scene):
        return None
    since, days = scene["still_since"], f"{scene['still_days']:.0f}"
    if scene["energy_still"]:
        return Finding(
            "pump_stopped", 0.6, since, say("visits.still_both", day=since, days=days), 0.9, stops=True
        )
    return Finding("pump_stopped", 0.4, since, say("visits.still", day=since, days=days), 0.9)


def still_counter(scene: Scene) -> Finding | None:
    """The same sign, and no energy meter to tell a stuck counter from a pump that stands."""
    if not _still(scene) or scene["energy_still"]:
        return None
    since, days = scene["still_since"], f"{scene['still_days']:.0f}"
    return Finding("meter_stuck", 0.4, since, say("visits.still", day=since, days=days), 0.0)


def _still(scene: Scene) -> bool:
    days = scene["still_days"]
    return bool(
        days is not None and days >= STILL_DAYS and scene["coming_m3"] and scene["paused_since"] is None
    )


def tampered(scene: Scene) -> Finding | None:
    """The alarm of the fence or the array went off, and nobody has mended anything since."""
    on = scene["tamper_on"]
    if on is None:
        return None
    pumped_since = scene["up_on"] is not None and scene["up_on"] > on
    key = "visits.tamper_but_pumps" if pumped_since else "visits.tamper"
    return Finding(
        "tamper", 0.4 if pumped_since else 0.75, on, say(key, day=on), 0.3 if pumped_since else 0.9
    )


def silent(scene: Scene) -> Finding | None:
    """A stream of data stopped for three times its usual gap, or nothing ever came."""
    if scene["newest"] is None:
        return Finding("data_silent", 0.5, scene["commissioned_on"], say("visits.never_heard"), 0.0)
    if scene["silent_from"] is None:
        return None
    stream = say(f"visits.stream_{scene['silent_stream']}")
    values = {"stream": stream, "day": scene["silent_from"], "days": scene["silent_days"]}
    alone = scene["behind_days"] > scene["patience_days"] or scene["silent_days"] > DELIVERY_DAYS
    key = "visits.silent" if alone else "visits.all_silent"
    return Finding("data_silent", 0.5 if alone else 0.25, scene["silent_from"], say(key, **values), 0.0)


def stuck_meter(scene: Scene) -> Finding | None:
    """The counter stands still while the pump runs."""
    if scene["stuck_since"] is None:
        return None
    return Finding("meter_stuck", 0.65, scene["stuck_since"], scene["stuck_reason"], 0.0)
