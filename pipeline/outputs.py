"""Tables as files: CSV, XLSX, Parquet, GeoJSON or GeoPackage, by the ending of their name."""

import csv
import json
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

import geopandas
import pyarrow as pa
import xlsxwriter
from pyarrow import parquet

from pipeline.errors import SunrillError
from pipeline.words import say

Records = Sequence[Mapping[str, Any]]
ENDINGS = (".csv", ".xlsx", ".parquet", ".geojson", ".gpkg")
DANGEROUS = ("=", "+", "-", "@", "\t", "\r")  # a spreadsheet would take such a text for a formula
BOOK_TIME = datetime(2000, 1, 1)  # noqa: DTZ001 - fixed, so that the same table gives the same bytes


def write_table(
    records: Records, path: Path, points: Mapping[str, tuple[float, float]] | None = None
) -> None:
    """Write records to a file of the kind that its ending names.

    Parameters
    ----------
    records : sequence of mapping
        All with the same keys, in their order.
    path : Path
        Ending in one of `ENDINGS`.
    points : mapping, optional
        Longitude and latitude of each site_id, for the kinds with a geometry.

    Raises
    ------
    SunrillError
        Where the ending is none of these, or a kind with geometry has no places.
    """
    ending = path.suffix.casefold()
    if ending not in ENDINGS or (ending in {".geojson", ".gpkg"} and points is None):
        raise SunrillError(
            say("cli.cannot_write", ending=ending or "–"),
            where=str(path),
            mend=say("cli.can_write", endings=", ".join(ENDINGS)),
        )
    path.parent.mkdir(parents=True, exist_ok=True)
    if ending == ".csv":
        path.write_text(csv_text(records), encoding="utf-8", newline="")
    elif ending == ".xlsx":
        _write_xlsx(records, path)
    elif ending == ".parquet":
        parquet.write_table(pa.Table.from_pylist([dict(r) for r in records]), path)
    else:
        _write_features(records, path, points or {})


def csv_text(records: Records) -> str:
    """Return records as CSV for people: a text that a spreadsheet would run gets a quote in front."""
    lines: list[str] = []

    class _Lines:
        def write(self, text: str) -> None:
            lines.append(text)

    writer = csv.writer(_Lines(), lineterminator="\n")
    if records:
        writer.writerow(records[0].keys())
    writer.writerows([_safe(value) for value in record.values()] for record in records)
    return "".join(lines)


def _safe(value: object) -> object:
    if isinstance(value, str) and value.startswith(DANGEROUS):
        return "'" + value
    return value


def _write_xlsx(records: Records, path: Path) -> None:
    book = xlsxwriter.Workbook(str(path), {"strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"created": BOOK_TIME})
    heading, day = book.add_format({"bold": True}), book.add_format({"num_format": "yyyy-mm-dd"})
    sheet = book.add_worksheet()
    sheet.freeze_panes(1, 0)
    for column, name in enumerate(records[0] if records else ()):
        sheet.write_string(0, column, name, heading)
    for row, record in enumerate(records, 1):
        for column, value in enumerate(record.values()):
            _write_cell(sheet, row, column, value, day)
    book.close()


def _write_cell(sheet: Any, row: int, column: int, value: object, day: Any) -> None:
    if value is None:
        return
    if isinstance(value, bool) or not isinstance(value, int | float | date):
        sheet.write_string(row, column, str(value))
    elif isinstance(value, datetime):
        sheet.write_string(row, column, value.isoformat())
    elif isinstance(value, date):
        sheet.write_datetime(row, column, datetime(value.year, value.month, value.day), day)  # noqa: DTZ001 - a day
    else:
        sheet.write_number(row, column, value)


def _write_features(records: Records, path: Path, points: Mapping[str, tuple[float, float]]) -> None:
    features = []
    for record in records:
        place = points.get(str(record.get("site_id")))
        geometry = {"type": "Point", "coordinates": list(place)} if place else None
        properties = {k: v.isoformat() if isinstance(v, date) else v for k, v in record.items()}
        features.append({"type": "Feature", "properties": properties, "geometry": geometry})
    if path.suffix.casefold() == ".geojson":
        text = json.dumps({"type": "FeatureCollection", "features": features}, ensure_ascii=False)
        path.write_text(text, encoding="utf-8")
        return
    geopandas.GeoDataFrame.from_features(features, crs="EPSG:4326").to_file(path, driver="GPKG")
