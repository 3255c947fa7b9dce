"""GeoJSON, GeoPackage, KML and GeoParquet: shapes, systems, layers, and what must not be opened."""

import contextlib
import json
import socket
import sqlite3
import struct
import threading
import warnings
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import geopandas
import pyarrow as pa
import pytest
import shapely
from pyarrow import parquet

from pipeline.errors import FileFault
from pipeline.intake import ReadOptions, Upload, read_file
from pipeline.intake.shapes import NO_SHAPE, plain_shapes

SQUARE = shapely.box(33.0, -13.0, 34.0, -12.0)
BLOCK = {"site_id": "S1", "block_id": "A", "area_ha": 1.5}


def geojson(*features: tuple[dict[str, Any], Any], **more: Any) -> str:
    """Return a collection of features."""
    made = [{"type": "Feature", "properties": p, "geometry": g} for p, g in features]
    return json.dumps({"type": "FeatureCollection", "features": made} | more)


def shape_of(wkt: str) -> Any:
    """Return a shape as GeoJSON writes it."""
    return shapely.geometry.mapping(shapely.from_wkt(wkt))


def kml(*placemarks: str, folder: str = "") -> str:
    """Return a KML document, its placemarks in a folder where it has a name."""
    inside = "".join(placemarks)
    if folder:
        inside = f"<Folder><name>{folder}</name>{inside}</Folder>"
    return f'<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>{inside}</Document></kml>'


def placemark(name: str, shape: str, **data: str) -> str:
    """Return a placemark with its data."""
    pairs = "".join(f'<Data name="{key}"><value>{value}</value></Data>' for key, value in data.items())
    return f"<Placemark><name>{name}</name><ExtendedData>{pairs}</ExtendedData>{shape}</Placemark>"


RING = "33,-13,900 34,-13,900 34,-12,900 33,-12,900 33,-13,900"
OUTLINE = f"<Polygon><outerBoundaryIs><LinearRing><coordinates>{RING}</coordinates></LinearRing></outerBoundaryIs></Polygon>"
ROAD = "<LineString><coordinates>33,-13 34,-12</coordinates></LineString>"


def area(wkt: str) -> float:
    """Return the area of a shape, in square degrees."""
    return float(shapely.from_wkt(wkt).area)


@pytest.mark.parametrize("system", ["EPSG:4326", "EPSG:32736", "EPSG:3857"])
@pytest.mark.parametrize("ending", [".gpkg", ".parquet"])
def test_shapes_in_another_system_come_to_longitude_and_latitude(room: Any, system: str, ending: str) -> None:
    """A surveyor's UTM zone 36 S, a web map's metres and plain degrees give the same outline."""
    frame = geopandas.GeoDataFrame([BLOCK], geometry=[SQUARE], crs="EPSG:4326").to_crs(system)
    path = room.folder / f"blocks{ending}"
    frame.to_parquet(path) if ending == ".parquet" else frame.to_file(path, layer="blocks")
    (found,) = room.sheets(path)
    assert found.faults == []
    assert shapely.from_wkt(found.rows[0]["geometry"]).normalize().equals_exact(SQUARE.normalize(), 1e-6)


def test_degrees_are_longitude_first_in_geojson(room: Any) -> None:
    """What the file itself says counts; swapped ones that leave the globe are told."""
    good = shape_of(SQUARE.wkt)
    swapped = shape_of("POLYGON ((-13 133, -13 134, -12 134, -13 133))")
    found = room.read("blocks.geojson", geojson((BLOCK, good), (BLOCK | {"block_id": "B"}, swapped)))
    assert area(found.rows[0]["geometry"]) == pytest.approx(1)
    assert found.rows[1]["geometry"] is None
    assert found.faults == [(2, "geometry", None, "off_the_globe", "flaw")]


