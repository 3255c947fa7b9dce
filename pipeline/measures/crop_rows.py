"""The values of a planting's crop: the programme's own, or a row of the printed table."""

from collections.abc import Mapping, Sequence
from typing import Any

import duckdb
import pyarrow as pa

from pipeline.agronomy.crop_rows import crop_rows, row_for, row_name
from pipeline.agronomy.crops import Crop, built_in_crops, crop_name, plain_name
from pipeline.config import Settings
from pipeline.measures.arrow import leave_table
from pipeline.measures.statements import run_statement

BY_PLANTING = "by_planting"
Own = Mapping[str, Sequence[float | None]]


def leave_crop_rows(connection: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Leave crop_rows: which values each planting goes by. Reads plantings, sites and crops."""
    rows: list[tuple[str, int, bool, str]] = []
    if settings.crop_rows == BY_PLANTING:
        own = own_names(connection)
        asked = connection.execute(
            """SELECT DISTINCT crop, month(planted_on), latitude < 0 FROM plantings JOIN sites USING (site_id)
               ORDER BY ALL"""
        ).fetchall()
        rows = [(crop, month, south, _row(crop, month, south=south, own=own)) for crop, month, south in asked]
    columns: list[Any] = [list(column) for column in zip(*rows, strict=True)] or [[], [], [], []]
    types = (pa.string(), pa.int64(), pa.bool_(), pa.string())
    told = pa.table(
        {
            name: pa.array(values, kind)
            for name, values, kind in zip(("crop", "month", "south", "crop_row"), columns, types, strict=True)
        }
    )
    connection.register("told_rows", told)
    run_statement(connection, "crop_rows", {})
    connection.unregister("told_rows")


def _row(crop: str, month: int, *, south: bool, own: set[str]) -> str:
    """The name of the row for a crop as written; empty where it has its default or none."""
    name = crop_name(crop)
    if name is None or plain_name(crop) in own:
        return ""
    row = row_for(name, month, south=south)
    return "" if row.is_default else row_name(row)


def leave_crop_values(connection: duckdb.DuckDBPyConnection) -> None:
    """Leave crop_values: by which row of the table each crop of planting_spans goes; NULL: the programme's own values."""
    own = own_names(connection)
    query = "SELECT DISTINCT crop, crop_row FROM planting_spans ORDER BY ALL"
    rows = connection.execute(query).fetchall()
    printed = [None if plain_name(crop) in own else printed_row(crop, crop_row) for crop, crop_row in rows]
    told = pa.table(
        {
            "crop": pa.array([crop for crop, _ in rows], pa.string()),
            "crop_row": pa.array([crop_row for _, crop_row in rows], pa.string()),
            "stages_of": pa.array([None if row is None else row_name(row) for row in printed], pa.string()),
        }
    )
    leave_table(connection, "crop_values", told)


def own_names(connection: duckdb.DuckDBPyConnection) -> set[str]:
    """Return the plain names of the crops that the programme has values of its own for."""
    return {plain_name(crop) for (crop,) in connection.execute("SELECT crop FROM crops").fetchall()}


def printed_row(crop: str, crop_row: str) -> Crop | None:
    """Return the built-in crop of a name as written, by one of its rows; None: the list has no such crop.

    Parameters
    ----------
    crop
        As somebody wrote it.
    crop_row
        As crop_rows has it; empty: the default one.
    """
    name = crop_name(crop)
    if name is None:
        return None
    return crop_rows()[name][crop_row] if crop_row else built_in_crops()[name]
