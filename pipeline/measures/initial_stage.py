"""Kc of the initial stage by how often the soil is wetted, where a programme has it so."""

from typing import NamedTuple

import duckdb
import numpy as np
import pyarrow as pa

from pipeline.agronomy.application import WETTED_SHARE
from pipeline.agronomy.arrays import Floats
from pipeline.agronomy.kc_ini import kc_ini, wettings
from pipeline.agronomy.soils import soils
from pipeline.config import Settings
from pipeline.measures.arrow import add_rows, floats

DAYS = """
    SELECT p.site_id, p.block_id, p.crop, p.planted_on, c.kc_ini, g.soil, b.irrigation_method, w.day, w.et0_mm, w.rain_mm,
           dense_rank() OVER (ORDER BY p.site_id, p.block_id, p.crop, p.planted_on) - 1 AS planting,
           w.day - p.planted_on AS row
    FROM planting_spans p
    JOIN need_crops c USING (crop, crop_row)
    JOIN blocks b USING (site_id, block_id)
    JOIN block_ground g USING (site_id, block_id)
    JOIN site_weather w ON w.site_id = p.site_id AND w.day BETWEEN p.planted_on AND p.planted_on + c.ini_days - 1
    WHERE NOT p.fallow AND p.known AND w.et0_mm IS NOT NULL AND c.ini_days > 0
    ORDER BY p.site_id, p.block_id, p.crop, p.planted_on, w.day"""


class _Stage(NamedTuple):
    """The initial stages of some plantings, each (plantings,)."""

    et0_mm: Floats
    rain_interval_days: Floats
    rain_depth_mm: Floats


def leave_kc_ini(connection: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Leave need_kc_ini: how far a planting's Kc ini lies from the tabulated one, FAO-56 eq. 59 to 61.

    No row: as tabulated. The soil is wetted by the programme's usual irrigation, or by the rain where
    that comes oftener; ET0 is the mean over the days of the stage whose weather is known. Reads
    planting_spans, need_crops, blocks, block_ground, site_weather.
    """
    connection.execute(
        """CREATE OR REPLACE TEMP TABLE need_kc_ini
           (site_id VARCHAR, block_id VARCHAR, crop VARCHAR, planted_on DATE, kc_departure DOUBLE)"""
    )
    rows = connection.execute(DAYS).to_arrow_table() if settings.kc_ini_by_wetting else None
    if not rows:
        return
    planting = rows.column("planting").to_numpy()
    first = rows.take(np.unique(planting, return_index=True)[1])
    stage = _stage(rows)
    by_rain = stage.rain_interval_days < settings.wetting_interval_days
    kc = kc_ini(
        stage.et0_mm,
        np.where(by_rain, stage.rain_interval_days, settings.wetting_interval_days),
        np.where(by_rain, stage.rain_depth_mm, settings.wetting_depth_mm),
        [soils()[soil].is_coarse for soil in first.column("soil").to_pylist()],
        np.where(by_rain, 1.0, _wetted_share(first)),
    )
    departure = kc - first.column("kc_ini").to_numpy()
    told = first.select(["site_id", "block_id", "crop", "planted_on"]).append_column(
        "kc_departure", pa.array(departure, from_pandas=True)
    )
    add_rows(connection, "need_kc_ini", told)


def _stage(rows: pa.Table) -> _Stage:
    """Mean ET0 of each stage, and how often and how deeply the rain wetted it; unknown rain wetted nothing."""
    place = (rows.column("row").to_numpy(), rows.column("planting").to_numpy())
    shape = (int(place[0].max()) + 1, int(place[1].max()) + 1)
    et0, rain, there = np.full(shape, np.nan), np.zeros(shape), np.zeros(shape, dtype=bool)
    et0[place] = floats(rows, "et0_mm")
    rain[place] = np.nan_to_num(floats(rows, "rain_mm"))
    there[place] = True
    wetted = wettings(rain, np.nan_to_num(et0), in_stage=there)
    return _Stage(np.nanmean(et0, axis=0), wetted.interval_days, np.nan_to_num(wetted.depth_mm))


def _wetted_share(plantings: pa.Table) -> Floats:
    methods = plantings.column("irrigation_method").to_pylist()
    return np.array([WETTED_SHARE.get(method, 1.0) for method in methods])
