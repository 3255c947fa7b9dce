"""The files as the field writes them: several formats, title rows, and everybody's habits.

Files that carry the moment of their making (workbooks, GeoPackages) carry a fixed one, so that the same
seed gives the same bytes.
"""

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyogrio
import shapely
import xlsxwriter

from pipeline.tables import tables_named

Row = dict[str, Any]
BOOK_TIME = datetime(2026, 1, 1)  # noqa: DTZ001 - a workbook's clock has no zone
GDAL_CLOCK = "OGR_CURRENT_DATE"


@dataclass
class Paper:
    """Writes deliveries and keeps a list of the mistakes that are in them."""

    out: Path
    mistakes: list[Row] = field(default_factory=list)

    def folder(self, day: date) -> Path:
        """Return a delivery's folder."""
        found = self.out / "deliveries" / day.isoformat()
        found.mkdir(parents=True, exist_ok=True)
        return found

    def take_mistakes(self) -> list[Row]:
        """Return the mistakes since the last call, and forget them here."""
        taken, self.mistakes = self.mistakes, []
        return taken

    def note_all(self, day: date, file: str, made: Iterable[tuple[str, str]], *, table: str = "") -> None:
        """Keep on record the mistakes, (kind, key) each, that were written into a file."""
        known = table or next(tables_named(file)).name
        self.mistakes += [
            {"delivery": day.isoformat(), "file": file, "table": known, "kind": kind, "key": key}
            for kind, key in made
        ]

    def comma(
        self, day: date, name: str, rows: Sequence[Row], *, mark: bool = False, title: str = ""
    ) -> None:
        """Write a comma-separated file, UTF-8, with or without a byte-order mark."""
        text = _separated(rows, ",", title)
        (self.folder(day) / name).write_bytes((b"\xef\xbb\xbf" if mark else b"") + text.encode())
        self._note_title(day, name, title)

    def semicolon(self, day: date, name: str, rows: Sequence[Row], title: str = "") -> None:
        """Write a semicolon file with decimal commas, as Windows-1252."""
        local = [{k: _comma_decimal(v) for k, v in row.items()} for row in rows]
        (self.folder(day) / name).write_bytes(_separated(local, ";", title).encode("cp1252", "replace"))
        self.note_all(day, name, [("semicolons", "")])
        self._note_title(day, name, title)

    def copy(self, day: date, name: str, later: date, again: str) -> None:
        """Send a file once more under another name."""
        (self.folder(later) / again).write_bytes((self.folder(day) / name).read_bytes())
        self.note_all(later, again, [("copy", name)])

    def _note_title(self, day: date, name: str, title: str, table: str = "") -> None:
        self.note_all(day, name, [("title_rows", title)] if title else [], table=table)

    def book(self, day: date, name: str, sheets: Mapping[str, Sequence[Row]], title: str = "") -> None:
        """Write a workbook, a table a sheet, with date cells."""
        book = xlsxwriter.Workbook(str(self.folder(day) / name), {"default_date_format": "yyyy-mm-dd hh:mm"})
        book.set_properties({"created": BOOK_TIME})
        only_day = book.add_format({"num_format": "yyyy-mm-dd"})
        for label, rows in sheets.items():
            sheet = book.add_worksheet(label)
            top = 0
            if title:
                sheet.write_string(0, 0, title)
                top = 2
            columns = list(rows[0]) if rows else []
            for c, column in enumerate(columns):
                sheet.write_string(top, c, column)
            for r, row in enumerate(rows, top + 1):
                for c, column in enumerate(columns):
                    _write(sheet, r, c, row.get(column), only_day)
            self._note_title(day, name, title, label)
        book.close()

    def geopackage(self, day: date, name: str, rows: Sequence[Row]) -> None:
        """Write a GeoPackage of polygons; its one layer is named as the file."""
        self._spatial(day, name, rows, "GPKG")

    def keyhole(self, day: date, name: str, rows: Sequence[Row]) -> None:
        """Write KML of polygons."""
        self._spatial(day, name, rows, "KML")

    def _spatial(self, day: date, name: str, rows: Sequence[Row], driver: str) -> None:
        shapes = [shapely.to_wkb(shapely.geometry.shape(row["geometry"])) for row in rows]
        cells = pa.Table.from_pylist([{k: v for k, v in row.items() if k != "geometry"} for row in rows])
        empty = [c.name for c in cells.schema if pa.types.is_null(c.type)]  # a type that no format here has
        cells = cells.drop_columns(empty)
        path = self.folder(day) / name
        path.unlink(missing_ok=True)
        before = pyogrio.get_gdal_config_option(GDAL_CLOCK)
        pyogrio.set_gdal_config_options({GDAL_CLOCK: BOOK_TIME.strftime("%Y-%m-%dT%H:%M:%S.000Z")})
        try:
            pyogrio.write_arrow(
                cells.append_column("geometry", pa.array(shapes, pa.binary())), str(path), layer=path.stem,
                driver=driver, geometry_name="geometry", geometry_type="Polygon", crs="EPSG:4326",
            )  # fmt: skip
        finally:
            pyogrio.set_gdal_config_options({GDAL_CLOCK: before})

    def features(self, day: date, name: str, rows: Sequence[Row]) -> None:
        """Write GeoJSON; a row's `geometry` is its shape."""
        features = [
            {
                "type": "Feature",
                "properties": {k: v for k, v in row.items() if k != "geometry"},
                "geometry": row["geometry"],
            }
            for row in rows
        ]
        text = json.dumps({"type": "FeatureCollection", "features": features})
        (self.folder(day) / name).write_text(text, encoding="utf-8")


def _write(sheet: Any, row: int, column: int, value: Any, only_day: Any) -> None:
    if value is None or value == "":
        return
    if isinstance(value, datetime):
        sheet.write_datetime(row, column, value)
    elif isinstance(value, date):
        sheet.write_datetime(row, column, datetime(value.year, value.month, value.day), only_day)  # noqa: DTZ001
    elif isinstance(value, int | float):
        sheet.write_number(row, column, value)
    else:
        sheet.write_string(row, column, str(value))


def _comma_decimal(value: Any) -> Any:
    return str(value).replace(".", ",") if isinstance(value, float) else value


def _separated(rows: Sequence[Row], mark: str, title: str) -> str:
    out = io.StringIO()
    if title:
        out.write(f"{title}\n\n")
    writer = csv.DictWriter(out, list(rows[0]) if rows else [], delimiter=mark, lineterminator="\n")
    writer.writeheader()
    writer.writerows({k: _plain(v) for k, v in row.items()} for row in rows)
    return out.getvalue()


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%d %H:%M")
    return value
