"""The controllers' logs: a file a month, CSV in some and Parquet in others."""

from datetime import date

import numpy as np
import pyarrow as pa
from pyarrow import csv as arrow_csv
from pyarrow import parquet

from data_demo.arrivals import delivery_of
from data_demo.chunks import Chunk
from data_demo.instruments import STEPS, log_of_day
from data_demo.paper import Paper
from data_demo.simulate import KINDS
from data_demo.sites import Ints

UTC_OFFSET = np.timedelta64(120, "m")  # of Africa/Blantyre, all year
STEP = np.timedelta64(15, "m")
HOURS_OFF = 3


def write_logs(paper: Paper, chunk: Chunk) -> None:
    """Write the logs of a chunk's sites that keep one; the clock of one of them is three hours behind."""
    members = np.flatnonzero(chunk.sites.telemetry)
    off = int(members[len(members) // 2]) if len(members) > 4 else -1
    months = chunk.weather.day.astype("datetime64[M]")
    for month in np.unique(months):
        of_year = int(str(month)[-2:])
        # some controllers write their zone, the others don't
        table = _month(chunk, members, off, np.flatnonzero(months == month), zoned=of_year % 3 == 1)
        last: date = chunk.weather.day[months == month][-1].astype(date)
        path = paper.folder(delivery_of(last)) / f"telemetry_{month}{chunk.tag}"
        if of_year % 3 == 0 and not chunk.tag:
            path = path.with_suffix(".csv")
            arrow_csv.write_csv(table, path)
        else:
            path = path.with_suffix(".parquet")
            parquet.write_table(table, path)
        if off >= 0:
            paper.note_all(
                delivery_of(last), path.name, [("clock_three_hours_off", chunk.sites.site_id(off))]
            )


def _month(chunk: Chunk, members: Ints, off: int, days: Ints, *, zoned: bool) -> pa.Table:
    """One table of a month's log: site by site within a day, quarter by quarter within a site."""
    silent = chunk.outcome.severity[:, :, KINDS.index("data_silent")] > 0
    ids = pa.array([chunk.sites.site_id(int(i)) for i in members])
    steps = np.arange(STEPS)
    parts = []
    for day in days:
        log = log_of_day(
            chunk.seed, chunk.number, chunk.sites, chunk.weather, chunk.outcome, members, int(day)
        )
        keep = ~silent[members, day] & chunk.sites.in_service(int(day))[members]
        late = np.where(members == off, HOURS_OFF * 4, 0)
        marks = (steps[None, :] + 1 - late[:, None])[keep].ravel() + HOURS_OFF * 4
        site = np.repeat(np.flatnonzero(keep), STEPS)
        columns = {
            "site_id": ids.take(pa.array(site)),
            "logged_at": _written(chunk.weather.day[day], zoned=zoned).take(pa.array(marks)),
        }
        parts.append(
            pa.table(
                columns
                | {name: pa.array(values[keep].ravel(), from_pandas=True) for name, values in log.items()}
            )
        )
    return pa.concat_tables(parts)


def _written(day: np.datetime64, *, zoned: bool) -> pa.Array:
    """How a controller writes the marks of a day's quarters, from three hours before the day on."""
    marks = day.astype("datetime64[m]") + STEP * np.arange(-HOURS_OFF * 4, STEPS + 1)
    if zoned:
        return pa.array((marks - UTC_OFFSET).astype("datetime64[s]"), pa.timestamp("s", "Africa/Blantyre"))
    return pa.array(np.char.replace(np.datetime_as_string(marks, unit="m"), "T", " "))
