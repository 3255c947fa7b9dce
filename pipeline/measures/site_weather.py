"""The weather of each site and day, carried there from the stations round it.

The three nearest stations that have the day count with the inverse square of their distance, each
variable by itself; a station has the day if it has both temperatures. What else it lacks is estimated
at the station, before it is carried; rain is not.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import duckdb
import numpy as np
import numpy.typing as npt
import pyarrow as pa
from pyproj import Geod

from pipeline.agronomy.arrays import Days, Floats
from pipeline.agronomy.evapotranspiration import reference_evapotranspiration_mm
from pipeline.agronomy.station import fill_station_gaps
from pipeline.agronomy.sun import day_of_year
from pipeline.config import Settings
from pipeline.measures.results import RESULTS, create_empty

LAPSE_K_M = 0.0065  # of temperature with elevation: the standard atmosphere (ISO 2533)
STATIONS_USED = 3
SITES_AT_ONCE = 200
VARIABLES = ("tmin_c", "tmax_c", "rh_mean_pct", "wind_2m_ms", "solar_mj_m2", "rain_mm")
ELLIPSOID = Geod(ellps="WGS84")


@dataclass(frozen=True)
class Places:
    """Where sites or stations are; elevation NaN where nobody wrote it down."""

    ids: npt.NDArray[np.object_]
    latitude_deg: Floats
    longitude_deg: Floats
    elevation_m: Floats


@dataclass(frozen=True)
class StationDays:
    """The stations' weather, gaps filled: each variable (days, stations), NaN where there is none."""

    stations: Places
    days: Days
    values: dict[str, Floats]

    @property
    def has_day(self) -> npt.NDArray[np.bool_]:
        """Whether a station has a day: both temperatures."""
        return np.isfinite(self.values["tmin_c"]) & np.isfinite(self.values["tmax_c"])


