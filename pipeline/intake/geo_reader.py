"""GeoJSON, GeoPackage and KML, layer by layer.

GDAL opens files by their content, and some formats point to other files of the machine: such a file is
refused before GDAL sees it, and each ending is read by its own drivers only.
"""

import re
import sqlite3
import threading
import warnings
from collections.abc import Collection
from contextlib import closing
from pathlib import PurePath
from types import MappingProxyType
from typing import Any

import pyarrow as pa
from shapely.errors import ShapelyError

from pipeline.errors import FileFault
from pipeline.intake.csv_reader import no_heading, no_table
from pipeline.intake.headings import known_cells, table_of
from pipeline.intake.shapes import in_wgs84, places, plain_shapes, wkt
from pipeline.intake.sheets import ReadOptions, Sheet, Upload, plain_text
from pipeline.tables import Table
from pipeline.words import say

KML = ("LIBKML", "KML")
DRIVERS = MappingProxyType({".geojson": ("GeoJSON",), ".json": ("GeoJSON",), ".gpkg": ("GPKG",), ".kml": KML})
# a source that names other sources of the machine or the network, whatever its ending says
POINTS_ELSEWHERE = re.compile(
    rb"\"crs\"\s*:\s*\{[^}]*\"link\"|<\s*OGR|<\s*GDAL|gdal_streamed_alg|<\s*NetworkLink|<!DOCTYPE",
    re.IGNORECASE,
)
BEGINS = MappingProxyType(
    {
        "GeoJSON": re.compile(rb"(\xef\xbb\xbf)?\s*\{"),
        "GPKG": re.compile(rb"SQLite format 3\x00"),
        "LIBKML": re.compile(
            rb"(\xef\xbb\xbf)?\s*(<\?xml[^>]*\?>)?\s*(<!--.*?-->\s*)*<(\w+:)?kml[\s>]", re.DOTALL
        ),
    }
)
NO_NETWORK = {
    "GDAL_HTTP_PROXY": "127.0.0.1:0",
    "GDAL_HTTPS_PROXY": "127.0.0.1:0",
}  # no such port: nothing is sent
ONE_AT_A_TIME = (
    threading.Lock()
)  # which warnings are shown is the whole process's, and files are read side by side
HEAD_BYTES = 1_000_000
# fmt: off
KML_FIELDS = frozenset((
    "Name", "description", "timestamp", "begin", "end", "altitudeMode", "tessellate", "extrude", "visibility",
    "drawOrder", "icon", "snippet",
))
# fmt: on
SAYS_NOTHING = (None, "", -1, 0)


def read_geo(upload: Upload, options: ReadOptions) -> list[Sheet]:
    """Return a sheet for each layer; the features' own geometry stands in the column `geometry`.

    Raises
    ------
    FileFault
        Where the file can't be opened as what its ending says, or names other sources.
    """
    import pyogrio  # noqa: PLC0415 - it brings pandas, for which every command would wait
    from pyogrio.errors import DataLayerError, DataSourceError  # noqa: PLC0415

    drivers = DRIVERS[PurePath(upload.name).suffix.casefold()]
    other_format = say("intake.other_format_why", ending=PurePath(upload.name).suffix)
    with upload.path.open("rb") as stream:
        head = stream.read(HEAD_BYTES)
    if POINTS_ELSEWHERE.search(head):
        raise _unreadable(upload.name, say("intake.points_elsewhere_why"))
    if not BEGINS[drivers[0]].match(head):
        raise _unreadable(upload.name, other_format)
    if drivers == ("GPKG",):
        _refuse_torn_pages(upload)
    # the prefix keeps every other driver away, be it one that a later release brings
    source = f"GeoJSON:{upload.path}" if drivers == ("GeoJSON",) else str(upload.path)
    pyogrio.set_gdal_config_options(NO_NETWORK)
    try:
        with ONE_AT_A_TIME, warnings.catch_warnings():
            warnings.simplefilter("ignore", RuntimeWarning)  # GDAL's remarks on odd but readable files
            layers = [str(layer) for layer in pyogrio.list_layers(source)[:, 0]]
            if layers and pyogrio.read_info(source, layer=layers[0])["driver"] not in drivers:
                raise _unreadable(upload.name, other_format)
            return [_layer(source, layer, upload.name, options, alone=len(layers) == 1) for layer in layers]
    except (DataSourceError, DataLayerError, ValueError, OSError, pa.ArrowException, ShapelyError) as error:
        detail = str(error).replace(str(upload.path), upload.name)[:200]
        raise _unreadable(upload.name, say("intake.damaged_why", detail=detail)) from error


def _refuse_torn_pages(upload: Upload) -> None:
    """GDAL ends a layer at a page that it can't read, and says nothing of the rows behind it."""
    address = f"{upload.path.resolve().as_uri()}?mode=ro&immutable=1"
    try:
        with closing(sqlite3.connect(address, uri=True)) as package:
            (found,) = package.execute("PRAGMA quick_check(1)").fetchone()
    except sqlite3.Error as error:
        found = str(error)
    if found != "ok":
        raise _unreadable(upload.name, say("intake.damaged_why", detail=found[:200]))


def _unreadable(name: str, why: str) -> FileFault:
    return FileFault(say("intake.no_features"), where=name, why=why, mend=say("intake.save_as_geojson"))


def _layer(source: str, layer: str, name: str, options: ReadOptions, *, alone: bool) -> Sheet:
    import pyogrio  # noqa: PLC0415

    meta, found = pyogrio.read_arrow(source, layer=layer, datetime_as_string=True)
    geometry = meta["geometry_name"] or "wkb_geometry"
    kml = PurePath(name).suffix.casefold() == ".kml"
    names = [str(field) for field in meta["fields"] if not _of_the_driver(str(field), found, kml=kml)]
    table = table_of(name, layer if not alone else "", options.table) or table_of(layer, layer, "")
    columns = {field: plain_text(found.column(field)) for field in names}
    if geometry in found.column_names:
        shapes = in_wgs84(plain_shapes(found.column(geometry).cast(pa.binary())), meta["crs"], name)
        columns |= _shape_columns(shapes, table, there=columns.keys())
    heading = tuple(columns)
    label = "" if alone else layer
    lines = pa.array(range(1, found.num_rows + 1), pa.int64())
    cells = pa.table(list(columns.values()), names=[f"c{i}" for i in range(len(columns))])
    if table is None:
        return Sheet(name, label, None, (), cells, lines, problem=no_table(name, label))
    if not known_cells(heading, table):
        return Sheet(name, label, table, (), cells, lines, problem=no_heading(table, name, label))
    return Sheet(name, label, table, heading, cells, lines, workbook=True)


def _shape_columns(shapes: list[bytes | None], table: Table | None, there: Collection[str]) -> dict[str, Any]:
    """The features' shapes as the columns of the table: an outline, or the place of a point."""
    if table is None or table.geometry is not None:
        return {"geometry": pa.array(shapes, pa.binary())}
    if {"latitude", "longitude"} <= table.by_name.keys() - there:
        latitude, longitude = places(shapes)
        return {"latitude": latitude, "longitude": longitude}
    return {"geometry": wkt(shapes)}


def _of_the_driver(field: str, found: pa.Table, *, kml: bool) -> bool:
    """Whether a field is one that the KML driver gives to every feature and that says nothing here."""
    if not kml or field == "id":  # a feature's number in the file
        return kml
    return field in KML_FIELDS and all(v in SAYS_NOTHING for v in found.column(field).unique().to_pylist())
