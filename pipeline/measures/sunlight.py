"""Daylight of every site and day: the service time, and the hours in which a pump can run."""

from dataclasses import dataclass
from datetime import date

import duckdb
import numpy as np
import numpy.typing as npt
import pyarrow as pa

from pipeline.agronomy.arrays import Floats
from pipeline.agronomy.sun import Daylight, daylight
from pipeline.config import Settings

Times = npt.NDArray[np.float64]  # seconds since 1970, UTC


@dataclass(frozen=True)
class SiteSun:
    """Sunrise and sunset of one site, day by day, in seconds since 1970, UTC."""

    rise_s: Times
    set_s: Times

    def hours_until(self, at_s: Times) -> Floats:
        """Return the daylight hours [h] from the first day to a moment.

        A moment before the first day counts from it; one after the last goes no further.
        """
        lengths = np.nan_to_num(self.set_s - self.rise_s)
        before = np.concatenate([[0.0], np.cumsum(lengths)])
        day = np.clip(np.searchsorted(self.rise_s, at_s, side="right") - 1, 0, len(lengths) - 1)
        within = np.clip(at_s - self.rise_s[day], 0.0, lengths[day])
        return (before[day] + within) / 3600.0


def leave_sun(
    connection: duckdb.DuckDBPyConnection, settings: Settings, first: date, last: date
) -> dict[str, SiteSun]:
    """Leave site_sun (site_id, day, work_from_at, work_to_at) and return each site's sun.

    Parameters
    ----------
    connection
        With the table sites.
    settings
        Margins of the service time.
    first, last
        Local days, both included; the returned suns begin a day earlier and end a day later.
    """
    sites = connection.execute("SELECT site_id, latitude, longitude FROM sites ORDER BY site_id").fetchall()
    days = np.arange(np.datetime64(first) - 1, np.datetime64(last) + 2)
    suns = {}
    tables = []
    for site_id, latitude, longitude in sites:
        sun = daylight(latitude, longitude, days)
        suns[site_id] = SiteSun(sun.from_s, sun.to_s)
        asked = pa.table({"site_id": pa.array([site_id] * (len(days) - 2), pa.string()), "day": days[1:-1]})
        tables.append(_service(asked, Daylight(sun.from_s[1:-1], sun.to_s[1:-1]), settings))
    connection.execute(
        """CREATE OR REPLACE TEMP TABLE site_sun
           (site_id VARCHAR, day DATE, work_from_at TIMESTAMP, work_to_at TIMESTAMP)"""
    )
    if tables:
        connection.register("_sun", pa.concat_tables(tables))
        connection.execute("INSERT INTO site_sun SELECT * FROM _sun")
        connection.unregister("_sun")
    return suns


def leave_unseen_sun(connection: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Leave figure_unseen_sun: figure_unseen_days, each with its service time."""
    rows = connection.execute("FROM figure_unseen_days").to_arrow_table()
    days = rows.column("day").to_numpy().astype("datetime64[D]")
    sun = daylight(rows.column("latitude").to_numpy(), rows.column("longitude").to_numpy(), days)
    table = _service(rows.select(["site_id", "from_day"]), sun, settings)
    connection.register("_unseen", table)
    connection.execute("CREATE OR REPLACE TEMP TABLE figure_unseen_sun AS FROM _unseen")
    connection.unregister("_unseen")


def _service(days: pa.Table, sun: Daylight, settings: Settings) -> pa.Table:
    """The days with their service time, without those that have none: a polar night, wide margins."""
    work = sun.within(settings.service_after_sunrise_h, settings.service_before_sunset_h)
    keep = np.isfinite(work.from_s)
    table = days.filter(pa.array(keep))
    for name, moment_s in (("work_from_at", work.from_s), ("work_to_at", work.to_s)):
        table = table.append_column(name, pa.array(moment_s[keep].round().astype("datetime64[s]")))
    return table