def test_coordinates_without_a_system_are_degrees(room: Any) -> None:
    """Metres that nobody named a system for lie off the globe, and are told."""
    frame = geopandas.GeoDataFrame(
        [BLOCK, BLOCK | {"block_id": "B"}], geometry=[SQUARE, shapely.box(6e5, 8e6, 7e5, 9e6)]
    )
    with pytest.warns(UserWarning, match="crs"):
        frame.to_file(room.folder / "blocks.gpkg", layer="blocks")
    (found,) = room.sheets(room.folder / "blocks.gpkg")
    assert found.rules == ["off_the_globe"]


@pytest.mark.parametrize(
    ("shape", "rule"),
    [
        (None, ""),
        (shape_of("POLYGON EMPTY"), "not_a_shape"),
        (shape_of("POLYGON ((33 -13, 34 -12, 34 -13, 33 -12, 33 -13))"), "broken_shape"),
        (shape_of("POINT (33 -13)"), "wrong_shape"),
        (shape_of("GEOMETRYCOLLECTION (POINT (33 -13))"), "not_a_shape"),
        (shape_of("POLYGON Z ((33 -13 900, 34 -13 900, 34 -12 900, 33 -13 900))"), ""),
        (shape_of("MULTIPOLYGON (((33 -13, 34 -13, 34 -12, 33 -13)))"), ""),
        ({"type": "Polygon", "coordinates": [[[33, -13], [34, -13]]]}, "broken_shape"),
    ],
)
def test_a_block_whose_outline_is_no_outline_is_taken_without_it(room: Any, shape: Any, rule: str) -> None:
    """The row counts; its shape is a flaw."""
    found = room.read("blocks.geojson", geojson((BLOCK, shape)))
    assert (found.rows[0]["_rejected"], found.rules) == (False, [rule] if rule else [])
    assert (found.rows[0]["geometry"] is None) is (bool(rule) or shape is None)


def test_a_district_without_its_boundary_is_rejected(room: Any) -> None:
    """There the shape must be filled."""
    found = room.read(
        "districts.geojson",
        geojson(({"district": "N"}, None), ({"district": "S"}, shape_of("POINT (33 -13)"))),
    )
    assert [fault[3:] for fault in found.faults] == [("required", "rejected"), ("wrong_shape", "rejected")]


def test_points_give_a_site_its_place(room: Any) -> None:
    """A handheld's points need no columns of latitude and longitude; those that are there go first."""
    site = {"site_id": "S1", "name": "A"}
    found = room.read("sites.geojson", geojson((site, shape_of("POINT (33.8 -13.5)"))))
    assert [(row["latitude"], row["longitude"]) for row in found.taken] == [(-13.5, 33.8)]
    typed = room.read(
        "sites.geojson",
        geojson((site | {"latitude": -14.0, "longitude": 34.0}, shape_of("POINT (33.8 -13.5)"))),
    )
    assert [(row["latitude"], row["longitude"]) for row in typed.taken] == [(-14.0, 34.0)]
    assert json.loads(typed.rows[0]["_extra"]) == {"geometry": "POINT (33.8 -13.5)"}


def test_each_layer_is_its_own_table(room: Any) -> None:
    """A GeoPackage and the folders of a KML file hold several tables; an empty layer is no sheet of faults."""
    path = room.folder / "delivery.gpkg"
    geopandas.GeoDataFrame([BLOCK], geometry=[SQUARE], crs=4326).to_file(path, layer="blocks")
    line = shapely.LineString([(33, -13), (34, -12)])
    geopandas.GeoDataFrame([{"class": "track"}], geometry=[line], crs=4326).to_file(
        path, layer="roads of the north"
    )
    assert [found.sheet.table.name for found in room.sheets(path)] == ["blocks", "roads"]
    text = kml(placemark("N", OUTLINE, district="North"), folder="districts").replace(
        "</Document>",
        f"<Folder><name>roads</name>{placemark('R', ROAD, **{'class': 'track'})}</Folder></Document>",
    )
    sheets = room.sheets(room.put("delivery.kml", text))
    assert [(f.sheet.table.name, len(f.taken)) for f in sheets if f.rows] == [("districts", 1), ("roads", 1)]


