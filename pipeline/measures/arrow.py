"""Between the measures' statements and their arrays."""

import duckdb
import numpy as np
import pyarrow as pa

from pipeline.agronomy.arrays import Floats


def floats(rows: pa.Table, name: str) -> Floats:
    """Return a column as numbers, NaN where it is empty."""
    return np.asarray(rows.column(name).to_numpy(zero_copy_only=False), dtype=np.float64)


def leave_table(connection: duckdb.DuckDBPyConnection, name: str, rows: pa.Table) -> None:
    """Make a temporary table of the rows, in place of one of that name."""
    connection.register("rows_to_leave", rows)
    connection.execute(f'CREATE OR REPLACE TEMP TABLE "{name}" AS FROM rows_to_leave')
    connection.unregister("rows_to_leave")


def add_rows(connection: duckdb.DuckDBPyConnection, name: str, rows: pa.Table) -> None:
    """Add the rows to a table, each column by its name."""
    connection.register("rows_to_add", rows)
    connection.execute(f'INSERT INTO "{name}" BY NAME SELECT * FROM rows_to_add')  # noqa: S608 - our own names
    connection.unregister("rows_to_add")
