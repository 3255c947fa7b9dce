"""The week of a site, or of many: asked from the store, planned, checked."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import inf, isfinite, nan

from pipeline.config import Settings
from pipeline.errors import SunrillError, UnknownName
from pipeline.measures.results import create_empty_missing
from pipeline.scheduling.asked import Asked, ask
from pipeline.scheduling.blocks import block_inputs, week_blocks
from pipeline.scheduling.checker import faults
from pipeline.scheduling.inputs import DAY_MIN, DAYS, Rules, SiteInput
from pipeline.scheduling.plan import plan
from pipeline.scheduling.remarks import remarks
from pipeline.scheduling.rows import rows
from pipeline.scheduling.standing import Standing, period
from pipeline.scheduling.supply import Sun, sun_of, supply
from pipeline.scheduling.week import Supply, Week, WeekBlock
from pipeline.store import Reader
from pipeline.words import say


@dataclass(frozen=True)
class _Days:
    """The days of a week, those that its need is taken from, and the sun of each."""

    week: tuple[date, ...]
    asked: tuple[date, ...]
    suns: tuple[Sun, ...]

    @property
    def mid(self) -> date:
        """The day that stands for the period."""
        return self.asked[len(self.asked) // 2]


def week_of(reader: Reader, site_id: str, week: date, *, standing: Standing | None = None) -> Week:
    """Return the farmers' week at one site.

    Parameters
    ----------
    reader
        A store's, with its results.
    site_id
        Which site.
    week
        The first of its seven days.
    standing
        `month`, `stage`: a lasting sheet for the calendar month, or until the next crop's stage begins;
        None: for the week itself.

    Raises
    ------
    SunrillError
        Where the site can't be planned: what is missing, and how to mend it.
    UnknownName
        Where there is no such site.
    """
    found = weeks_of(reader, [site_id], week, standing=standing)[site_id]
    if isinstance(found, SunrillError):
        raise found
    return found


def weeks_of(
    reader: Reader, site_ids: Sequence[str], week: date, *, standing: Standing | None = None
) -> dict[str, Week | SunrillError]:
    """Return the weeks of many sites, by their ids; where one can't be planned, the error that says why.

    Parameters are those of `week_of`. The store is asked once for all of them.
    """
    create_empty_missing(reader.connection)
    sites = sorted(set(site_ids))
    ends = {site_id: week + timedelta(days=DAYS - 1) for site_id in sites}
    if standing:
        ends = period(reader, sites, week, standing)
    asked = ask(reader, sites, week, (max(ends.values(), default=week) - week).days + 1)
    return {site_id: _tried(asked, site_id, week, ends[site_id], reader.settings, standing) for site_id in site_ids}  # fmt: skip


def _tried(
    asked: dict[str, Asked],
    site_id: str,
    week: date,
    end: date,
    settings: Settings,
    standing: Standing | None,
) -> Week | SunrillError:
    try:
        if site_id not in asked:
            raise UnknownName(
                say("measures.no_such_site", site=site_id), mend=say("measures.no_such_site_mend")
            )
        return _week(asked[site_id], week, end, settings, standing)
    except SunrillError as error:
        return error


def _week(asked: Asked, first: date, end: date, settings: Settings, standing: Standing | None) -> Week:
    days = _days(asked, first, end, settings)
    _check(asked, days)
    blocks = week_blocks(asked, days.asked)
    if not any(isfinite(mm) for block in blocks for mm in block.need_mm):
        raise SunrillError(say("scheduling.no_need", first=first, last=end), where=asked.site["site_id"], mend=say("scheduling.no_need_mend"))  # fmt: skip
    of_sun = sun_of(asked.site["latitude"], asked.site["longitude"], asked.site["zone"], days.mid, settings)
    delivered = supply(asked, of_sun, days.mid.month, settings)
    if standing:
        blocks = tuple(_mean(block) for block in blocks)
    site = _input(asked, days, delivered, blocks, settings, standing)
    planned = plan(site)
    found = rows(site, planned.turns, planned.short_mm, asked.site["zone"])
    _hold(site, faults(site, found))
    until = end if standing else None
    week = Week(asked.site["site_id"], first, days.week[-1], found, blocks, delivered, repeats_until=until)
    return replace(week, remarks=remarks(asked, site, week))


def _days(asked: Asked, first: date, end: date, settings: Settings) -> _Days:
    week = tuple(first + timedelta(days=k) for k in range(DAYS))
    wide = tuple(first + timedelta(days=k) for k in range((end - first).days + 1))
    site = asked.site
    suns = tuple(sun_of(site["latitude"], site["longitude"], site["zone"], day, settings) for day in week)
    return _Days(week, wide, suns)


def _check(asked: Asked, days: _Days) -> None:
    """Tell whether the site is one that can be planned in that week at all."""
    site = asked.site
    begins, ends = site["commissioned_on"], site["decommissioned_on"]
    if ends is not None and ends <= days.week[0]:
        raise SunrillError(say("scheduling.out_of_service", day=ends), where=site["site_id"], mend=say("scheduling.out_of_service_mend"))  # fmt: skip
    if begins is not None and begins > days.week[-1]:
        raise SunrillError(say("scheduling.not_yet", day=begins), where=site["site_id"], mend=say("scheduling.not_yet_mend"))  # fmt: skip
    if not asked.blocks:
        raise SunrillError(say("scheduling.no_blocks"), where=site["site_id"], mend=say("scheduling.no_blocks_mend"))  # fmt: skip
    if all(sun.window is None for sun in days.suns):
        raise SunrillError(say("scheduling.no_daylight"), where=site["site_id"], mend=say("scheduling.no_daylight_mend"))  # fmt: skip
    if any(sun.window and (sun.window[0] < 0 or sun.window[1] > DAY_MIN) for sun in days.suns):
        raise SunrillError(say("scheduling.across_midnight", zone=site["zone"]), where=site["site_id"], mend=say("scheduling.across_midnight_mend"))  # fmt: skip


def _mean(block: WeekBlock) -> WeekBlock:
    """A block with the mean need of its known days on every day."""
    known = [mm for mm in block.need_mm if isfinite(mm)]
    mean = sum(known) / len(known) if known else nan
    return replace(block, need_mm=(mean,) * DAYS)


def _input(
    asked: Asked, days: _Days, delivered: Supply, blocks: Sequence[WeekBlock], settings: Settings, standing: Standing | None
) -> SiteInput:  # fmt: skip
    site = asked.site
    limit = site["m3_per_day"]
    return SiteInput(
        site_id=site["site_id"],
        days=days.week,
        windows=tuple(None if _is_idle(asked, day) else sun.window for day, sun in zip(days.week, days.suns, strict=True)),
        hourly_m3h=delivered.hourly_m3h,
        blocks=block_inputs(asked, blocks, days.week, lasting=standing is not None),
        tank_m3=float(site["tank_volume_m3"] or 0.0),
        limit_m3_per_day=inf if limit is None else float(limit),
        rules=Rules(settings.run_usual_min, settings.run_least_min, settings.changeover_min),
    )  # fmt: skip


def _is_idle(asked: Asked, day: date) -> bool:
    """Whether nobody irrigates on a day: a pause, or a site that is not in service."""
    begins, ends = asked.site["commissioned_on"], asked.site["decommissioned_on"]
    if (begins is not None and day < begins) or (ends is not None and day >= ends):
        return True
    return any(
        row["from_on"] <= day and (row["to_on"] is None or day <= row["to_on"]) for row in asked.pauses
    )


def _hold(site: SiteInput, found: Sequence[str]) -> None:
    """Hand nothing out that the checker doesn't let pass."""
    if found:
        raise SunrillError(
            say("scheduling.faulty"),
            where=site.site_id,
            why=" ".join(found[:3]),
            mend=say("scheduling.faulty_mend"),
        )