def test_a_kml_file_gives_its_data_and_shapes(room: Any) -> None:
    """Heights are kept out of the way; nothing that the format adds by itself is told of."""
    found = room.read("districts.kml", kml(placemark("", OUTLINE, district="North")))
    assert [row["district"] for row in found.taken] == ["North"]
    assert area(found.rows[0]["geometry"]) == pytest.approx(1)
    assert found.faults == []


def test_lists_and_dates_of_a_feature_are_read_like_a_cell(room: Any) -> None:
    """A list is its parts apart by semicolons, a date stays its ISO text, a number in a text has no .0."""
    base = {"base_id": 7, "name": "Depot", "latitude": -13, "longitude": 33.5}
    assert room.read("bases.geojson", geojson((base, None))).rows[0]["base_id"] == "7"
    crew = {"crew_id": "C1", "base_id": "7", "skills": ["pump", "electrical"]}
    assert room.read("crews.geojson", geojson((crew, None))).rows[0]["skills"] == "pump;electrical"
    call = {"site_id": "S1", "called_at": "2026-03-01T07:30:00+02:00"}
    assert (
        str(room.read("calls.geojson", geojson((call, None))).rows[0]["called_at"]) == "2026-03-01 05:30:00"
    )


@pytest.mark.parametrize("ending", [".geojson", ".json", ".gpkg", ".kml"])
def test_a_file_that_points_to_other_files_is_refused_whatever_its_ending(
    room: Any, tmp_path: Path, ending: str
) -> None:
    """What a virtual layer names was not uploaded: nothing of it is read, nor told."""
    secret = tmp_path / "secret.csv"
    secret.write_text("district,why\nHIDDEN,HIDDEN\n", encoding="utf-8")
    virtual = f'<OGRVRTDataSource><OGRVRTLayer name="secret"><SrcDataSource>{secret}</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>'
    with pytest.raises(FileFault) as caught:
        room.sheets(room.put(f"districts{ending}", virtual))
    assert "HIDDEN" not in str(caught.value)


@pytest.mark.parametrize("ending", [".geojson", ".gpkg", ".kml"])
@pytest.mark.parametrize(
    "content",
    [
        "district,geometry\nN,POINT (1 2)\n",
        '<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="1" lon="2"/></gpx>',
        '{"type": "Topology", "objects": {}, "arcs": []}',
        "<OGRWFSDataSource><URL>http://127.0.0.1:9/</URL></OGRWFSDataSource>",
        "not a map",
    ],
)
def test_another_format_under_the_ending_is_refused(room: Any, ending: str, content: str) -> None:
    """Each ending is opened as what it says, and as nothing else."""
    with pytest.raises(FileFault):
        room.sheets(room.put(f"districts{ending}", content))


@pytest.fixture
def listener() -> Iterator[tuple[str, list[str]]]:
    """Return a web address of this machine, and what was asked of it."""
    asked: list[str] = []
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.2)
        stopped = threading.Event()

        def listen() -> None:
            while not stopped.is_set():
                with contextlib.suppress(TimeoutError):
                    caller, _ = server.accept()
                    asked.append("somebody called")
                    caller.close()

        thread = threading.Thread(target=listen)
        thread.start()
        yield f"http://127.0.0.1:{server.getsockname()[1]}", asked
        stopped.set()
        thread.join()


