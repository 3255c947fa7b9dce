"""MBTiles: a SQLite database. A crafted one may hold views that never end, texts for numbers, torn pages."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from time import monotonic

from pipeline.tiles.faults import fault
from pipeline.tiles.pictures import MOST_BYTES, MOST_ZOOM

MAGIC = b"SQLite format 3\0"
BROKEN = (sqlite3.Error,)
PATIENCE_S = 5.0  # for all that is asked of an open file: with its index, a tile takes a millisecond
STEPS = 10_000  # of SQLite's machine between two looks at the clock


class TooSlow(Exception):
    """A question that didn't end: no index, or a view made to go on for ever."""


@contextmanager
def opened(path: Path) -> Iterator["MBTiles"]:
    """Open a file to read only; nothing is written beside it, and what stands in it calls no function."""
    address = f"{path.resolve().as_uri()}?mode=ro&immutable=1"
    with closing(sqlite3.connect(address, uri=True, isolation_level=None)) as connection:
        connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, MOST_BYTES)
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA cell_size_check = ON")
        until = monotonic() + PATIENCE_S
        connection.set_progress_handler(lambda: monotonic() > until, STEPS)
        try:
            yield MBTiles(path, connection)
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode == sqlite3.SQLITE_INTERRUPT:
                raise TooSlow from error
            raise


class MBTiles:
    """An open MBTiles file."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path, self.connection = path, connection

    def samples(self) -> dict[int, bytes]:
        """Return a tile of each zoom that has one: what the metadata say of zooms is often wrong.

        Raises
        ------
        FileFault
            Where the database is another one, or its tiles are no pictures.
        """
        tables = self.connection.execute(
            "SELECT count(*) FROM sqlite_schema WHERE type IN ('table', 'view') AND name IN ('tiles', 'metadata')"
        ).fetchone()
        if tables != (2,):
            raise fault("other_database", self.path)
        if self.metadata().get("format") in ("pbf", "mvt"):
            raise fault("vector", self.path)
        any_of = "SELECT tile_data FROM tiles WHERE zoom_level = ? LIMIT 1"
        found = {zoom: self._bytes(any_of, zoom) for zoom in range(MOST_ZOOM + 1)}
        return {zoom: content for zoom, content in found.items() if content}

    def metadata(self) -> dict[str, str]:
        """Return what the file says of itself."""
        found = self.connection.execute(
            "SELECT name, value FROM metadata WHERE name IN ('format', 'bounds', 'attribution') LIMIT 10"
        )
        return {name: value for name, value in found if isinstance(value, str)}

    def tile(self, zoom: int, column: int, row: int) -> bytes | None:
        """Return a tile; the file counts its rows from the south."""
        return self._bytes(
            "SELECT tile_data FROM tiles WHERE zoom_level = ? AND tile_column = ? AND tile_row = ?",
            zoom, column, (1 << zoom) - 1 - row,
        )  # fmt: skip

    def _bytes(self, statement: str, *places: int) -> bytes | None:
        found = self.connection.execute(statement, places).fetchone()
        return found[0] if found and isinstance(found[0], bytes) else None
