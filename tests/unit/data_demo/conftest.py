"""The default programme's files, read once by a reader of the tests' own."""

import csv
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pyogrio
import pytest
from pyarrow import parquet
from shapely import from_wkb
from shapely.geometry import mapping

from data_demo import generate
from pipeline.tables import tables_named

Sheet = tuple[Path, str, list[str], list[dict[str, Any]]]  # file, table, heading, rows


@pytest.fixture(scope="session")
def programme(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return generate(tmp_path_factory.mktemp("demo"))


@pytest.fixture(scope="session")
def sheets(programme: Path) -> list[Sheet]:
    return [sheet for path in sorted((programme / "deliveries").glob("*/*")) for sheet in _sheets(path)]


@pytest.fixture(scope="session")
def made(programme: Path) -> list[dict[str, str]]:
    with (programme / "truth" / "mistakes.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _sheets(path: Path) -> Iterator[Sheet]:
    table = next(tables_named(path.name), None)
    if path.suffix == ".parquet":
        assert table
        yield path, table.name, parquet.read_schema(path).names, []
    elif path.suffix in (".gpkg", ".kml"):
        assert table
        meta, found = pyogrio.read_arrow(path)
        shapes = found.column(meta["geometry_name"] or "wkb_geometry").to_pylist()
        # GDAL gives every feature of a KML file a dozen fields of its own
        cells = found.select([c for c in found.column_names if c in table.by_name]).to_pylist()
        rows = [row | {"geometry": mapping(from_wkb(s))} for row, s in zip(cells, shapes, strict=True)]
        yield path, table.name, list(rows[0]), rows
    elif path.suffix == ".geojson":
        assert table
        features = json.loads(path.read_text(encoding="utf-8"))["features"]
        rows = [f["properties"] | {"geometry": f["geometry"]} for f in features]
        yield path, table.name, list(rows[0]), rows
    elif path.suffix == ".xlsx":
        book = openpyxl.load_workbook(path)
        for sheet in book.worksheets:
            yield path, sheet.title, *_below_title([list(row) for row in sheet.iter_rows(values_only=True)])
    else:
        assert table
        raw = path.read_bytes()
        text = raw.decode("utf-8-sig" if b";" not in raw.split(b"\n", 1)[0] else "cp1252")
        mark = ";" if ";" in text.split("\n", 1)[0] else ","
        yield path, table.name, *_below_title(list(csv.reader(text.splitlines(), delimiter=mark)))


def _below_title(lines: list[list[Any]]) -> tuple[list[str], list[dict[str, Any]]]:
    top = next(i for i, line in enumerate(lines) if sum(cell not in (None, "") for cell in line) > 1)
    heading = [str(cell) for cell in lines[top]]
    return heading, [dict(zip(heading, line, strict=True)) for line in lines[top + 1 :]]
