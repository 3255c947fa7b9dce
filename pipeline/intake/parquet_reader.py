"""Parquet: columns bring their own types; moments with a zone are instants."""

import pyarrow as pa
import pyarrow.compute as pc
from pyarrow import parquet

from pipeline.errors import FileFault
from pipeline.intake.csv_reader import no_heading, no_table
from pipeline.intake.headings import known_cells, table_of
from pipeline.intake.sheets import ReadOptions, Sheet, Upload
from pipeline.words import say


def read_parquet(upload: Upload, options: ReadOptions) -> list[Sheet]:
    """Return the file's one sheet; its lines are the positions of its rows, from 1.

    Raises
    ------
    FileFault
        Where the file is no Parquet file.
    """
    try:
        found = parquet.read_table(upload.path)
    except (pa.ArrowInvalid, pa.ArrowNotImplementedError, OSError) as error:
        raise FileFault(
            say("intake.no_parquet"),
            where=upload.name,
            why=str(error).partition("\n")[0],
            mend=say("intake.save_as_csv"),
        ) from error
    table = table_of(upload.name, "", options.table)
    heading = tuple(found.column_names)
    lines = pa.array(range(1, found.num_rows + 1), pa.int64())
    cells = pa.table(
        [_readable(column) for column in found.columns], names=[f"c{i}" for i in range(len(heading))]
    )
    if table is None:
        return [
            Sheet(upload.name, "", None, heading, cells, lines, problem=no_table(upload.name), unnamed=True)
        ]
    if not known_cells(heading, table):
        return [Sheet(upload.name, "", table, (), cells, lines, problem=no_heading(table, upload.name))]
    return [Sheet(upload.name, "", table, heading, cells, lines, workbook=True)]


def _readable(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Numbers and bytes stay; moments become ISO text, with Z where they had a zone; the rest text."""
    kind = column.type
    if pa.types.is_dictionary(kind):
        return _readable(column.cast(kind.value_type))
    if pa.types.is_floating(kind):
        clean = column.cast(pa.float64())
        return pc.if_else(pc.is_finite(clean), clean, None)  # NaN is how many tools write an empty cell
    if pa.types.is_integer(kind) and kind != pa.uint64():
        return column.cast(pa.int64())
    if pa.types.is_timestamp(kind):
        mark = "Z" if kind.tz else ""
        naive = column.cast(pa.timestamp("us", tz=kind.tz)).cast(pa.timestamp("us"))
        return pc.binary_join_element_wise(naive.cast(pa.string()), mark, "")
    if pa.types.is_binary(kind) or pa.types.is_large_binary(kind):
        return column.cast(pa.binary())
    if pa.types.is_nested(kind):
        return pa.chunked_array(
            [pa.array([None if v is None else str(v) for v in column.to_pylist()], pa.string())]
        )
    return column.cast(pa.string())
