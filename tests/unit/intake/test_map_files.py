"""Map files are read as what their ending says, and nothing that they point to is opened."""

from pathlib import Path

import pyarrow as pa
import pyogrio
import pytest
from shapely import box, from_wkb, to_wkb

from pipeline.errors import FileFault
from pipeline.intake import read_file
from pipeline.intake.sheets import ReadOptions, Sheet, Upload

SHAPES = (box(33.25, -14, 33.5, -13.5), box(33.5, -14, 34, -13.5))
POINTER = """<OGRVRTDataSource><OGRVRTLayer name="districts">
<SrcDataSource>{}</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>"""


def districts(path: Path, driver: str) -> Path:
    cells = pa.table({"district": ["North", "South"], "geometry": pa.array(to_wkb(SHAPES), pa.binary())})
    pyogrio.write_arrow(
        cells, str(path), layer="districts", driver=driver, geometry_name="geometry",
        geometry_type="Polygon", crs="EPSG:4326",
    )  # fmt: skip
    return path


def read(path: Path) -> list[Sheet]:
    return read_file(Upload(path, path.name), ReadOptions())


@pytest.mark.parametrize(("ending", "driver"), [("geojson", "GeoJSON"), ("gpkg", "GPKG"), ("kml", "KML")])
def test_a_layer_comes_with_its_columns_and_shapes(tmp_path: Path, ending: str, driver: str) -> None:
    """Two districts, in each format that has a geometry."""
    (sheet,) = read(districts(tmp_path / f"districts.{ending}", driver))
    assert sheet.table is not None
    assert sheet.table.name == "districts"
    assert sheet.heading == ("district", "geometry")
    cells = dict(zip(sheet.heading, sheet.cells.columns, strict=True))
    assert cells["district"].to_pylist() == ["North", "South"]
    for shape, wkb in zip(SHAPES, cells["geometry"].to_pylist(), strict=True):
        assert from_wkb(wkb).equals(shape)


@pytest.mark.parametrize("ending", ["kml", "geojson", "gpkg"])
def test_a_file_that_names_other_files_is_refused(tmp_path: Path, ending: str) -> None:
    """GDAL's virtual format under another ending would open what it names."""
    secret = districts(tmp_path / "secret.gpkg", "GPKG")
    path = tmp_path / f"districts.{ending}"
    path.write_text(POINTER.format(secret), encoding="utf-8")
    with pytest.raises(FileFault):
        read(path)


@pytest.mark.parametrize(
    "text",
    [
        '<!DOCTYPE kml [<!ENTITY x SYSTEM "file:///etc/hostname">]><kml><Document><name>&x;</name></Document></kml>',
        "<kml><NetworkLink><Link><href>http://example.invalid/x.kml</href></Link></NetworkLink></kml>",
    ],
)
def test_a_kml_that_points_elsewhere_is_refused_with_the_reason(tmp_path: Path, text: str) -> None:
    """Neither an entity nor a link is followed."""
    path = tmp_path / "districts.kml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileFault, match="other files or a network address"):
        read(path)


def test_another_format_under_the_ending_is_refused(tmp_path: Path) -> None:
    """GeoJSON that calls itself a GeoPackage, and the other way round."""
    for ending, driver in (("gpkg", "GeoJSON"), ("geojson", "GPKG")):
        own = "geojson" if driver == "GeoJSON" else "gpkg"
        made = districts(tmp_path / f"made.{own}", driver)
        path = made.rename(tmp_path / f"districts.{ending}")
        with pytest.raises(FileFault):
            read(path)
