"""A run: one block's valve open, once."""

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True)
class Run:
    """One row of a schedule.

    Attributes
    ----------
    site_id, block_id
        Whose valve.
    day
        Local.
    start_at, end_at
        Local, with their offset; whole minutes. None: the block gets no water on this day.
    depth_mm
        Gross, over the planted area. [mm]
    volume_m3
        Through the valve. [m³]
    short_mm
        Gross need that can't be met on this day. [mm]
    """

    site_id: str
    day: date
    block_id: str
    start_at: datetime | None
    end_at: datetime | None
    depth_mm: float
    volume_m3: float
    short_mm: float

    @property
    def run_min(self) -> int:
        """How long the valve is open [min]."""
        if self.start_at is None or self.end_at is None:
            return 0
        return round((self.end_at - self.start_at).total_seconds() / 60)