@pytest.mark.parametrize(
    ("name", "content"),
    [
        (
            "districts.kml",
            "<kml xmlns='http://www.opengis.net/kml/2.2'><NetworkLink><Link><href>AT/x.kml</href></Link></NetworkLink></kml>",
        ),
        (
            "districts.geojson",
            "<OGRVRTDataSource><OGRVRTLayer name='x'><SrcDataSource>/vsicurl/AT/x.csv</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>",
        ),
        ("districts.geojson", "<OGRWFSDataSource><URL>AT/</URL></OGRWFSDataSource>"),
        (
            "districts.kml",
            "<kml xmlns='http://www.opengis.net/kml/2.2'><!-- <OGRWFSDataSource><URL>AT/</URL></OGRWFSDataSource> --></kml>",
        ),
        (
            "districts.geojson",
            '{"type": "gdal_streamed_alg", "command_line": "gdal vector pipeline ! read /vsicurl/AT/x.geojson"}',
        ),
        ("districts.geojson", '{"url": "AT/", "currentVersion": 1, "type": "Feature Layer"}'),
        (
            "districts.geojson",
            '{"stac_version": "1.0.0", "type": "FeatureCollection", "links": [{"href": "AT/", "rel": "next"}]}',
        ),
        ("districts.geojson", '"AT/x.geojson"'),
        ("districts.geojson", "AT/x.geojson"),
        ("districts.gpkg", "AT/x.gpkg"),
    ],
)
def test_a_file_that_names_an_address_is_refused_and_nobody_is_called(
    room: Any, listener: tuple[str, list[str]], name: str, content: str
) -> None:
    """What lies behind a link was not sent; no request leaves the machine, or even stays on it."""
    address, asked = listener
    with pytest.raises(FileFault):
        room.sheets(room.put(name, content.replace("AT", address)))
    assert asked == []


@pytest.mark.parametrize("kind", ["link", "l\\u0069nk", "name"])
def test_a_reference_system_is_never_fetched(room: Any, listener: tuple[str, list[str]], kind: str) -> None:
    """An old form of GeoJSON may name its system by an address, disguised or not; it is not asked."""
    address, asked = listener
    properties = {"href": f"{address}/x", "type": "proj4", "name": f"{address}/x"}
    text = geojson(({"district": "N"}, None), crs={"type": "KIND", "properties": properties})
    with contextlib.suppress(FileFault):
        room.read("districts.geojson", text.replace("KIND", kind))
    assert asked == []


def test_a_system_that_is_named_by_an_address_is_refused(room: Any) -> None:
    """In which system the coordinates are was not uploaded."""
    crs = {"type": "link", "properties": {"href": "http://127.0.0.1:9/x"}}
    with pytest.raises(FileFault, match="not uploaded"):
        room.read("districts.geojson", geojson(({"district": "N"}, None), crs=crs))


def test_the_listener_hears_a_call(listener: tuple[str, list[str]]) -> None:
    """The silence in the test above is no deafness."""
    address, asked = listener
    with socket.create_connection(("127.0.0.1", int(address.rpartition(":")[2]))) as caller:
        caller.recv(1)
    assert asked == ["somebody called"]


def test_a_document_type_is_refused(room: Any) -> None:
    """It could name files of the machine, or swell without end."""
    text = kml(placemark("&e;", OUTLINE)).replace(
        "<kml", '<!DOCTYPE kml [<!ENTITY e SYSTEM "file:///etc/hostname">]><kml'
    )
    with pytest.raises(FileFault, match="names other files"):
        room.sheets(room.put("districts.kml", text))


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE VIEW districts AS SELECT 1 AS fid, ogr_geocode('x') AS district",
        "CREATE VIEW districts AS SELECT 1 AS fid, gdal_get_pixel_value('/etc/hostname', 1, 'georef', 0, 0) AS district",
    ],
)
def test_a_package_whose_views_call_out_is_refused(room: Any, statement: str) -> None:
    """A view may not ask the network or another file."""
    path = room.folder / "delivery.gpkg"
    geopandas.GeoDataFrame([BLOCK], geometry=[SQUARE], crs=4326).to_file(path, layer="blocks")
    with sqlite3.connect(path) as package:
        package.execute(statement)
        package.execute(
            "INSERT INTO gpkg_contents (table_name, data_type, identifier) VALUES ('districts', 'attributes', 'd')"
        )
    package.close()
    with pytest.raises(FileFault):
        room.sheets(path)


