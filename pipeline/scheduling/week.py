"""A site's week: its runs, and what they rest on."""

from dataclasses import dataclass
from datetime import date
from math import isnan
from typing import Literal

from pipeline.scheduling.runs import Run
from pipeline.words import say

HOURS = 24


@dataclass(frozen=True)
class Plot:
    """One planting within a block, and its share of a run's minutes.

    Attributes
    ----------
    crop, planted_on
        Which planting.
    area_ha
        As reported. [ha]
    share
        Of a run's minutes, by area and need; the plots of a block sum to 1. [-]
    """

    crop: str
    planted_on: date
    area_ha: float
    share: float


@dataclass(frozen=True)
class WeekBlock:
    """One block in the week.

    Attributes
    ----------
    block_id
        Whose valve.
    planted_ha
        Mean of the days with a crop; NaN where nobody knows. [ha]
    flow_m3h
        Through the open valve, as designed; NaN where nobody wrote it down. [m³/h]
    need_mm
        Gross, day by day; NaN on days of unknown need. [mm]
    unknown
        Why the block gets no turn, in a sentence; empty where it takes part.
    plots
        The plantings that share its runs; empty where one crop stands or areas are not on record.
    """

    block_id: str
    planted_ha: float
    flow_m3h: float
    need_mm: tuple[float, ...]
    unknown: str = ""
    plots: tuple[Plot, ...] = ()


@dataclass(frozen=True)
class Supply:
    """What array and pump deliver on a usual day of the month.

    Attributes
    ----------
    hourly_m3h
        One for each hour of the local day, the first from midnight to one. [m³/h]
    known_from
        `log`: learnt from the site's own log; `sun`: from the sun and the rated flow.
    sentence
        The same with its months and days, as a person reads it.
    """

    hourly_m3h: tuple[float, ...]
    known_from: Literal["log", "sun"]
    sentence: str


@dataclass(frozen=True)
class Week:
    """The farmers' week at one site.

    Attributes
    ----------
    site_id
        Where.
    from_day, to_day
        The days that the runs speak of, local, both included.
    runs
        By day, in the order of the turns; a block that goes short without a run comes last in its day.
    blocks
        All of the site's, in the order of their names.
    supply
        By hour.
    remarks
        Sentences: what goes short, what is unknown, what to keep in mind.
    repeats_until
        Of a standing sheet: the last day on which the pattern holds; None for a week's own sheet.
    """

    site_id: str
    from_day: date
    to_day: date
    runs: tuple[Run, ...]
    blocks: tuple[WeekBlock, ...]
    supply: Supply
    remarks: tuple[str, ...] = ()
    repeats_until: date | None = None

    @property
    def given_m3(self) -> float:
        """Water through all valves [m³]."""
        return sum(run.volume_m3 for run in self.runs)

    @property
    def unknown_blocks(self) -> tuple[str, ...]:
        """Blocks whose need nobody knows on any of the days."""
        return tuple(of.block_id for of in self.blocks if all(map(isnan, of.need_mm)))

    @property
    def said(self) -> tuple[str, ...]:
        """Sentences: how much water goes out, what that rests on, what goes short, and what may hurt."""
        told = say(
            "scheduling.told",
            site=self.site_id,
            first=self.from_day,
            last=self.to_day,
            runs=sum(1 for run in self.runs if run.run_min),
            m3=f"{self.given_m3:,.0f}",
        )
        return (told, self.supply.sentence, *self.remarks, say("scheduling.safety"))

    def short_mm(self, block_id: str) -> float:
        """Return the gross need of a block that the week can't meet [mm]."""
        return sum(run.short_mm for run in self.runs if run.block_id == block_id)
