"""Plantings laid out side by side, each from its first day on record: (days, plantings)."""

from dataclasses import dataclass

import duckdb
import numpy as np
import numpy.typing as npt
import pyarrow as pa

from pipeline.agronomy.arrays import Floats
from pipeline.agronomy.soil_water import rain_that_counts_mm, root_depth_m, total_available_water_mm
from pipeline.measures.arrow import floats

KEY = ("site_id", "block_id", "crop", "planted_on", "day")

ROWS = """
    SELECT p.planting_no, p.site_id, p.block_id, p.crop, p.planted_on, p.day, p.day_number, p.planted_ha, p.kc, p.etc_mm,
           r.* EXCLUDE (crop, crop_row), g.available_water_mm_m, g.efficiency, w.rain_mm, w.et0_mm {columns}
    FROM planting_days p
    JOIN crop_roots r USING (crop, crop_row)
    JOIN block_ground g USING (site_id, block_id)
    LEFT JOIN site_weather w ON w.site_id = p.site_id AND w.day = p.day
    {join}
    WHERE NOT p.fallow AND p.known AND p.site_id BETWEEN ? AND ?
    ORDER BY p.planting_no, p.day"""
IRRIGATED = {
    "columns": ", i.applied_mm, i.blocks_on_water",
    "join": """LEFT JOIN block_irrigation i ON i.site_id = p.site_id AND i.block_id = p.block_id AND i.day = p.day""",
}


@dataclass(frozen=True)
class PlantingGrid:
    """The days of some sites' plantings whose roots are known.

    Attributes
    ----------
    rows
        One a planting and day, in the order of `KEY`.
    place
        Day within the planting's days, and planting, of each row.
    """

    rows: pa.Table
    place: tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]

    def column(self, name: str) -> Floats:
        """Return a column of the rows, NaN where it is empty."""
        return floats(self.rows, name)

    def grid(self, values: Floats) -> Floats:
        """Lay values of the rows out, (days, plantings), NaN before and after a planting."""
        laid = np.full((int(self.place[0].max()) + 1, int(self.place[1].max()) + 1), np.nan)
        laid[self.place] = values
        return laid

    def at_planting(self, values: Floats) -> Floats:
        """Return the values of each planting's first day, (plantings,)."""
        return np.asarray(values[self.place[0] == 0])

    def taw_mm(self) -> Floats:
        """Total available water of each row [mm]."""
        depth_m = root_depth_m(
            *(
                self.column(name)
                for name in ("day_number", "root_least_m", "root_greatest_m", "ini_days", "dev_days")
            )
        )
        return total_available_water_mm(self.column("available_water_mm_m"), depth_m)

    def rain_mm(self) -> Floats:
        """Rain of each row that reaches the soil [mm]."""
        return rain_that_counts_mm(self.column("rain_mm"), self.column("et0_mm"))


def planting_grid(
    connection: duckdb.DuckDBPyConnection, from_site: str, to_site: str, *, irrigated: bool = False
) -> PlantingGrid:
    """Read the plantings of the sites from one to another, by their ids.

    Parameters
    ----------
    connection
        With planting_days, crop_roots, block_ground and site_weather.
    irrigated
        Whether to read block_irrigation, too: applied_mm and blocks_on_water.
    """
    query = ROWS.format(**IRRIGATED) if irrigated else ROWS.format(columns="", join="")
    rows = connection.execute(query, [from_site, to_site]).to_arrow_table()
    begins = np.diff(rows.column("planting_no").to_numpy(), prepend=-1) != 0
    planting = np.cumsum(begins) - 1
    # the days of a planting follow one another: its first row is its first day
    row = np.arange(len(begins)) - np.flatnonzero(begins)[planting]
    return PlantingGrid(rows, (row, planting))
