"""What has to be said beside a week's rows."""

from collections.abc import Iterator, Sequence

from pipeline.scheduling.asked import Asked
from pipeline.scheduling.inputs import SiteInput
from pipeline.scheduling.intake import pulses
from pipeline.scheduling.week import Week
from pipeline.words import say, say_n

WORTH_TELLING_MM = 0.5  # of a week's shortage


def remarks(asked: Asked, site: SiteInput, week: Week) -> tuple[str, ...]:
    """Return the sentences of a week, the gravest first."""
    return (
        *_standing_still(asked),
        *_short(week),
        *(block.unknown for block in week.blocks if block.unknown),
        *_partly(week),
        *_idle(asked, week),
        *_limit(asked, week),
        *_ground(asked, site),
        *_foreseen(asked),
        *_habits(week),
    )


def _standing_still(asked: Asked) -> Iterator[str]:
    for row in asked.stops:
        yield say("scheduling.stands_still", day=row["since"])


def _short(week: Week) -> Iterator[str]:
    for block in week.blocks:
        short = week.short_mm(block.block_id)
        if short >= WORTH_TELLING_MM:
            given = sum(run.depth_mm for run in week.runs if run.block_id == block.block_id)
            yield say(
                "scheduling.short", block=block.block_id, short=f"{short:.0f}", need=f"{short + given:.0f}"
            )


def _partly(week: Week) -> Iterator[str]:
    for block in week.blocks:
        unknown = sum(mm != mm for mm in block.need_mm)  # noqa: PLR0124 - NaN
        if unknown and not block.unknown:
            yield say_n("scheduling.partly_unknown", unknown, block=block.block_id)


def _idle(asked: Asked, week: Week) -> Iterator[str]:
    for row in asked.pauses:
        first, last = max(row["from_on"], week.from_day), min(row["to_on"] or week.to_day, week.to_day)
        if first <= last:
            yield say("scheduling.paused", first=first, last=last, reason=row["reason"])
    ends = asked.site["decommissioned_on"]
    if ends is not None and ends <= week.to_day:
        yield say("scheduling.ends", day=ends)


def _limit(asked: Asked, week: Week) -> Iterator[str]:
    limit, until = asked.site["m3_per_day"], asked.site["permit_until"]
    if limit is not None:
        yield say("scheduling.limit", m3=f"{limit:g}")
    if until is not None and until < week.to_day:
        yield say("scheduling.permit_ends", day=until)


def _ground(asked: Asked, site: SiteInput) -> Iterator[str]:
    for block in site.blocks:
        day = max(range(len(site.days)), key=lambda k: block.area_ha[k])
        found = pulses(block, day, site.rules)
        if found.runs_off:
            yield say("scheduling.runs_off", block=block.block_id, rate=f"{found.rate_mm_h:.0f}", intake=f"{block.intake_mm_h:.0f}")  # fmt: skip
        elif found.pause_min:
            yield say("scheduling.in_turns", block=block.block_id, most=f"{found.most_min:.0f}", pause=found.pause_min)  # fmt: skip
    named = {block.block_id for block in site.blocks}
    untold = [row for row in asked.blocks if not row["soil_told"] and row["block_id"] in named]
    if untold:
        names = ", ".join(row["block_id"] for row in untold)
        yield say_n(
            "scheduling.soil_taken", len(untold), blocks=names, soil=say(f"measures.soil_{untold[0]['soil']}")
        )


def _foreseen(asked: Asked) -> Iterator[str]:
    days = sorted(
        {row["day"] for row in asked.needs if not row["measured"] and row["net_need_mm"] is not None}
    )
    if days:
        yield say("scheduling.foreseen", day=days[0])


def _habits(week: Week) -> Sequence[str]:
    told = (
        [say("scheduling.one_at_a_time"), say("scheduling.went_out")]
        if len({run.block_id for run in week.runs}) > 1
        else []
    )
    if week.repeats_until is not None:
        told.insert(0, say("scheduling.repeats", last=week.to_day, until=week.repeats_until))
    return told
