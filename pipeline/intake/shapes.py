"""Shapes that files bring as well-known binary: looked through before any library parses them.

A crafted one may nest a million times or claim more points than it holds, which ends the process
inside the libraries; only plain points, lines and polygons, and several of them, go on.
"""

import struct
from collections.abc import Iterable

import pyarrow as pa
from pyproj import CRS, Transformer
from pyproj.exceptions import ProjError
from shapely import from_wkb, get_x, get_y, to_wkb, transform

from pipeline.errors import FileFault
from pipeline.words import say

POINT, LINE, POLYGON = 1, 2, 3
SEVERAL = {4: POINT, 5: LINE, 6: POLYGON}
Z, M, SRID = 0x80000000, 0x40000000, 0x20000000
NO_SHAPE = b"none"  # what no reader takes for a shape
WGS84 = CRS.from_epsg(4326)


def plain_shapes(column: pa.ChunkedArray) -> list[bytes | None]:
    """Return the shapes of a column; `NO_SHAPE` in the place of whatever is no plain one."""
    return [None if raw is None else raw if _plain(raw) else NO_SHAPE for raw in column.to_pylist()]


def _plain(raw: bytes) -> bool:
    try:
        end = _end(raw, 0, {POINT, LINE, POLYGON, *SEVERAL})
    except (struct.error, ValueError):
        return False
    return end == len(raw)


def _end(raw: bytes, at: int, allowed: Iterable[int]) -> int:
    """Where the shape that begins at a byte ends.

    Raises
    ------
    ValueError
        Where it is none of the allowed kinds, or reaches past the end.
    """
    order = "<" if raw[at : at + 1] == b"\x01" else ">"
    (code,) = struct.unpack_from(f"{order}I", raw, at + 1)
    kind, numbers = _kind(code)
    if kind not in allowed:
        raise ValueError(kind)
    at += 9 if code & SRID else 5
    if kind in SEVERAL:
        (count,) = struct.unpack_from(f"{order}I", raw, at)
        at += 4
        for _ in range(count):
            at = _end(raw, at, {SEVERAL[kind]})
        return at
    if kind == POINT:
        return _within(raw, at + 8 * numbers)
    rings = 1
    if kind == POLYGON:
        (rings,) = struct.unpack_from(f"{order}I", raw, at)
        at += 4
    for _ in range(rings):
        (count,) = struct.unpack_from(f"{order}I", raw, at)
        at = _within(raw, at + 4 + 8 * numbers * count)
    return at


def _kind(code: int) -> tuple[int, int]:
    """The kind of a shape, and how many numbers a point of it has: as the standard or PostGIS codes it."""
    thousands, kind = divmod(code & ~(Z | M | SRID), 1000)
    if thousands > 3:  # noqa: PLR2004 - 1 with height, 2 with measure, 3 with both
        raise ValueError(code)
    more = (thousands & 1 or bool(code & Z)) + (thousands >> 1 or bool(code & M))
    return kind, 2 + int(more)


def _within(raw: bytes, end: int) -> int:
    if end > len(raw):
        raise ValueError(end)
    return end


def in_wgs84(shapes: list[bytes | None], crs: str | None, file: str) -> list[bytes | None]:
    """Return shapes in longitude and latitude.

    Raises
    ------
    FileFault
        Where nobody knows the reference system.
    """
    try:
        system = None if crs is None else CRS.from_user_input(crs)
        if system is None or system == WGS84:
            return shapes
        to_wgs84 = Transformer.from_crs(system, WGS84, always_xy=True)
    except ProjError as error:
        raise FileFault(
            say("intake.unknown_system"),
            where=file,
            why=say("intake.unknown_system_why", system=str(crs)[:80]),
            mend=say("intake.off_the_globe_mend"),
        ) from error
    read = from_wkb([None if raw in {None, NO_SHAPE} else raw for raw in shapes], on_invalid="ignore")
    moved = to_wkb(transform(read, to_wgs84.transform, interleaved=False))
    return [None if raw is None else shape or NO_SHAPE for raw, shape in zip(shapes, moved, strict=True)]


def places(shapes: list[bytes | None]) -> tuple[pa.Array, pa.Array]:
    """Return latitude and longitude of points; nothing for other shapes."""
    read = from_wkb([None if raw in {None, NO_SHAPE} else raw for raw in shapes], on_invalid="ignore")
    return pa.array(get_y(read), pa.float64(), from_pandas=True), pa.array(
        get_x(read), pa.float64(), from_pandas=True
    )


def wkt(shapes: list[bytes | None]) -> pa.Array:
    """Return shapes as text, for a table that has no place for them."""
    read = from_wkb([None if raw in {None, NO_SHAPE} else raw for raw in shapes], on_invalid="ignore")
    return pa.array([None if shape is None else shape.wkt for shape in read], pa.string())
