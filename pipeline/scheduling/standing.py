"""A lasting sheet, for a site that nobody reaches weekly: how long it holds."""

from calendar import monthrange
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Literal

from pipeline.measures.seasons import planting_stages
from pipeline.scheduling.inputs import DAYS
from pipeline.store import Reader

Standing = Literal["month", "stage"]
LONGEST_DAYS = 62  # of a stage: beyond, the need of its first day says little of its last


def period(reader: Reader, sites: Sequence[str], first: date, standing: Standing) -> dict[str, date]:
    """Return the last day of each site's sheet.

    `month`: the last of the calendar month, or of the next one where fewer than seven days are left.
    `stage`: the day before the next stage of any planting at the site begins, at least seven days.
    """
    least, most = first + timedelta(days=DAYS - 1), first + timedelta(days=LONGEST_DAYS - 1)
    if standing == "month":
        end = first.replace(day=monthrange(first.year, first.month)[1])
        if end < least:
            end = least.replace(day=monthrange(least.year, least.month)[1])
        return dict.fromkeys(sites, end)
    ends = dict.fromkeys(sites, most)
    for stage in planting_stages(reader, first, most, sites=sites):
        for change in (stage["from_day"] - timedelta(days=1), stage["to_day"]):
            if change is not None and least <= change < ends[stage["site_id"]]:
                ends[stage["site_id"]] = change
    return ends
