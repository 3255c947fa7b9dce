"""What array and pump can deliver, hour by hour, on a usual day of a month."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

import numpy as np

from pipeline.agronomy.radiation import declination_rad
from pipeline.agronomy.sun import Daylight, daylight
from pipeline.config import Settings
from pipeline.errors import SunrillError
from pipeline.scheduling.asked import Asked, Row
from pipeline.scheduling.week import HOURS, Supply
from pipeline.words import say

LEAST_DAYS = 5  # with flow, for a month to be learnt from: common practice, no source
SEEN_SHARE = 0.5  # of the days of the best-seen hour, for an hour to be learnt from
# Of the array's rated power that reaches the pump: heat, dust, cables, controller (common practice, no source)
PERFORMANCE = 0.8
STANDARD_WM2 = 1000.0  # at which an array is rated (IEC 60904-3)
STEP_MIN = 5


@dataclass(frozen=True)
class Sun:
    """The sun at a site on a day, by its local clock.

    Attributes
    ----------
    window
        First and last whole minute of the service time; None where it has none.
    height
        Mean sine of the sun's altitude, 0 at night, for each hour of the day. [-]
    """

    window: tuple[int, int] | None
    height: tuple[float, ...]


def sun_of(latitude: float, longitude: float, zone: str, day: date, settings: Settings) -> Sun:
    """Return the sun of a day at a place."""
    sun = daylight(latitude, longitude, np.array([day], dtype="datetime64[D]"))
    work = sun.within(settings.service_after_sunrise_h, settings.service_before_sunset_h)
    window = None
    if np.isfinite(work.from_s[0]):
        first, last = (_local_min(moment, zone, day) for moment in (work.from_s[0], work.to_s[0]))
        window = (int(np.ceil(first - 1e-9)), int(np.floor(last + 1e-9)))
    return Sun(window, _heights(latitude, zone, day, sun))


def _local_min(moment_s: float, zone: str, day: date) -> float:
    """Minutes from the local midnight of a day."""
    local = datetime.fromtimestamp(float(moment_s), ZoneInfo(zone)).replace(tzinfo=None)
    return (local - datetime(day.year, day.month, day.day)).total_seconds() / 60.0  # noqa: DTZ001 - a wall clock


def _heights(latitude: float, zone: str, day: date, sun: Daylight) -> tuple[float, ...]:
    if not np.isfinite(sun.from_s[0]):
        return (0.0,) * HOURS
    noon_min = _local_min((sun.from_s[0] + sun.to_s[0]) / 2.0, zone, day)
    minutes = np.arange(0, HOURS * 60, STEP_MIN) + STEP_MIN / 2.0
    angle = 2.0 * np.pi * (minutes - noon_min) / (HOURS * 60)
    declination = float(declination_rad(float(day.timetuple().tm_yday)))
    phi = np.radians(latitude)
    sine = np.sin(phi) * np.sin(declination) + np.cos(phi) * np.cos(declination) * np.cos(angle)
    return tuple(np.maximum(sine, 0.0).reshape(HOURS, -1).mean(axis=1).tolist())


def supply(asked: Asked, sun: Sun, month: int, settings: Settings) -> Supply:
    """Return what the pump delivers by the hour.

    From the log, where it shows flow on five days of the month (of any year), else of a neighbouring
    month: the setting `delivery_quantile` of the intervals in which the pump ran. An hour that was
    seldom pumped in was not without sun: it takes what the log shows at that height of the sun. Else
    from the sun: the month's mean radiation, laid out over the day by the sun's height, and the pump's
    flow from nothing at the start-up irradiance to the rated flow at its rated power.

    Raises
    ------
    SunrillError
        Where neither can be known: it names what is missing.
    """
    return _from_log(asked.flows, sun, month) or _from_sun(asked, sun, month, settings)


def _nearest_month(rows: Sequence[Row], month: int) -> int | None:
    """The month itself if it has days enough, else the neighbour with more of them."""
    days = {m: max(row["days"] for row in rows if row["month"] == m) for m in {row["month"] for row in rows}}
    if days.get(month, 0) >= LEAST_DAYS:
        return month
    near = [m for m in days if days[m] >= LEAST_DAYS and (m - month) % 12 in {1, 11}]
    return max(near, key=lambda m: (days[m], -m), default=None)


def _from_log(rows: Sequence[Row], sun: Sun, month: int) -> Supply | None:
    taken = _nearest_month(rows, month)
    if taken is None:
        return None
    here = [row for row in rows if row["month"] == taken]
    most = max(row["days"] for row in here)
    seen = {row["hour"]: row["flow_m3h"] for row in here if row["days"] >= SEEN_SHARE * most}
    points = sorted((sun.height[hour], flow) for hour, flow in seen.items() if sun.height[hour] > 0)
    if not points:
        return None
    heights, flows = zip(*[(0.0, 0.0), *points], strict=True)
    best = max(flows)
    hourly = [
        seen.get(hour, min(float(np.interp(height, heights, flows)), best)) if height > 0 else 0.0
        for hour, height in enumerate(sun.height)
    ]
    return Supply(tuple(round(flow, 3) for flow in hourly), "log", say("scheduling.from_log", month=month_name(taken), days=most))  # fmt: skip


def month_name(month: int) -> str:
    """Return the month's name in the language of the words."""
    return say(f"scheduling.month_{month}")


def _from_sun(asked: Asked, sun: Sun, month: int, settings: Settings) -> Supply:
    site = asked.site
    solar = _solar(asked.solar, month)
    missing = [name for name in ("pump_rated_flow_m3h", "pump_rated_power_kw", "pv_capacity_kwp") if not site[name]]  # fmt: skip
    if missing or solar is None:
        told = [
            *([say("scheduling.missing_size", columns=", ".join(missing))] if missing else []),
            *([] if solar is not None else [say("scheduling.missing_weather")]),
        ]
        raise SunrillError(
            say("scheduling.no_supply"),
            where=site["site_id"],
            why=say("scheduling.no_supply_why"),
            mend=say("scheduling.no_supply_mend", missing=", ".join(told)),
        )
    mean_wm2 = solar["solar_mj_m2"] * 1e6 / 3600.0
    total = sum(sun.height)
    irradiance = [mean_wm2 * height / total if total > 0 else 0.0 for height in sun.height]
    rated_wm2 = STANDARD_WM2 * site["pump_rated_power_kw"] / (site["pv_capacity_kwp"] * PERFORMANCE)
    hourly = [
        site["pump_rated_flow_m3h"] * _share(wm2, settings.start_irradiance_wm2, rated_wm2)
        for wm2 in irradiance
    ]
    return Supply(tuple(round(flow, 3) for flow in hourly), "sun", say("scheduling.from_sun", month=month_name(solar["month"]), days=solar["days"]))  # fmt: skip


def _share(wm2: float, start_wm2: float, rated_wm2: float) -> float:
    """Share of the rated flow: none at the start-up irradiance, all where the array drives the pump at its power.

    Between them a straight line: the water must be lifted before any flows (common practice, no source).
    """
    if wm2 < start_wm2:
        return 0.0
    return 1.0 if wm2 >= rated_wm2 else (wm2 - start_wm2) / (rated_wm2 - start_wm2)


def _solar(rows: Sequence[Row], month: int) -> Row | None:
    """The month's mean radiation, else a neighbour's."""
    by_month = {row["month"]: row for row in rows}
    order = (month, month % 12 + 1, (month - 2) % 12 + 1)
    return next((by_month[m] for m in order if m in by_month), None)
