"""Files of tiles: what is read of a sound one, and that no other one does harm."""

import gzip
import sqlite3
from concurrent.futures import ThreadPoolExecutor
from random import Random

import pytest
from pmtiles.tile import Compression, TileType, deserialize_header, serialize_header, zxy_to_tileid

from pipeline.errors import FileFault
from pipeline.tiles import Tile, open_tiles
from tests.unit.tiles.conftest import BOUNDS, PICTURES, picture, write_mbtiles, write_pmtiles

PLACE = (9, 303, 275)


def refused(path):
    """The fault of a file that is not shown: it says what, where, why and how to mend it."""
    with pytest.raises(FileFault) as caught:
        open_tiles(path)
    fault = caught.value.fault
    assert fault.where == str(path)
    assert fault.what
    assert fault.why
    assert fault.mend
    return fault


def cause(path):
    """What in a damaged file stopped the reading."""
    with pytest.raises(FileFault, match="damaged") as caught:
        open_tiles(path)
    return str(caught.value.__cause__)


def test_a_file_says_where_it_has_tiles_and_whose_they_are(written):
    """Zooms are those of its tiles, bounds those that it states."""
    found = open_tiles(written(attribution="Plateau Survey Office"))
    assert (found.min_zoom, found.max_zoom) == (7, 9)
    assert found.bounds == BOUNDS
    assert found.attribution == "Plateau Survey Office"


def test_every_tile_comes_back_from_its_place(written):
    """Each with its bytes and kind; a place without a tile, and one off the map, has none."""
    found = open_tiles(written())
    assert {place: found.tile(*place) for place in PICTURES} == {
        place: Tile(content, "image/png") for place, content in PICTURES.items()
    }
    for place in ((9, 0, 0), (9, 512, 0), (9, 0, -1), (6, 0, 0), (10, 0, 0), (99, 0, 0)):
        assert found.tile(*place) is None


def test_rows_of_mbtiles_count_from_the_south(tmp_path):
    """MBTiles 1.3, "Tiles": 11/327/791 of the web is inserted as row 1256, since 1256 is 2^11 - 1 - 791."""
    path = write_mbtiles(tmp_path / "rows.mbtiles", {})
    connection = sqlite3.connect(path)
    connection.execute("INSERT INTO tiles VALUES (11, 327, 1256, ?)", [picture(1)])
    connection.commit()
    connection.close()
    assert open_tiles(path).tile(11, 327, 791) == Tile(picture(1), "image/png")
    assert open_tiles(path).tile(11, 327, 1256) is None


def test_pmtiles_number_tiles_along_their_curve():
    """PMTiles 3, "Tile IDs": its table, from which the writer of these tests and the reader take the same numbers."""
    published = {(0, 0, 0): 0, (1, 0, 0): 1, (1, 0, 1): 2, (1, 1, 1): 3, (1, 1, 0): 4, (2, 0, 0): 5, (12, 3423, 1763): 19078479}  # fmt: skip
    assert {place: zxy_to_tileid(*place) for place in published} == published


def test_a_pmtiles_file_with_leaves_is_read_through_them(tmp_path):
    """So many tiles that the directory has leaves: the first, one in the middle and the last are found."""
    chance = Random(1)  # noqa: S311 - sizes that no packer can foresee
    places = [(8, x, y) for x in range(128) for y in range(128)]
    tiles = {place: b"\xff\xd8\xff" + chance.randbytes(chance.randrange(300)) for place in places}
    path = write_pmtiles(tmp_path / "many.pmtiles", tiles)
    assert deserialize_header(path.read_bytes()[:127])["leaf_directory_length"] > 0
    found = open_tiles(path)
    for place in ((8, 0, 0), (8, 77, 41), (8, 127, 127)):
        assert found.tile(*place).content == tiles[place]


