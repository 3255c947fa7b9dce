"""One writing of the store: a new version that nobody sees until it is published.

The version is the transaction: a kill or an error leaves a file that no manifest names. DuckDB's own
transactions are not used inside it, for DuckDB 1.5.5 loses rows in one: where a table made in the
transaction got an empty INSERT first, a later INSERT of 122,880 rows or more from another table made
in it counts them and keeps none.
"""

import uuid
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path
from shutil import copyfile

from duckdb import DuckDBPyConnection

from pipeline.config import Settings
from pipeline.intake import lock, spatial_connection
from pipeline.store import schema
from pipeline.store.files import flush
from pipeline.store.manifest import Manifest, Part


@dataclass
class Session:
    """The version being written: its own copy of the small tables, and the list of its parts."""

    folder: Path
    connection: DuckDBPyConnection
    base: str
    settings: Settings
    parts: list[Part] = field(default_factory=list)
    results: list[Part] = field(default_factory=list)
    load_no: int = 0
    arrived_at: datetime = datetime.min  # noqa: DTZ901 - set before any load
    today: date = date.min

    def finish(self) -> None:
        """Index and flush the small tables; the version can then be published."""
        schema.index(self.connection)
        self.connection.execute("CHECKPOINT store")
        self.connection.execute("USE memory")
        self.connection.execute("DETACH store")
        self.connection.close()
        flush(self.folder / self.base)

    def drop(self) -> None:
        """Leave everything as it was."""
        self.connection.close()
        (self.folder / self.base).unlink(missing_ok=True)


def begin(folder: Path, manifest: Manifest | None, *, kept_in: Path | None = None) -> Session:
    """Return a session that starts from a version; from nothing where there is none.

    Parameters
    ----------
    folder : Path
        Where the session writes.
    kept_in : Path, optional
        The store that the version's files lie in, where the session writes elsewhere: an absolute path.
    """
    home = kept_in or folder
    number = 1 if manifest is None else manifest.number + 1
    base = f"base/{number}-{uuid.uuid4().hex[:12]}.duckdb"
    path = folder / base
    path.parent.mkdir(parents=True, exist_ok=True)
    if manifest is not None:
        copyfile(home / manifest.base, path)
    connection = spatial_connection()
    literal = str(path).replace("'", "''")
    # no log of each statement: the file counts once it is whole, and every flush costs a disk's turn
    connection.execute(f"ATTACH '{literal}' AS store (RECOVERY_MODE 'NO_WAL_WRITES')")
    lock(connection, folder, home)
    connection.execute("USE store")
    if manifest is None:
        schema.create(connection)
        return Session(folder, connection, base, Settings())
    schema.drop_indexes(connection)
    if manifest.is_of_another_edition:
        connection.execute("INSERT OR IGNORE INTO dirty SELECT site_id FROM sites")
    stored, made = (
        [_found(part, kept_in) for part in some] for some in (manifest.parts, manifest.results_in_force)
    )
    return Session(folder, connection, base, manifest.settings, stored, made)


def _found(part: Part, kept_in: Path | None) -> Part:
    """A part under a name that leads to it from any folder."""
    return part if kept_in is None else replace(part, file=str(kept_in / part.file))
