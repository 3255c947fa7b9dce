"""PMTiles, version 3: a header, directories of tiles along a curve, the tiles.

The library reads header and directories, but unpacks whatever it is given: what it gets here was
measured before, so that a crafted file can't fill the memory.
"""

import gzip
import json
import os
import re
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from io import BufferedReader
from pathlib import Path

from pmtiles.tile import (
    Compression,
    Entry,
    HeaderDict,
    TileType,
    deserialize_directory,
    deserialize_header,
    find_tile,
    tileid_to_zxy,
    zxy_to_tileid,
)

from pipeline.tiles.faults import fault
from pipeline.tiles.pictures import MOST_BYTES

MAGIC = b"PMTiles\x03"
BROKEN = (ValueError, EOFError, OverflowError, IndexError, RecursionError, zlib.error)
HEADER_BYTES = 127
MOST_DIRECTORY = 1 << 19  # bytes unpacked; what writers make for a whole planet has half of it
MOST_METADATA = 1 << 20
DEPTH = 4  # of directories, by the standard
GZIP = 31  # zlib's word for it
DEGREE = 1e7
LONG_NUMBER = re.compile(rb"[\x80-\xff]{10}")  # of 64 bits, each byte but the last carries seven


@contextmanager
def opened(path: Path) -> Iterator["PMTiles"]:
    """Open a file to read only."""
    with path.open("rb") as stream:
        yield PMTiles(path, stream)


class PMTiles:
    """An open PMTiles file.

    Raises
    ------
    FileFault
        Where its tiles are no pictures, or it is packed in a way that Python doesn't know.
    ValueError
        Where it is cut off or damaged.
    """

    def __init__(self, path: Path, stream: BufferedReader) -> None:
        self.path, self.stream = path, stream
        self.size = os.fstat(stream.fileno()).st_size
        self.header: HeaderDict = deserialize_header(self._bytes(0, HEADER_BYTES, HEADER_BYTES))
        if self.header["tile_type"] in (TileType.MVT, TileType.MLT):
            raise fault("vector", path)
        h = self.header
        if {h["internal_compression"], h["tile_compression"]} & {Compression.BROTLI, Compression.ZSTD}:
            raise fault("packed", path)
        ends = (
            h["root_offset"] + h["root_length"],
            h["metadata_offset"] + h["metadata_length"],
            h["leaf_directory_offset"] + h["leaf_directory_length"],
            h["tile_data_offset"] + h["tile_data_length"],
        )
        if max(ends) > self.size:
            raise ValueError("a part lies beyond the end")

    def samples(self) -> dict[int, bytes]:
        """Return the first and the last tile, each by its zoom."""
        found = {}
        for end in (0, -1):
            entry = self._at_end(end)
            places_on = entry.run_length - 1 if end else 0  # of a run: one picture at several places
            found[tileid_to_zxy(entry.tile_id + places_on)[0]] = self._content(entry)
        return found

    def metadata(self) -> dict[str, str]:
        """Return what the file says of itself, with the bounds of its header."""
        h = self.header
        text = self._unpacked(h["metadata_offset"], h["metadata_length"], MOST_METADATA)
        said = json.loads(text) if text else {}
        edges = (h["min_lon_e7"], h["min_lat_e7"], h["max_lon_e7"], h["max_lat_e7"])
        found = {"bounds": ",".join(str(edge / DEGREE) for edge in edges)}
        attribution = said.get("attribution") if isinstance(said, dict) else None
        return found | ({"attribution": attribution} if isinstance(attribution, str) else {})

    def tile(self, zoom: int, column: int, row: int) -> bytes | None:
        """Return a tile."""
        tile_id = zxy_to_tileid(zoom, column, row)
        entries = self._root()
        for _ in range(DEPTH):
            entry = find_tile(entries, tile_id)
            if entry is None:
                return None
            if entry.run_length:
                return self._content(entry)
            entries = self._leaf(entry)
        raise ValueError("directories lead on without end")

    def _at_end(self, end: int) -> Entry:
        """The first or the last entry that is a tile."""
        entry = self._root()[end]
        for _ in range(DEPTH):
            if entry.run_length:
                return entry
            entry = self._leaf(entry)[end]
        raise ValueError("directories lead on without end")

    def _root(self) -> list[Entry]:
        h = self.header
        return _entries(self._unpacked(h["root_offset"], h["root_length"], MOST_DIRECTORY))

    def _leaf(self, entry: Entry) -> list[Entry]:
        start = self.header["leaf_directory_offset"] + entry.offset
        return _entries(self._unpacked(start, entry.length, MOST_DIRECTORY))

    def _content(self, entry: Entry) -> bytes:
        content = self._bytes(self.header["tile_data_offset"] + entry.offset, entry.length, MOST_BYTES)
        packed = self.header["tile_compression"] is Compression.GZIP
        return _gunzipped(content, MOST_BYTES) if packed else content

    def _unpacked(self, offset: int, length: int, most: int) -> bytes:
        content = self._bytes(offset, length, most)
        packed = self.header["internal_compression"] is Compression.GZIP
        return _gunzipped(content, most) if packed and content else content

    def _bytes(self, offset: int, length: int, most: int) -> bytes:
        if length > most or offset + length > self.size:
            raise ValueError("a part lies beyond the end")
        self.stream.seek(offset)
        return self.stream.read(length)


def _gunzipped(content: bytes, most: int) -> bytes:
    unpacked = zlib.decompressobj(GZIP).decompress(content, most + 1)
    if len(unpacked) > most:
        raise ValueError("it unpacks to more than any directory or tile")
    return unpacked


@lru_cache(maxsize=16)
def _entries(unpacked: bytes) -> list[Entry]:
    """A directory's entries: each takes up to a tenth of a second to be read, and serves many tiles."""
    if LONG_NUMBER.search(unpacked):
        raise ValueError("a number is longer than any")
    return deserialize_directory(gzip.compress(unpacked, compresslevel=0))  # it takes them packed alone
