"""Crop water need of every block and day: weather at the site, standing crops, effective rain."""

import duckdb
import numpy as np
import numpy.typing as npt
import pyarrow as pa

from pipeline.agronomy.arrays import Floats
from pipeline.agronomy.crop_coefficient import climate_departure, climate_share, crop_coefficient
from pipeline.agronomy.crops import FALLOW, plain_name
from pipeline.agronomy.effective_rain import RainStore, effective_rain_mm
from pipeline.agronomy.humidity import lowest_humidity_pct
from pipeline.config import Settings
from pipeline.measures.arrow import add_rows, floats
from pipeline.measures.crop_rows import leave_crop_rows, printed_row
from pipeline.measures.ground import leave_ground, leave_roots
from pipeline.measures.initial_stage import leave_kc_ini
from pipeline.measures.root_zone import leave_root_zone_rain
from pipeline.measures.site_weather import compute_site_weather
from pipeline.measures.statements import prepare_sums, run_statement

STAGES = ("kc_ini", "kc_mid", "kc_end", "ini_days", "dev_days", "mid_days", "late_days", "height_m")
SITES_AT_ONCE = 250
SCRATCH = (
    "need_crops", "need_crop_days", "need_climate", "need_kc_ini", "block_demand", "block_store_rain", "block_rain",
    "root_zone_rain",
)  # fmt: skip


