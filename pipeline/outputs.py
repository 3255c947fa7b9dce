"""Tables as files: CSV, XLSX, Parquet, GeoJSON or GeoPackage, by the ending of their name."""

import csv
import json
import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pyarrow as pa
from pyarrow import parquet
from shapely.geometry import shape

from pipeline.errors import SunrillError
from pipeline.words import say

Records = Sequence[Mapping[str, Any]]
PLAIN = (".csv", ".xlsx", ".parquet")
WITH_PLACES = (".geojson", ".gpkg")
DANGEROUS = ("=", "+", "-", "@", "\t", "\r")  # a spreadsheet would take such a text for a formula
BOOK_TIME = datetime(2000, 1, 1)  # noqa: DTZ001 - fixed, so that the same table gives the same bytes
WIDEST_PX = 480  # of a column: a sentence of evidence would else fill the screen
SHEET_ROWS = 1_048_576  # that a workbook's sheet can hold, the heading among them


@dataclass(frozen=True)
class Places:
    """Where the rows of a table lie: a GeoJSON geometry for each value of one column."""

    column: str
    shapes: Mapping[str, Mapping[str, Any]]


def check_target(path: Path, *, places: bool = False) -> None:
    """Tell whether a table can be written to a path, before anything is computed for it.

    Raises
    ------
    SunrillError
        Where the ending is none of ours or needs a geometry that there is not, the path is a folder, or
        nothing may be written there.
    """
    ending = path.suffix.casefold()
    possible = PLAIN + WITH_PLACES if places else PLAIN
    if ending not in possible:
        key = "outputs.needs_places" if ending in WITH_PLACES else "outputs.unknown_ending"
        raise SunrillError(
            say(key, ending=ending or "–"),
            where=str(path),
            mend=say("outputs.endings", endings=", ".join(possible)),
        )
    check_file(path)


def check_file(path: Path) -> None:
    """Tell whether a file can be written to a path; its folder is made.

    Raises
    ------
    SunrillError
        Where it can't.
    """
    if path.is_dir():
        raise SunrillError(say("outputs.is_a_folder"), where=str(path), mend=say("outputs.name_a_file"))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _cannot_write(path, error) from error
    target = path if path.exists() else path.parent
    if not os.access(target, os.W_OK):
        raise SunrillError(say("outputs.not_allowed"), where=str(path), mend=say("outputs.not_allowed_mend"))


def write_table(table: pa.Table | Records, path: Path, places: Places | None = None) -> None:
    """Write a table to a file of the kind that its ending names; a file that is there is written over.

    Parameters
    ----------
    table : pyarrow.Table or sequence of mapping
        Records have all the same keys, in their order.
    path : Path
        Ending in one of `PLAIN`, or of `WITH_PLACES` where there are places.
    places : Places, optional
        Where the rows lie.

    Raises
    ------
    SunrillError
        Where it can't be written.
    """
    check_target(path, places=places is not None)
    found = table if isinstance(table, pa.Table) else pa.Table.from_pylist([dict(r) for r in table])
    ending = path.suffix.casefold()
    try:
        if ending == ".csv":
            path.write_text(csv_text(found.to_pylist(), found.column_names), encoding="utf-8", newline="")
        elif ending == ".xlsx":
            _write_xlsx(found, path)
        elif ending == ".parquet":
            parquet.write_table(found, path)
        elif places is not None:
            _write_features(found, path, places)
    except OSError as error:
        raise _cannot_write(path, error) from error


def write_file(content: bytes, path: Path) -> None:
    """Write a file; one that is there is written over.

    Raises
    ------
    SunrillError
        Where it can't be written.
    """
    try:
        path.write_bytes(content)
    except OSError as error:
        raise _cannot_write(path, error) from error


def csv_text(records: Records, columns: Sequence[str] = ()) -> str:
    """Return records as CSV for people: a text that a spreadsheet would run gets a quote in front."""
    lines: list[str] = []

    class _Lines:
        def write(self, text: str) -> None:
            lines.append(text)

    writer = csv.writer(_Lines(), lineterminator="\n")
    names = list(columns) or list(records[0] if records else ())
    if names:
        writer.writerow(names)
    writer.writerows([_safe(value) for value in record.values()] for record in records)
    return "".join(lines)


def _safe(value: object) -> object:
    if isinstance(value, str) and value.startswith(DANGEROUS):
        return "'" + value
    return value


def _write_xlsx(table: pa.Table, path: Path) -> None:
    if table.num_rows >= SHEET_ROWS:
        raise SunrillError(
            say("outputs.too_long", rows=f"{table.num_rows:,}", most=f"{SHEET_ROWS - 1:,}"),
            where=str(path),
            mend=say("outputs.endings", endings=".csv, .parquet"),
        )
    import xlsxwriter  # noqa: PLC0415 - the commands that write none would wait for it

    book = xlsxwriter.Workbook(str(path), {"strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"created": BOOK_TIME})
    heading, day = book.add_format({"bold": True}), book.add_format({"num_format": "yyyy-mm-dd"})
    sheet = book.add_worksheet()
    sheet.freeze_panes(1, 1)  # what a row is of stays in sight
    for column, name in enumerate(table.column_names):
        sheet.write_string(0, column, name, heading)
    for row, record in enumerate(table.to_pylist(), 1):
        for column, value in enumerate(record.values()):
            _write_cell(sheet, row, column, value, day)
    sheet.autofit(WIDEST_PX)  # a day in a narrow column shows as ####
    try:
        book.close()
    except xlsxwriter.exceptions.FileCreateError as error:
        raise _cannot_write(path, error) from error


def _write_cell(sheet: Any, row: int, column: int, value: object, day: Any) -> None:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return
    if isinstance(value, bool) or not isinstance(value, int | float | date):
        sheet.write_string(row, column, str(value))
    elif isinstance(value, datetime):
        sheet.write_string(row, column, value.isoformat())
    elif isinstance(value, date):
        sheet.write_datetime(row, column, datetime(value.year, value.month, value.day), day)  # noqa: DTZ001 - a day
    else:
        sheet.write_number(row, column, value)


def _write_features(table: pa.Table, path: Path, places: Places) -> None:
    records = table.to_pylist()
    shapes = [places.shapes.get(str(record[places.column])) for record in records]
    if path.suffix.casefold() == ".geojson":
        features = [
            {"type": "Feature", "properties": _in_json(record), "geometry": geometry}
            for record, geometry in zip(records, shapes, strict=True)
        ]
        text = json.dumps({"type": "FeatureCollection", "features": features}, ensure_ascii=False)
        path.write_text(text, encoding="utf-8")
        return
    import geopandas  # noqa: PLC0415 - the commands that write none would wait for it
    import pyogrio  # noqa: PLC0415

    frame = geopandas.GeoDataFrame(
        table.to_pandas(),
        geometry=[None if geometry is None else shape(geometry) for geometry in shapes],
        crs="EPSG:4326",
    )
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": f"{BOOK_TIME.isoformat()}Z"})
    path.unlink(missing_ok=True)  # else the layers of another table would stay in it
    frame.to_file(path, driver="GPKG", layer=path.stem)


def _in_json(record: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value.isoformat() if isinstance(value, date) else value for name, value in record.items()}


def _cannot_write(path: Path, error: BaseException) -> SunrillError:
    why = getattr(error, "strerror", None) or str(error)
    return SunrillError(
        say("outputs.cannot_write"), where=str(path), why=why, mend=say("outputs.not_allowed_mend")
    )
