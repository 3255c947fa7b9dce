"""Parquet: columns bring their own types; moments with a zone are instants."""

import json

import pyarrow as pa
import pyarrow.compute as pc
from pyarrow import parquet

from pipeline.errors import FileFault
from pipeline.intake.csv_reader import no_heading, no_table
from pipeline.intake.headings import known_cells, table_of
from pipeline.intake.shapes import in_wgs84, plain_shapes
from pipeline.intake.sheets import ReadOptions, Sheet, Upload, plain_text
from pipeline.words import say

MOST_CELLS = 500_000_000  # a file of a few kilobytes may claim any number of equal ones


def read_parquet(upload: Upload, options: ReadOptions) -> list[Sheet]:
    """Return the file's one sheet; its lines are the positions of its rows, from 1.

    Raises
    ------
    FileFault
        Where the file is no Parquet file.
    """
    table = table_of(upload.name, "", options.table)
    try:
        found = _read(upload)
        primary, crs = _primary_shape(found.schema.metadata or {})
        outline = table.geometry.name if table and table.geometry else ""
        shape = outline if outline in found.column_names else primary
        columns = [
            _shapes(column, crs if name == primary else None, upload.name)
            if outline and name == shape and _is_binary(column.type)
            else _readable(column)
            for name, column in zip(found.column_names, found.columns, strict=True)
        ]
    except (pa.ArrowException, OSError, UnicodeDecodeError, OverflowError) as error:
        detail = str(error).partition("\n")[0].replace(str(upload.path), upload.name)[:200]
        raise _unreadable(upload.name, say("intake.damaged_why", detail=detail)) from error
    heading = tuple(outline if outline and name == shape else name for name in found.column_names)
    lines = pa.array(range(1, found.num_rows + 1), pa.int64())
    cells = pa.table(columns, names=[f"c{i}" for i in range(len(heading))])
    if table is None:
        return [Sheet(upload.name, "", None, heading, cells, lines, problem=no_table(upload.name))]
    if not known_cells(heading, table):
        return [Sheet(upload.name, "", table, (), cells, lines, problem=no_heading(table, upload.name))]
    return [Sheet(upload.name, "", table, heading, cells, lines, workbook=True)]


def _read(upload: Upload) -> pa.Table:
    with parquet.ParquetFile(upload.path) as file:
        rows, width = file.metadata.num_rows, len(file.schema_arrow)
        if rows * max(width, 1) > MOST_CELLS:
            raise _unreadable(upload.name, say("intake.too_many_rows_why", rows=rows))
        return file.read()


def _unreadable(name: str, why: str) -> FileFault:
    return FileFault(say("intake.no_parquet"), where=name, why=why, mend=say("intake.save_as_csv"))


def _primary_shape(metadata: dict[bytes, bytes]) -> tuple[str, str | None]:
    """The file's own shape column and its reference system, where it is a GeoParquet file."""
    try:
        geo = json.loads(metadata.get(b"geo", b"{}"))
        name = str(geo["primary_column"])
        crs = geo["columns"][name].get("crs")
    except (ValueError, KeyError, TypeError, AttributeError):
        return "", None  # a plain Parquet file, whose shapes are in WGS 84
    return name, json.dumps(crs) if crs else None


def _is_binary(kind: pa.DataType) -> bool:
    storage = kind.storage_type if isinstance(kind, pa.BaseExtensionType) else kind
    return bool(pa.types.is_binary(storage) or pa.types.is_large_binary(storage))


def _shapes(column: pa.ChunkedArray, crs: str | None, file: str) -> pa.ChunkedArray:
    shapes = in_wgs84(plain_shapes(column.cast(pa.binary())), crs, file)
    return pa.chunked_array([pa.array(shapes, pa.binary())])


def _readable(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Numbers stay; moments become ISO text, with Z where they had a zone; the rest text."""
    kind = column.type
    if pa.types.is_dictionary(kind):
        return _readable(column.cast(kind.value_type))
    if pa.types.is_floating(kind):
        # by way of its text, for 12.3 is 12.300000190734863 in the wider type
        wide = (
            column if kind == pa.float64() else column.cast(pa.float32()).cast(pa.string()).cast(pa.float64())
        )
        return pc.if_else(pc.is_nan(wide), None, wide)  # NaN is how many tools write an empty cell
    if pa.types.is_integer(kind) and kind != pa.uint64():
        return column.cast(pa.int64())
    if pa.types.is_timestamp(kind):
        mark = "Z" if kind.tz else ""
        naive = column.cast(pa.timestamp("us", tz=kind.tz)).cast(pa.timestamp("us"))
        return pc.binary_join_element_wise(naive.cast(pa.string()), mark, "")
    return plain_text(column)
