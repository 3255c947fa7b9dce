"""What evaporates from the soil between the plants, where a programme has it apart from the crop's use."""

from typing import NamedTuple

import duckdb
import numpy as np
import pyarrow as pa

from pipeline.agronomy.application import WETTED_SHARE
from pipeline.agronomy.arrays import Floats
from pipeline.agronomy.basal import basal_coefficients
from pipeline.agronomy.crop_coefficient import (
    climate_departure,
    climate_share,
    crop_coefficient,
)
from pipeline.agronomy.crops import plain_name
from pipeline.agronomy.dual_crop_coefficient import (
    covered_share,
    kc_max,
    surface_layer,
    total_evaporable_water_mm,
)
from pipeline.agronomy.humidity import lowest_humidity_pct
from pipeline.agronomy.soils import soils
from pipeline.config import Settings
from pipeline.measures.arrow import floats, leave_table
from pipeline.measures.crop_rows import own_names, printed_row
from pipeline.measures.planting_grid import PlantingGrid

ROWS = """
    SELECT kcb, b.climate_share, b.height_m, s.tew_mm, s.rew_mm, k.irrigation_method,
           w.et0_mm, w.tmin_c, w.tmax_c, w.rh_mean_pct, w.wind_2m_ms
    FROM grid_rows g
    JOIN planting_spans p USING (site_id, block_id, crop, planted_on)
    JOIN blocks k USING (site_id, block_id)
    JOIN block_ground d USING (site_id, block_id)
    JOIN soil_surfaces s ON s.soil = d.soil
    LEFT JOIN site_weather w ON w.site_id = g.site_id AND w.day = g.day
    LEFT JOIN basal_days b ON b.crop = g.crop AND b.crop_row = p.crop_row
        AND b.day_number = least(g.day_number, b.season_days)
    ORDER BY g.planting_no, g.row"""


class Demand(NamedTuple):
    """What plants and soil would take on each row of a grid [mm].

    Attributes
    ----------
    etc_mm
        Both together.
    evaporation_mm
        The part that the soil evaporates, which stress of the crop does not lessen.
    """

    etc_mm: Floats
    evaporation_mm: Floats


def single_demand(grid: PlantingGrid) -> Demand:
    """Return the demand by the single coefficient, in which stress lessens all (FAO-56 eq. 81)."""
    etc_mm = grid.column("etc_mm")
    return Demand(etc_mm, np.zeros_like(etc_mm))


def dual_demand(
    connection: duckdb.DuckDBPyConnection, grid: PlantingGrid, irrigation_mm: Floats, settings: Settings
) -> Demand:
    """Return the demand by the dual coefficient, FAO-56 chapter 7 (eq. 69 to 80).

    Where the table has no basal coefficient for a crop, or the programme gave its own values, the single
    coefficient stands in; so it does from a day without a meter's word or a known rain on, until water comes
    that fills the surface layer whatever it held: nobody knows how wet it is. It is dry at planting.

    Parameters
    ----------
    connection
        With what `planting_grid` reads, and basal_days and soil_surfaces of `leave_basal`.
    grid
        The plantings.
    irrigation_mm
        Net, of each row; NaN where no meter speaks. [mm]
    """
    connection.register("grid_rows", grid.rows.append_column("row", pa.array(grid.place[0])))
    rows = connection.execute(ROWS).to_arrow_table()
    connection.unregister("grid_rows")
    found = {name: floats(rows, name) for name in rows.column_names if name != "irrigation_method"}
    methods = rows.column("irrigation_method").to_pylist()
    wind = found["wind_2m_ms"]
    lowest_pct = lowest_humidity_pct(found["tmin_c"], found["tmax_c"], found["rh_mean_pct"])
    kcb = found["kcb"]
    if settings.kc_in_climate:
        kcb = kcb + found["climate_share"] * climate_departure(wind, lowest_pct)
    greatest = kc_max(kcb, wind, lowest_pct, found["height_m"])
    wets = np.array([WETTED_SHARE.get(method, 1.0) for method in methods])
    surface = surface_layer(
        grid.grid(found["et0_mm"]),
        grid.grid(grid.rain_mm()),
        grid.grid(irrigation_mm),
        grid.grid(kcb),
        grid.grid(greatest),
        grid.grid(covered_share(kcb, greatest, found["height_m"])),
        grid.grid(wets),
        grid.grid(found["tew_mm"]),
        grid.grid(found["rew_mm"]),
        grid.at_planting(found["tew_mm"]),
        emitters_under_canopy=grid.at_planting(np.array([method == "drip" for method in methods])),
    )
    evaporation = surface.evaporation_mm[grid.place]
    single = single_demand(grid)
    known = ~np.isnan(kcb) & ~np.isnan(evaporation)
    etc = np.where(known, kcb * found["et0_mm"] + evaporation, single.etc_mm)
    return Demand(etc, np.where(known, evaporation, single.evaporation_mm))


def leave_basal(connection: duckdb.DuckDBPyConnection) -> None:
    """Leave basal_days (Kcb of each crop and day) and soil_surfaces. Reads planting_spans and crops."""
    own = own_names(connection)
    query = "SELECT DISTINCT crop, crop_row FROM planting_spans WHERE known AND NOT fallow ORDER BY ALL"
    curves = [
        _curve(crop, crop_row)
        for crop, crop_row in connection.execute(query).fetchall()
        if plain_name(crop) not in own
    ]
    surfaces = pa.table(
        {
            "soil": list(soils()),
            "tew_mm": [
                float(
                    total_evaporable_water_mm(
                        (s.theta_fc_min + s.theta_fc_max) / 2, (s.theta_wp_min + s.theta_wp_max) / 2
                    )
                )
                for s in soils().values()
            ],
            "rew_mm": [
                (s.readily_evaporable_min_mm + s.readily_evaporable_max_mm) / 2 for s in soils().values()
            ],
        }
    )
    leave_table(connection, "basal_days", pa.concat_tables([BASAL_DAYS.empty_table(), *curves]))
    leave_table(connection, "soil_surfaces", surfaces)


BASAL_DAYS = pa.schema(
    [
        ("crop", pa.string()), ("crop_row", pa.string()), ("season_days", pa.int64()), ("day_number", pa.int64()),
        ("kcb", pa.float64()), ("climate_share", pa.float64()), ("height_m", pa.float64()),
    ]
)  # fmt: skip


def _curve(crop: str, crop_row: str) -> pa.Table:
    """Kcb of a crop's days; its height grows by the same amount each day until mid-season."""
    printed = printed_row(crop, crop_row)
    if printed is None:
        return BASAL_DAYS.empty_table()
    days = np.arange(1, printed.season_days + 1)
    basal = basal_coefficients()[printed.crop]
    stages = (printed.ini_days, printed.dev_days, printed.mid_days, printed.late_days)
    grown = np.clip(days / max(printed.ini_days + printed.dev_days, 1), 0.0, 1.0)
    columns = {
        "crop": [crop] * len(days),
        "crop_row": [crop_row] * len(days),
        "season_days": [printed.season_days] * len(days),
        "day_number": days,
        "kcb": crop_coefficient(days, *basal, *stages),
        "climate_share": climate_share(days, basal.kcb_end, *stages, printed.height_m),
        "height_m": grown * printed.height_m,
    }
    return pa.table(columns, schema=BASAL_DAYS)
