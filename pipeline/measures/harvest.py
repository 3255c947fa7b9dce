"""A harvest against the water that its planting got, and what dryness is thought to have cost of it."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Literal, get_args

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.agronomy.water_productivity import published_range
from pipeline.agronomy.yield_response import relative_yield_loss
from pipeline.measures.arrow import floats, leave_table
from pipeline.measures.figures import Readable, leave_productivity
from pipeline.measures.ground import leave_roots
from pipeline.measures.harvest_columns import GROUP_COLUMNS, PLANTING_COLUMNS, Column
from pipeline.measures.statements import run_statement

By = Literal["planting", "crop", "site", "half_year"]
KEY = ("site_id", "block_id", "crop", "planted_on")


def harvest(
    reader: Readable, from_day: date, to_day: date, *, by: By = "planting", sites: Sequence[str] | None = None
) -> pa.Table:
    """What plantings gave, against the water that they got.

    Parameters
    ----------
    reader
        A store's, or any connection with the contract views and result tables.
    from_day, to_day
        Local days, both included: plantings whose last harvest on record lies in them, each with all that it gave.
    by
        A row a planting, or their sums: by crop, by site or by the half-year of planting.
    sites
        Only these; all if left out.

    Returns
    -------
    pyarrow.Table
        `PLANTING_COLUMNS`, or the group and `GROUP_COLUMNS`; NULL: unknown. Rounded as their units have it.

    Raises
    ------
    FigureError
        Where the period ends before it starts.

    References
    ----------
    Doorenbos, J., Kassam, A. H. (1979). FAO Irrigation and Drainage Paper 33: the yield lost, and water utilization
    efficiency for harvested yield. What was lost is harvest / (1 - loss) - harvest.
    """
    _leave_plantings(reader, from_day, to_day, sites)
    return _table(reader.connection, by)


def harvest_tables(
    reader: Readable, from_day: date, to_day: date, *, sites: Sequence[str] | None = None
) -> Mapping[By, pa.Table]:
    """Return each of the tables that `harvest` has, by what it is by; made at once, they take no longer than one."""
    _leave_plantings(reader, from_day, to_day, sites)
    return {by: _table(reader.connection, by) for by in get_args(By)}


def _table(connection: duckdb.DuckDBPyConnection, by: By) -> pa.Table:
    if by == "planting":
        names = ", ".join(f'"{of.name}"' for of in PLANTING_COLUMNS)
        found = connection.execute(f"SELECT {names} FROM harvest_plantings")  # noqa: S608  our own names
        return _rounded(found.to_arrow_table(), PLANTING_COLUMNS)
    run_statement(connection, "harvest_groups", {"by": by})
    names = ", ".join(f'"{of.name}"' for of in GROUP_COLUMNS)
    group = "site_id" if by == "site" else by
    found = connection.execute(f'SELECT group_id AS "{group}", {names} FROM harvest_groups')  # noqa: S608  our own names
    return _rounded(found.to_arrow_table(), GROUP_COLUMNS)


def _rounded(found: pa.Table, columns: Sequence[Column]) -> pa.Table:
    for of in columns:
        if of.decimals is not None:
            place = found.schema.get_field_index(of.name)
            exact = found.column(place).cast(pa.float64())
            written = pc.round(exact, ndigits=of.decimals, round_mode="half_towards_infinity")
            found = found.set_column(place, of.name, written)
    return found


def _leave_plantings(reader: Readable, from_day: date, to_day: date, sites: Sequence[str] | None) -> None:
    """Leave harvest_plantings, and figure_productivity beside it."""
    connection = reader.connection
    leave_productivity(reader, from_day, to_day, sites)
    leave_roots(connection)
    for name in ("harvest_days", "harvest_sums"):
        run_statement(connection, name, {})
    _leave_losses(connection)
    _leave_ranges(connection)
    run_statement(connection, "harvest_plantings", {})


def _leave_losses(connection: duckdb.DuckDBPyConnection) -> None:
    """Leave harvest_losses: FAO-56 eq. 90 between the wettest and the driest course, and the greatest deficit."""
    sums = connection.execute("FROM harvest_sums ORDER BY ALL").to_arrow_table()
    etc, response = floats(sums, "etc_mm"), floats(sums, "yield_response")
    drawn = {"least": "etc_adjusted_most_mm", "most": "etc_adjusted_least_mm"}
    told = sums.select(KEY)
    for bound, name in drawn.items():
        loss = relative_yield_loss(floats(sums, name), etc, response)
        told = told.append_column(f"yield_loss_{bound}", pa.array(loss, from_pandas=True))
    deficit = relative_yield_loss(floats(sums, drawn["most"]), etc, np.ones_like(etc))
    told = told.append_column("deficit_most", pa.array(deficit, from_pandas=True))
    leave_table(connection, "harvest_losses", told)


def _leave_ranges(connection: duckdb.DuckDBPyConnection) -> None:
    """Leave published_ranges: of each crop as written in harvests, where there is one."""
    written = [
        crop for (crop,) in connection.execute("SELECT DISTINCT crop FROM harvests ORDER BY crop").fetchall()
    ]
    found = [(crop, of) for crop in written if (of := published_range(crop))]
    told = pa.table(
        {
            "crop": pa.array([crop for crop, _ in found], pa.string()),
            "product": pa.array([of.product for _, of in found], pa.string()),
            "published_least_kg_m3": pa.array([of.least_kg_m3 for _, of in found], pa.float64()),
            "published_most_kg_m3": pa.array([of.most_kg_m3 for _, of in found], pa.float64()),
            "published_in": pa.array([of.source for _, of in found], pa.string()),
            "published_how_known": pa.array([of.how_known for _, of in found], pa.string()),
        }
    )
    leave_table(connection, "published_ranges", told)
