"""What a file of tiles is to whoever shows it: where it has tiles, who made them, one tile's bytes.

Two open standards: MBTiles 1.3 (github.com/mapbox/mbtiles-spec) and PMTiles 3
(github.com/protomaps/PMTiles), both with tiles as pictures in spherical Mercator. The file is told by
its first bytes, and whatever stands in it is taken for hostile.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from functools import lru_cache
from html import unescape
from math import isfinite
from pathlib import Path
from typing import Protocol

from pipeline.errors import FileFault
from pipeline.tiles import mbtiles, pmtiles_file
from pipeline.tiles.faults import fault
from pipeline.tiles.pictures import MOST_ZOOM, picture_kind

Bounds = tuple[float, float, float, float]

LONGEST_ATTRIBUTION = 300  # letters
FARTHEST_NORTH = 85.06  # degrees; the Mercator square ends at 85.0511


class _Reader(Protocol):
    """An open file of either kind; `samples` holds a tile of some zooms, the lowest and the highest among them."""

    def samples(self) -> dict[int, bytes]: ...
    def metadata(self) -> dict[str, str]: ...
    def tile(self, zoom: int, column: int, row: int) -> bytes | None: ...


@dataclass(frozen=True)
class Tile:
    """A picture of 256 × 256 points or a multiple."""

    content: bytes
    media_type: str


@dataclass(frozen=True)
class TileFile:
    """A file of tiles that was looked at and can be shown.

    Parameters
    ----------
    mark
        Another one wherever the file is another.
    ending
        What its kind of file is called by.
    attribution
        Whose work it is, as plain text; may be empty.
    bounds
        west, south, east, north [°]; None: the file doesn't say.
    min_zoom, max_zoom
        Within which there are tiles.
    """

    path: Path
    mark: str
    ending: str
    attribution: str
    bounds: Bounds | None
    min_zoom: int
    max_zoom: int

    def tile(self, zoom: int, column: int, row: int) -> Tile | None:
        """Return the picture at a place, rows counted from the north; None where the file has none.

        Raises
        ------
        FileFault
            Where the file is gone, or can't be read there.
        """
        if not self.min_zoom <= zoom <= self.max_zoom:
            return None
        if not (0 <= column < 1 << zoom and 0 <= row < 1 << zoom):
            return None
        with _opened(self.path, self.ending) as reader:
            content = reader.tile(zoom, column, row)
        kind = picture_kind(content) if content else None
        return Tile(content, kind) if content and kind else None


KINDS: dict[str, Callable[[Path], AbstractContextManager[_Reader]]] = {
    ".mbtiles": mbtiles.opened,
    ".pmtiles": pmtiles_file.opened,
}


def open_tiles(path: Path) -> TileFile:
    """Look at a file of tiles without reading it whole.

    Raises
    ------
    FileFault
        Where it isn't there, is no such file, is damaged or holds something else than pictures.
    """
    try:
        found = path.stat()
    except OSError as error:
        raise fault("gone", path) from error
    return _looked_at(path, f"{found.st_size:x}-{found.st_mtime_ns:x}")


@lru_cache(maxsize=4)
def _looked_at(path: Path, mark: str) -> TileFile:
    """Look once at a file as it is: a map asks for dozens of its tiles at a time."""
    ending = _ending(path)
    with _opened(path, ending) as reader:
        samples, said = reader.samples(), reader.metadata()
    if not samples:
        raise fault("no_tile", path)
    if not any(picture_kind(content) for content in samples.values()):
        raise fault("no_pictures", path)
    attribution, bounds = _text(said.get("attribution", "")), _bounds(said.get("bounds", ""))
    return TileFile(path, mark, ending, attribution, bounds, min(samples), min(max(samples), MOST_ZOOM))


def _ending(path: Path) -> str:
    try:
        with path.open("rb") as stream:
            start = stream.read(16)
    except OSError as error:
        raise fault("gone", path) from error
    if start.startswith(mbtiles.MAGIC):
        return ".mbtiles"
    if start.startswith(pmtiles_file.MAGIC):
        return ".pmtiles"
    raise fault("unknown_kind", path)


@contextmanager
def _opened(path: Path, ending: str) -> Iterator[_Reader]:
    """The file, open for a block: it is held no longer, so that a stick can be pulled out."""
    try:
        with KINDS[ending](path) as reader:
            yield reader
    except FileFault:
        raise
    except OSError as error:
        raise fault("gone", path) from error
    except mbtiles.TooSlow as error:
        raise fault("slow", path) from error
    except (*mbtiles.BROKEN, *pmtiles_file.BROKEN) as error:
        raise fault("torn", path) from error


def _text(html: str) -> str:
    """What somebody reads of an attribution, which is HTML by both standards."""
    text = " ".join(unescape(re.sub(r"<[^>]*>", " ", html)).split())
    return text if len(text) <= LONGEST_ATTRIBUTION else text[: LONGEST_ATTRIBUTION - 1] + "…"


def _bounds(text: str) -> Bounds | None:
    """West, south, east, north, where four sensible numbers say so."""
    try:
        west, south, east, north = (float(part) for part in text.split(","))
    except ValueError:
        return None
    if not all(map(isfinite, (west, south, east, north))) or west >= east or south >= north:
        return None
    return max(west, -180.0), max(south, -FARTHEST_NORTH), min(east, 180.0), min(north, FARTHEST_NORTH)