@pytest.mark.parametrize("kind", ["JPEG", "WEBP"])
def test_the_kind_of_a_picture_is_told_by_its_bytes(written, kind):
    """Whatever the file says of its format."""
    content = picture(3, kind)
    assert open_tiles(written({PLACE: content})).tile(*PLACE) == Tile(content, f"image/{kind.lower()}")


@pytest.mark.parametrize("content", [b"<html><script>x</script>", b'<svg xmlns="http://www.w3.org/2000/svg" onload="x"/>', b"GIF89a", gzip.compress(b"layer", mtime=0)])  # fmt: skip
def test_what_is_no_picture_is_never_given_out(written, content):
    """A file of such tiles is refused; one that hides it among pictures gives nothing at that place."""
    assert "no pictures" in refused(written({PLACE: content})).what


def test_what_hides_among_pictures_is_not_given_out(written):
    """The file is shown without it."""
    hidden = (8, 151, 138)
    found = open_tiles(written(PICTURES | {hidden: b"<html>"}))
    assert found.tile(*hidden) is None
    assert found.tile(8, 151, 137) is not None


@pytest.mark.parametrize(
    ("html", "text"),
    [
        ('<a href="https://x.invalid" onclick="x">© Survey</a> &amp; others', "© Survey & others"),
        ("<img src=x onerror=window.ran=1>", ""),
        ("&lt;script&gt;window.ran=1", "<script>window.ran=1"),  # text: whoever draws it escapes it
        ("A" * 10_000, "A" * 299 + "…"),
    ],
)
def test_an_attribution_becomes_text(written, html, text):
    """It is HTML by both standards, and anybody's."""
    assert open_tiles(written(attribution=html)).attribution == text


@pytest.mark.parametrize(
    "bounds", ["", "33", "a,b,c,d", "34,-14,33,-13", "nan,-14,34,-13", "33,-14,inf,-13", 5]
)
def test_senseless_bounds_are_no_bounds(tmp_path, bounds):
    """The tiles are shown all the same."""
    assert open_tiles(write_mbtiles(tmp_path / "b.mbtiles", bounds=bounds)).bounds is None


@pytest.mark.parametrize("format_", ["pbf", "mvt"])
def test_vector_tiles_are_refused_with_what_to_ask_for(tmp_path, format_):
    """Of both kinds of file."""
    vector = {PLACE: gzip.compress(b"layer")}
    for path in (
        write_mbtiles(tmp_path / "v.mbtiles", vector, format=format_),
        write_pmtiles(tmp_path / "v.pmtiles", vector, tile_type=TileType.MVT),
    ):
        fault = refused(path)
        assert "vector" in fault.what
        assert "PNG, JPEG or WebP" in fault.mend


def test_a_torn_file_is_told_of(written):
    """Cut at any place: a fault, or, where the cut misses what is looked at, a tile or a fault."""
    path = written()
    whole = path.read_bytes()
    for share in (0.02, 0.3, 0.6, 0.95):
        path.write_bytes(whole[: int(len(whole) * share)])
        refused(path)