DEEP = struct.pack("<BII", 1, 7, 1) * 200_000 + struct.pack("<BIdd", 1, 1, 33.0, -13.0)


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"\x01",
        b"not a shape at all",
        DEEP,
        struct.pack("<BII", 1, 6, 1) * 200_000,
        struct.pack("<BII", 1, 2, 0xFFFFFFFF),
        struct.pack("<BIII", 1, 3, 0xFFFFFFFF, 0),
        shapely.to_wkb(SQUARE) + b"more",
        shapely.to_wkb(SQUARE)[:-1],
    ],
    ids=[
        "empty",
        "one byte",
        "text",
        "nested",
        "nested parts",
        "endless line",
        "endless rings",
        "tail",
        "torn",
    ],
)
def test_bytes_that_are_no_plain_shape_reach_no_library(room: Any, raw: bytes) -> None:
    """A shape that nests without end would end the process; it is a flaw of its row."""
    cells = pa.table(
        {name: [value] for name, value in BLOCK.items()} | {"geometry": pa.array([raw], pa.binary())}
    )
    parquet.write_table(cells, room.folder / "blocks.parquet")
    (found,) = room.sheets(room.folder / "blocks.parquet")
    assert (len(found.taken), found.rules) == (1, ["not_a_shape"])


@pytest.mark.parametrize("flavor", ["iso", "extended"])
@pytest.mark.parametrize(
    "wkt", ["POINT (1 2)", "LINESTRING Z (1 2 3, 4 5 6)", "MULTIPOLYGON Z (((0 0 1, 1 0 1, 1 1 1, 0 0 1)))"]
)
def test_plain_shapes_pass_in_either_coding(flavor: str, wkt: str) -> None:
    """Heights are coded in two ways, and both byte orders are in use."""
    for order in (0, 1):
        raw = shapely.to_wkb(shapely.from_wkt(wkt), flavor=flavor, byte_order=order, output_dimension=3)
        assert plain_shapes(pa.chunked_array([[raw, None, raw + b"x"]])) == [raw, None, NO_SHAPE]


def test_a_shape_nested_deep_in_text_is_a_flaw_too(room: Any) -> None:
    """The same as text: it is refused by its first word."""
    deep = "GEOMETRYCOLLECTION (" * 100_000 + "POINT (1 2)" + ")" * 100_000
    found = room.read("blocks.csv", f"site_id,block_id,area_ha,geometry\nS1,A,1.5,{deep}\n")
    assert found.rules == ["not_a_shape"]


def test_a_package_with_a_torn_page_is_refused_or_whole(room: Any) -> None:
    """A page that is lost costs the file, or nothing: never some of its rows in silence."""
    path = room.folder / "blocks.gpkg"
    rows = [BLOCK | {"block_id": str(i)} for i in range(500)]
    geopandas.GeoDataFrame(rows, geometry=[SQUARE] * 500, crs=4326).to_file(path, layer="blocks")
    whole = path.read_bytes()
    refused = 0
    for at in range(4096, len(whole), 8192):
        torn = room.put("blocks.gpkg", whole[:at] + b"\xff" * 4096 + whole[at + 4096 :])
        try:
            (found,) = room.sheets(torn)
        except FileFault as error:
            refused += "damaged" in str(error)
        else:
            assert len(found.rows) == 500
    assert refused


def test_map_files_read_side_by_side_leave_the_warnings_of_the_process_alone(tmp_path: Path) -> None:
    """GDAL's remark on an archived GeoPackage, whose name has no ending, is passed over and nothing else is, ever after."""
    made, archived = tmp_path / "blocks.gpkg", tmp_path / "0f3a"
    geopandas.GeoDataFrame([BLOCK], geometry=[SQUARE], crs="EPSG:4326").to_file(made, layer="blocks")
    made.rename(archived)
    before = list(warnings.filters)
    with ThreadPoolExecutor(4) as pool:
        uploads = [Upload(archived, "blocks.gpkg")] * 40
        found = list(pool.map(lambda upload: read_file(upload, ReadOptions())[0].rows, uploads))
    assert found == [1] * 40
    assert warnings.filters == before
