"""The water in the root zone of every planting: rain that it keeps, and its balance day by day."""

from collections.abc import Iterator

import duckdb
import numpy as np
import pyarrow as pa

from pipeline.agronomy.arrays import Floats
from pipeline.agronomy.effective_rain import RainStore, effective_rain_mm
from pipeline.agronomy.root_zone import RootZoneBalance, root_zone_balance
from pipeline.agronomy.soil_water import depletion_fraction, readily_available_water_mm
from pipeline.config import Settings
from pipeline.measures.arrow import add_rows
from pipeline.measures.planting_grid import KEY, PlantingGrid, planting_grid
from pipeline.measures.results import create_empty
from pipeline.measures.soil_evaporation import dual_demand, leave_basal, single_demand
from pipeline.measures.statements import run_statement

SITES_AT_ONCE = 250
# the most that FAO-56 Table 2 has for an arid, warm region (from memory): where the weather is unknown,
# a crop took no more
GREATEST_ET0_MM = 9.0
COURSES = ("depletion_mm", "ks", "etc_adjusted_mm", "deep_percolation_mm")


def leave_root_zone_rain(connection: duckdb.DuckDBPyConnection) -> None:
    """Leave root_zone_rain: what each planting drew on a day from the rain that its roots could hold.

    The store is the readily available water (p of Table 22), so it grows with the roots. It is empty on
    the first day, and a layer that the roots grow into brings nothing: what the crop lacks is irrigated.
    Reads planting_days, crop_roots, block_ground, site_weather.
    """
    connection.execute(
        """CREATE OR REPLACE TEMP TABLE root_zone_rain
           (planting_no BIGINT, day DATE, drawn_mm DOUBLE)"""
    )
    for grid in _grids(connection):
        ready_mm = readily_available_water_mm(grid.taw_mm(), grid.column("depletion_fraction"))
        rule = RainStore(effective_share=1.0, least_rain_mm=0.0, capacity_mm=grid.grid(ready_mm))
        rain_mm, etc_mm = grid.grid(grid.rain_mm()), grid.grid(grid.column("etc_mm"))
        drawn = effective_rain_mm(rain_mm, etc_mm, rain_store=rule).drawn_mm[grid.place]
        _insert(connection, "root_zone_rain", grid.rows.select(["planting_no", "day"]), {"drawn_mm": drawn})


def leave_root_zone_days(connection: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Leave root_zone_days: the balance of each planting whose crop and roots are known.

    Reads what `leave_root_zone_rain` does, meter_intervals, site_days and block_days.
    """
    create_empty(connection, "root_zone_days")
    for name in ("figures_block_water", "block_irrigation"):
        run_statement(connection, name, settings.as_parameters() | {"sites": None})
    if settings.dual_crop_coefficient:
        leave_basal(connection)
    for grid in _grids(connection, irrigated=True):
        _insert(connection, "root_zone_days", *_balanced(connection, grid, settings))


def _grids(connection: duckdb.DuckDBPyConnection, *, irrigated: bool = False) -> Iterator[PlantingGrid]:
    """The plantings, some sites at a time."""
    found = connection.execute("SELECT DISTINCT site_id FROM planting_days ORDER BY site_id").fetchall()
    sites = [site_id for (site_id,) in found]
    for first in range(0, len(sites), SITES_AT_ONCE):
        some = sites[first : first + SITES_AT_ONCE]
        grid = planting_grid(connection, some[0], some[-1], irrigated=irrigated)
        if grid.rows.num_rows:
            yield grid


def _balanced(
    connection: duckdb.DuckDBPyConnection, grid: PlantingGrid, settings: Settings
) -> tuple[pa.Table, dict[str, Floats]]:
    """The grid's keys and its columns of root_zone_days."""
    taw, rain = grid.taw_mm(), grid.rain_mm()
    irrigation = grid.column("applied_mm") * grid.column("efficiency")
    dual = settings.dual_crop_coefficient
    etc, evaporation = dual_demand(connection, grid, irrigation, settings) if dual else single_demand(grid)
    fraction = depletion_fraction(grid.column("depletion_fraction"), etc)
    balance = root_zone_balance(
        grid.grid(etc),
        grid.grid(rain),
        grid.grid(irrigation),
        grid.grid(taw),
        grid.grid(fraction),
        _start(grid, settings) * grid.at_planting(taw),
        evaporation_mm=grid.grid(evaporation),
        subsoil_depletion_share=_start(grid, settings),
        unknown_etc_at_most_mm=grid.grid(grid.column("kc") * GREATEST_ET0_MM),
    )
    told = {
        "planted_ha": grid.column("planted_ha"),
        "etc_mm": etc,
        "rain_mm": rain,
        "irrigation_mm": irrigation,
        "blocks_on_water": grid.column("blocks_on_water"),
        "taw_mm": taw,
        "raw_mm": readily_available_water_mm(taw, fraction),
    }
    return grid.rows.select(KEY), told | _courses(balance, grid)


def _start(grid: PlantingGrid, settings: Settings) -> Floats:
    """Least and greatest share of the available water that was missing on the first day, (2, plantings).

    A planting whose first days nobody has the weather of, or that was there before the site, may have
    begun with anything.
    """
    from_planting = grid.at_planting(grid.column("day_number")) == 1
    most = np.where(from_planting, settings.start_depletion_share, 1.0)
    return np.stack([np.zeros_like(most), most])


def _courses(balance: RootZoneBalance, grid: PlantingGrid) -> dict[str, Floats]:
    """Columns of the wettest and the driest course."""
    return {
        f"{name.removesuffix('_mm')}_{which}{'_mm' if name.endswith('_mm') else ''}": getattr(
            getattr(balance, which), name
        )[grid.place]
        for name in COURSES
        for which in ("wettest", "driest")
    }


def _insert(
    connection: duckdb.DuckDBPyConnection, table: str, keys: pa.Table, columns: dict[str, Floats]
) -> None:
    rows = keys
    for name, values in columns.items():
        rows = rows.append_column(name, pa.array(values, from_pandas=True))
    add_rows(connection, table, rows)
