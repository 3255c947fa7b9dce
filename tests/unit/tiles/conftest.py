"""Files of tiles, made as others make them."""

import sqlite3
from collections.abc import Callable, Mapping
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from pmtiles.tile import Compression, TileType, zxy_to_tileid
from pmtiles.writer import write

Place = tuple[int, int, int]
BOUNDS = (33.0, -14.0, 34.0, -13.0)


def picture(shade: int, kind: str = "PNG") -> bytes:
    """A tile of one shade."""
    made = BytesIO()
    Image.new("RGB", (256, 256), (shade, 200, 0)).save(made, kind)
    return made.getvalue()


PICTURES = {(7, 75, 68): picture(7), (8, 151, 137): picture(8), (9, 303, 275): picture(9)}


def write_mbtiles(path: Path, tiles: Mapping[Place, object] = PICTURES, **said: object) -> Path:
    """An MBTiles file; places as the web counts them, rows from the north."""
    metadata = {"name": "Plateau", "format": "png", "bounds": ",".join(map(str, BOUNDS))} | said
    connection = sqlite3.connect(path)
    connection.executescript(
        """CREATE TABLE metadata (name TEXT, value TEXT);
           CREATE TABLE tiles (zoom_level INTEGER, tile_column INTEGER, tile_row INTEGER, tile_data BLOB);
           CREATE UNIQUE INDEX tile_index ON tiles (zoom_level, tile_column, tile_row)"""
    )
    connection.executemany("INSERT INTO metadata VALUES (?, ?)", metadata.items())
    rows = [(z, x, 2**z - 1 - y, content) for (z, x, y), content in tiles.items()]
    connection.executemany("INSERT INTO tiles VALUES (?, ?, ?, ?)", rows)
    connection.commit()
    connection.close()
    return path


def write_pmtiles(path: Path, tiles: Mapping[Place, bytes] = PICTURES, **said: object) -> Path:
    """A PMTiles file, by its library's own writer."""
    header = {"tile_type": TileType.PNG, "tile_compression": Compression.NONE} | {
        name: round(degrees * 1e7)
        for name, degrees in zip(
            ("min_lon_e7", "min_lat_e7", "max_lon_e7", "max_lat_e7"), BOUNDS, strict=True
        )
    }
    header |= {name: value for name, value in said.items() if name in header}
    with write(str(path)) as writer:
        for tile_id, content in sorted((zxy_to_tileid(*place), content) for place, content in tiles.items()):
            writer.write_tile(tile_id, content)
        writer.finalize(header, {name: value for name, value in said.items() if name not in header})
    return path


WRITERS = {".mbtiles": write_mbtiles, ".pmtiles": write_pmtiles}


@pytest.fixture(params=sorted(WRITERS))
def written(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[..., Path]:
    """Write a file of each kind."""

    def make(*tiles: object, **said: object) -> Path:
        path: Path = WRITERS[request.param](tmp_path / f"plateau{request.param}", *tiles, **said)
        return path

    return make