def compute_site_weather(connection: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Leave `site_weather` in the connection: sites and days with a station near enough."""
    create_empty(connection, "site_weather")
    sites, weather = _sites(connection), _station_days(connection)
    if not len(weather.days) or not len(sites.ids):
        return
    weather, sites = _with_elevations(weather, sites, _every_site(connection))
    columns = ", ".join(RESULTS["site_weather"])
    for chunk in _chunks(sites):
        weather_at_sites = _weather_at(chunk, weather, settings)
        connection.register("weather_at_sites", weather_at_sites)
        connection.execute(f"INSERT INTO site_weather SELECT {columns} FROM weather_at_sites")  # noqa: S608  our own names
        connection.unregister("weather_at_sites")


def distances_km(sites: Places, stations: Places) -> Floats:
    """Distances on the ellipsoid, (sites, stations) [km]."""
    shape = (len(sites.ids), len(stations.ids))
    _, _, distance_m = ELLIPSOID.inv(
        np.broadcast_to(sites.longitude_deg[:, None], shape).ravel(),
        np.broadcast_to(sites.latitude_deg[:, None], shape).ravel(),
        np.broadcast_to(stations.longitude_deg, shape).ravel(),
        np.broadcast_to(stations.latitude_deg, shape).ravel(),
    )
    return np.asarray(distance_m, dtype=np.float64).reshape(shape) / 1000.0


def _floats(column: object) -> Floats:
    """Doubles as DuckDB hands them over, NULL as NaN."""
    return np.asarray(np.ma.filled(np.ma.asarray(column).astype(np.float64), np.nan))


def _places(rows: Mapping[str, object]) -> Places:
    return Places(
        ids=np.asarray(rows["id"], dtype=object),
        latitude_deg=_floats(rows["latitude"]),
        longitude_deg=_floats(rows["longitude"]),
        elevation_m=_floats(rows["elevation_m"]),
    )


def _sites(connection: duckdb.DuckDBPyConnection) -> Places:
    return _places(
        connection.execute(
            "SELECT site_id AS id, latitude, longitude, elevation_m FROM sites ORDER BY site_id"
        ).fetchnumpy()
    )


def _every_site(connection: duckdb.DuckDBPyConnection) -> Places:
    """Where all of the programme's sites are; `sites` may hold some of them only."""
    known = connection.execute("SELECT 1 FROM information_schema.tables WHERE table_name = 'site_places'")
    name = "site_places" if known.fetchone() else "sites"
    return _places(
        connection.execute(
            f"SELECT site_id AS id, latitude, longitude, elevation_m FROM {name} ORDER BY site_id"  # noqa: S608  our own names
        ).fetchnumpy()
    )


def _station_days(connection: duckdb.DuckDBPyConnection) -> StationDays:
    # a station that moved counts where it stood last
    stations = _places(
        connection.execute(
            """SELECT station_id AS id, arg_max(latitude, day) AS latitude,
                      arg_max(longitude, day) AS longitude, arg_max(elevation_m, day) AS elevation_m
               FROM weather GROUP BY station_id ORDER BY station_id"""
        ).fetchnumpy()
    )
    rows = connection.execute(
        """SELECT dense_rank() OVER (ORDER BY station_id) - 1 AS station, day,
                  tmin_c, tmax_c, rh_mean_pct, wind_2m_ms, solar_mj_m2, rain_mm
           FROM weather"""
    ).fetchnumpy()
    days, row = np.unique(np.asarray(rows["day"], dtype="datetime64[D]"), return_inverse=True)
    place = (row, np.asarray(rows["station"], dtype=np.int64))
    values = {name: np.full((len(days), len(stations.ids)), np.nan) for name in VARIABLES}
    for name, table in values.items():
        table[place] = _floats(rows[name])
    return _gaps_filled(StationDays(stations, days, values))


def _gaps_filled(weather: StationDays) -> StationDays:
    filled = fill_station_gaps(
        day_of_year(weather.days)[:, None],
        weather.stations.latitude_deg,
        *(weather.values[name] for name in VARIABLES[:5]),
    )
    estimates = {
        "rh_mean_pct": filled.rh_mean_pct,
        "wind_2m_ms": filled.wind_2m_ms,
        "solar_mj_m2": filled.solar_mj_m2,
    }
    return StationDays(weather.stations, weather.days, weather.values | estimates)


def _with_elevations(weather: StationDays, sites: Places, every_site: Places) -> tuple[StationDays, Places]:
    """Take a missing elevation from the nearest place of the other kind that has one.

    A station's comes from all of the programme's sites, so that a site alone gives the same.
    """
    stations = weather.stations
    if np.isnan(stations.elevation_m).any():
        stations = _raised(stations, every_site, distances_km(every_site, stations).T)
    return StationDays(stations, weather.days, weather.values), _raised(
        sites, stations, distances_km(sites, stations)
    )


def _raised(places: Places, others: Places, apart_km: Floats) -> Places:
    known = np.isfinite(others.elevation_m)
    if not known.any():
        return places
    nearest = np.argmin(np.where(known, apart_km, np.inf), axis=1)
    elevation_m = np.where(np.isnan(places.elevation_m), others.elevation_m[nearest], places.elevation_m)
    return Places(places.ids, places.latitude_deg, places.longitude_deg, elevation_m)


def _chunks(sites: Places) -> Iterator[Places]:
    for first in range(0, len(sites.ids), SITES_AT_ONCE):
        part = slice(first, first + SITES_AT_ONCE)
        yield Places(
            sites.ids[part], sites.latitude_deg[part], sites.longitude_deg[part], sites.elevation_m[part]
        )


def _nearest(has_day: npt.NDArray[np.bool_], apart_km: Floats) -> npt.NDArray[np.int64]:
    """Find the three nearest stations that have each day, (days, 3), -1 where there are fewer."""
    slots = np.full((len(has_day), STATIONS_USED), -1, dtype=np.int64)
    filled = np.zeros(len(has_day), dtype=np.int64)
    wanted = np.minimum(has_day.sum(axis=1), STATIONS_USED)
    for station in np.argsort(apart_km, kind="stable"):
        taking = np.flatnonzero(has_day[:, station] & (filled < wanted))
        slots[taking, filled[taking]] = station
        filled[taking] += 1
        if (filled == wanted).all():
            break
    return slots


def _weather_at(sites: Places, weather: StationDays, settings: Settings) -> pa.Table:
    apart_km = distances_km(sites, weather.stations)
    parts = [_weather_at_site(sites, row, weather, apart_km[row], settings) for row in range(len(sites.ids))]
    columns = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    return pa.table({name: pa.array(column, from_pandas=True) for name, column in columns.items()})


def _weather_at_site(
    sites: Places, row: int, weather: StationDays, apart_km: Floats, settings: Settings
) -> dict[str, npt.NDArray[np.generic]]:
    slots = _nearest(weather.has_day, apart_km)
    nearest_km = np.where(slots[:, 0] >= 0, apart_km[slots[:, 0]], np.inf)
    near = nearest_km <= settings.station_farthest_km
    slots, nearest_km, days = slots[near], nearest_km[near], weather.days[near]
    weights = _weights(slots, apart_km, nearest_km <= settings.station_alone_km)
    higher_m = weather.stations.elevation_m - sites.elevation_m[row]
    day_rows = np.flatnonzero(near)[:, None]
    carried = {}
    for name in VARIABLES:
        values = weather.values[name][day_rows, slots]
        if name in {"tmin_c", "tmax_c"}:
            values = values + LAPSE_K_M * higher_m[slots]
        carried[name] = _mean(values, weights)
    et0_mm = reference_evapotranspiration_mm(
        day_of_year(days),
        sites.latitude_deg[row],
        sites.elevation_m[row],
        *(carried[name] for name in VARIABLES[:5]),
    )
    site_ids = np.full(len(days), sites.ids[row], dtype=object)
    return {"site_id": site_ids, "day": days, **carried, "et0_mm": et0_mm, "distance_km": nearest_km}


def _weights(slots: npt.NDArray[np.int64], apart_km: Floats, alone: npt.NDArray[np.bool_]) -> Floats:
    slot_km = np.where(slots >= 0, apart_km[slots], np.inf)
    # a station on the spot is alone anyway: the least distance only spares the division by 0
    weights = 1.0 / np.maximum(slot_km, 1e-6) ** 2
    weights[alone, 1:] = 0.0
    return weights


def _mean(values: Floats, weights: Floats) -> Floats:
    """Weighted mean of the stations that have the variable, NaN where none has."""
    counted = np.where(np.isfinite(values), weights, 0.0)
    total = counted.sum(axis=1)
    summed = (np.where(counted > 0, values, 0.0) * counted).sum(axis=1)
    return np.asarray(np.divide(summed, total, out=np.full(len(values), np.nan), where=total > 0))