def test_noise_in_a_file_never_brings_another_error(written):
    """Every part of the file in turn is overwritten: it is read, or refused in words."""
    path = written()
    whole = path.read_bytes()
    for start in range(8, len(whole), max(1, len(whole) // 150)):
        path.write_bytes(whole[:start] + bytes([255]) * 16 + whole[start + 16 :])
        try:
            found = open_tiles(path)
            for place in PICTURES:
                found.tile(*place)
        except FileFault as fault:
            assert fault.fault.mend  # noqa: PT017 - some are read, some are refused


def test_a_file_that_is_something_else_is_told_of(tmp_path):
    """Text, an empty file, a folder, an older version, another database, none at all."""
    other = {
        "words.mbtiles": b"zoom,column,row",
        "empty.pmtiles": b"",
        "old.pmtiles": b"PMTiles\x02" + bytes(200),
    }
    for name, content in other.items():
        (tmp_path / name).write_bytes(content)
        assert "no background map" in refused(tmp_path / name).what
    assert "can't be opened" in refused(tmp_path).what
    assert "can't be opened" in refused(tmp_path / "nowhere.mbtiles").what
    database = tmp_path / "other.mbtiles"
    connection = sqlite3.connect(database)
    connection.execute("CREATE TABLE tiles (zoom_level INTEGER)")
    connection.close()
    assert "no MBTiles" in refused(database).what
    assert "holds no tile" in refused(write_mbtiles(tmp_path / "none.mbtiles", {})).what


def test_a_view_without_end_is_given_up(tmp_path, monkeypatch):
    """A crafted file can't hold a page for longer than our patience."""
    monkeypatch.setattr("pipeline.tiles.mbtiles.PATIENCE_S", 0.2)
    path = write_mbtiles(tmp_path / "view.mbtiles")
    connection = sqlite3.connect(path)
    connection.executescript(
        """ALTER TABLE tiles RENAME TO some;
           CREATE VIEW tiles AS WITH RECURSIVE n(k) AS (SELECT 1 UNION ALL SELECT k + 1 FROM n)
             SELECT some.* FROM n, some WHERE k < 0"""
    )
    connection.close()
    assert "too long" in refused(path).what


def test_numbers_where_tiles_should_be_are_no_tiles(tmp_path):
    """Texts, numbers and nothing in place of bytes."""
    for content in ("text", 5, None):
        assert "no tile" in refused(write_mbtiles(tmp_path / f"{content}.mbtiles", {PLACE: content})).what


def test_a_directory_that_unpacks_without_end_is_refused(tmp_path):
    """A gigabyte of zeros packs into a megabyte: it isn't unpacked."""
    path = write_pmtiles(tmp_path / "bomb.pmtiles")
    bomb = gzip.compress(bytes(50_000_000))
    header = deserialize_header(path.read_bytes()[:127])
    whole = path.read_bytes()
    header |= {"root_offset": len(whole), "root_length": len(bomb)}
    path.write_bytes(serialize_header(header) + whole[127:] + bomb)
    assert "unpacks to more" in cause(path)


def test_a_leaf_that_leads_to_itself_is_refused(tmp_path):
    """Directories lead on four times at most."""
    path = write_pmtiles(tmp_path / "loop.pmtiles")
    whole = path.read_bytes()
    leaf = gzip.compress(bytes([1, 0, 0, 60, 1]))  # one entry: no run, 60 bytes, at the beginning
    leaf += bytes(60 - len(leaf))
    header = deserialize_header(whole[:127]) | {
        "root_offset": len(whole), "root_length": 60, "leaf_directory_offset": len(whole), "leaf_directory_length": 60,
    }  # fmt: skip
    path.write_bytes(serialize_header(header) + whole[127:] + leaf)
    assert "without end" in cause(path)


def test_what_python_cannot_unpack_is_told_of(tmp_path):
    """Brotli and Zstandard."""
    for method in (Compression.BROTLI, Compression.ZSTD):
        assert (
            "packed"
            in refused(write_pmtiles(tmp_path / f"{method.name}.pmtiles", tile_compression=method)).what
        )


def test_many_threads_read_at_once(written):
    """As a browser asks for the tiles of a map."""
    found = open_tiles(written())
    with ThreadPoolExecutor(8) as pool:
        tiles = list(pool.map(lambda place: found.tile(*place), list(PICTURES) * 30))
    assert [tile.content for tile in tiles] == list(PICTURES.values()) * 30


def test_a_file_that_goes_while_it_is_shown_is_told_of(written):
    """A stick that is pulled out, and one that is plugged in again."""
    path = written()
    found = open_tiles(path)
    away = path.rename(path.with_name("away"))
    with pytest.raises(FileFault):
        found.tile(*PLACE)
    assert "can't be opened" in refused(path).what
    away.rename(path)
    assert found.tile(*PLACE) is not None