def compute(connection: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Leave site_weather, planting_spans, block_days and site_need_days in the connection.

    Beside them what the balance of the root zone asks for: planting_days, crop_roots, block_ground.

    Parameters
    ----------
    connection
        With the contract's tables sites, blocks, plantings, crops and weather.
    settings
        The programme's: the rain store, the reach of stations, whether Kc goes by the climate.
    """
    prepare_sums(connection)
    compute_site_weather(connection, settings)
    leave_crop_rows(connection, settings)
    leave_crops(connection)
    if settings.kc_in_climate:
        _leave_climate(connection)
    run_statement(connection, "planting_spans", {})
    leave_ground(connection, settings)
    leave_kc_ini(connection, settings)
    run_statement(connection, "planting_days", {})
    run_statement(connection, "block_demand", {})
    leave_roots(connection)
    leave_root_zone_rain(connection)
    _leave_store_rain(connection, settings)
    for name in ("block_rain", "block_days", "site_need_days"):
        run_statement(connection, name, settings.as_parameters())
    for scratch in SCRATCH:
        connection.execute(f"DROP TABLE {scratch}")


def leave_crops(connection: duckdb.DuckDBPyConnection) -> None:
    """Leave need_crops (one a crop as written and row of its values) and need_crop_days (its Kc on each day).

    Beside them an empty need_climate: Kc as tabulated. Reads crop_rows and crops.
    """
    connection.execute(
        """CREATE OR REPLACE TEMP TABLE need_crops
               (crop VARCHAR, crop_row VARCHAR, fallow BOOLEAN, season_days INTEGER, ini_days INTEGER, kc_ini DOUBLE);
           CREATE OR REPLACE TEMP TABLE need_crop_days
               (crop VARCHAR, crop_row VARCHAR, day_number INTEGER, kc DOUBLE, climate_share DOUBLE, ini_share DOUBLE);
           CREATE OR REPLACE TEMP TABLE need_climate (site_id VARCHAR, day DATE, kc_departure DOUBLE)"""
    )
    own = own_crops(connection)
    rows = connection.execute("SELECT DISTINCT crop, crop_row FROM crop_rows ORDER BY ALL").fetchall()
    for crop, crop_row in rows:
        stages = crop_values(crop, own, crop_row)
        if plain_name(crop) == FALLOW or stages is None:
            connection.execute(
                "INSERT INTO need_crops VALUES (?, ?, ?, NULL, NULL, NULL)",
                [crop, crop_row, plain_name(crop) == FALLOW],
            )
        else:
            _leave_crop(connection, crop, crop_row, stages)


def own_crops(connection: duckdb.DuckDBPyConnection) -> dict[str, list[float | None]]:
    """Return the programme's own crops by their plain names, each with its `STAGES`."""
    return {
        plain_name(name): values
        for name, *values in connection.execute(
            f"SELECT crop, {', '.join(STAGES)} FROM crops ORDER BY crop"  # noqa: S608  our own names
        ).fetchall()
    }


def crop_values(
    crop: str, own: dict[str, list[float | None]], crop_row: str = ""
) -> list[float | None] | None:
    """Return the `STAGES` of a crop as written, the programme's own before the built-in; None: unknown."""
    printed = printed_row(crop, crop_row)
    built_in: list[float | None] | None = (
        None if printed is None else [float(getattr(printed, stage)) for stage in STAGES]
    )
    return own.get(plain_name(crop)) or built_in


def _leave_crop(
    connection: duckdb.DuckDBPyConnection, crop: str, crop_row: str, stages: list[float | None]
) -> None:
    *required, height_m = stages
    kc_and_days = [float(value) for value in required if value is not None]
    season_days = int(sum(kc_and_days[3:]))
    numbers = np.arange(1, season_days + 1)
    # without a height nobody knows how much of the climate the crop feels: its Kc stays as tabulated
    kc_ini, _, kc_end, ini, dev, mid, late = kc_and_days
    height = np.nan if height_m is None else height_m
    share = climate_share(numbers, kc_end, ini, dev, mid, late, height)
    # stages without a day say nothing of the crop: it is unknown, not without need
    connection.execute(
        "INSERT INTO need_crops VALUES (?, ?, FALSE, ?, ?, ?)",
        [crop, crop_row, season_days or None, int(ini), kc_ini],
    )
    crop_days = pa.table(
        {
            "crop": pa.array([crop] * season_days, pa.string()),
            "crop_row": pa.array([crop_row] * season_days, pa.string()),
            "day_number": pa.array(numbers),
            "kc": pa.array(crop_coefficient(numbers, *kc_and_days)),
            "climate_share": pa.array(share, from_pandas=True),
            # the curve of eq. 66 is linear in Kc ini: so much of another one reaches a day
            "ini_share": pa.array(crop_coefficient(numbers, 1.0, 0.0, 0.0, ini, dev, mid, late)),
        }
    )
    add_rows(connection, "need_crop_days", crop_days)


def _leave_climate(connection: duckdb.DuckDBPyConnection) -> None:
    """Fill need_climate: how far each day's wind and humidity move the Kc at a site."""
    rows = connection.execute(
        """SELECT site_id, day, tmin_c, tmax_c, rh_mean_pct, wind_2m_ms FROM site_weather
           ORDER BY site_id, day"""
    ).to_arrow_table()
    tmin_c, tmax_c, rh_mean_pct, wind_2m_ms = (
        floats(rows, name) for name in ("tmin_c", "tmax_c", "rh_mean_pct", "wind_2m_ms")
    )
    departure = climate_departure(wind_2m_ms, lowest_humidity_pct(tmin_c, tmax_c, rh_mean_pct))
    climate = rows.select(["site_id", "day"]).append_column(
        "kc_departure", pa.array(departure, from_pandas=True)
    )
    add_rows(connection, "need_climate", climate)


def _leave_store_rain(connection: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Leave block_store_rain: what the crops of a block drew from its store on each day.

    A store is empty on the day of commissioning; where the weather begins later, on its first day.
    """
    connection.execute(
        """CREATE OR REPLACE TEMP TABLE block_store_rain
           (site_id VARCHAR, block_id VARCHAR, day DATE, drawn_mm DOUBLE)"""
    )
    sites = connection.execute("SELECT DISTINCT site_id FROM block_demand ORDER BY site_id").fetchall()
    rule = RainStore(
        settings.effective_rain_share, settings.effective_rain_least_mm, settings.effective_rain_store_mm
    )
    for first in range(0, len(sites), SITES_AT_ONCE):
        (from_site,), (to_site,) = sites[first], sites[first : first + SITES_AT_ONCE][-1]
        _rain_of_blocks(connection, rule, from_site, to_site)


def _rain_of_blocks(
    connection: duckdb.DuckDBPyConnection, rule: RainStore, from_site: str, to_site: str
) -> None:
    rows = connection.execute(
        """SELECT site_id, block_id, day, rain_mm, etc_mm,
                  dense_rank() OVER (ORDER BY site_id, block_id) - 1 AS block
           FROM block_demand WHERE site_id BETWEEN ? AND ?
           ORDER BY site_id, block_id, day""",
        [from_site, to_site],
    ).to_arrow_table()
    days = rows.column("day").to_numpy().astype("datetime64[D]")
    place = ((days - days.min()).astype(np.int64), rows.column("block").to_numpy())
    rain, etc = (_grid(rows, name, place) for name in ("rain_mm", "etc_mm"))
    # before its commissioning a block has no rows, so no rain enters its store
    drawn = effective_rain_mm(rain, etc, rain_store=rule).drawn_mm[place]
    block_drawn = rows.select(["site_id", "block_id", "day"]).append_column(
        "drawn_mm", pa.array(drawn, from_pandas=True)
    )
    add_rows(connection, "block_store_rain", block_drawn)


def _grid(rows: pa.Table, name: str, place: tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]) -> Floats:
    """Lay a column of block days out as (days, blocks), NaN where there is no row or no value."""
    grid = np.full((int(place[0].max()) + 1, int(place[1].max()) + 1), np.nan)
    grid[place] = floats(rows, name)
    return grid
