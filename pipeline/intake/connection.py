"""Connections that see what strangers wrote: spatial first, then every door shut."""

from functools import cache
from pathlib import Path
from typing import Any

import duckdb
from duckdb_extensions import import_extension

MEMORY_LIMIT = "2GB"
SHUT: dict[str, Any] = {"autoinstall_known_extensions": "false", "autoload_known_extensions": "false"}


def spatial_connection() -> duckdb.DuckDBPyConnection:
    """Return a connection with the spatial extension, installed from the package and never fetched."""
    check_signature()
    connection = duckdb.connect(config={**SHUT, "allow_unsigned_extensions": "true"})
    connection.load_extension("spatial")
    connection.execute("SET TimeZone = 'UTC'")
    return connection


@cache
def check_signature() -> None:
    """Have the extension's signature checked once in a process: it takes 0.3 s, at each connection else."""
    with duckdb.connect(config=SHUT) as connection:
        try:
            connection.load_extension("spatial")
        except (duckdb.IOException, duckdb.HTTPException):
            import_extension("spatial")
            connection.load_extension("spatial")


def lock(connection: duckdb.DuckDBPyConnection, folder: Path, *others: Path) -> None:
    """Shut a connection off from all files but those below `folder` and `others`; can't be taken back."""
    scratch = folder / "scratch"
    scratch.mkdir(parents=True, exist_ok=True)
    connection.execute("SET memory_limit = ?", [MEMORY_LIMIT])
    connection.execute("SET temp_directory = ?", [str(scratch)])
    connection.execute("SET allowed_directories = ?", [[str(place) for place in (folder, *others)]])
    connection.execute("SET enable_external_access = false")
    connection.execute("SET lock_configuration = true")
