"""What a week is planned from: one site, its water by the minute, its blocks by the day."""

from dataclasses import dataclass
from datetime import date
from math import inf, nan

DAYS = 7
DAY_MIN = 1440


@dataclass(frozen=True)
class Rules:
    """The programme's rules of the valves, all in whole minutes.

    Attributes
    ----------
    usual_min
        A run's usual length. [min]
    least_min
        A shorter run is not worth the walk. [min]
    changeover_min
        Between two runs: open the next valve, then close the last. [min]
    """

    usual_min: int = 60
    least_min: int = 10
    changeover_min: int = 2


@dataclass(frozen=True)
class BlockInput:
    """One block with a known need.

    Attributes
    ----------
    block_id
        Whose valve.
    flow_m3h
        Through the open valve, as designed. [m³/h]
    area_ha
        Planted, day by day. [ha]
    need_mm
        Gross, over the planted area, day by day; 0 where nothing is needed. [mm]
    efficiency
        Share of the water that the roots get. [-]
    intake_mm_h
        What the soil takes in; infinite where the water may stand, as in a basin. [mm/h]
    yield_response, season_mm
        Ky [-], and the crop's need over its whole season [mm].
    start_depletion_mm, raw_mm, taw_mm
        Water missing from the root zone on the first morning, readily available and total available
        water, all net; NaN: unknown. [mm]
    """

    block_id: str
    flow_m3h: float
    area_ha: tuple[float, ...]
    need_mm: tuple[float, ...]
    efficiency: float = 1.0
    intake_mm_h: float = inf
    yield_response: float = 1.0
    season_mm: float = 500.0
    start_depletion_mm: float = nan
    raw_mm: float = nan
    taw_mm: float = nan


@dataclass(frozen=True)
class SiteInput:
    """One site with the days to plan.

    Attributes
    ----------
    site_id
        Where.
    days
        Local days in a row.
    windows
        For each day the first and the last minute from midnight in which a valve may be open; None:
        on that day nobody irrigates.
    hourly_m3h
        What the pump delivers, for each hour of the local day. [m³/h]
    blocks
        Those with a known need.
    tank_m3
        Usable volume, 0 without a tank. [m³]
    limit_m3_per_day
        What may be pumped. [m³/d]
    rules
        Of the valves.
    """

    site_id: str
    days: tuple[date, ...]
    windows: tuple[tuple[int, int] | None, ...]
    hourly_m3h: tuple[float, ...]
    blocks: tuple[BlockInput, ...]
    tank_m3: float = 0.0
    limit_m3_per_day: float = inf
    rules: Rules = Rules()


@dataclass(frozen=True)
class Turn:
    """One opening of one valve.

    Attributes
    ----------
    day, block
        Their places in the site's days and blocks.
    from_min, to_min
        From midnight. [min]
    volume_m3
        Through the valve. [m³]
    """

    day: int
    block: int
    from_min: int
    to_min: int
    volume_m3: float
