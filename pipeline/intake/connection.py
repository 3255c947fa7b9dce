"""Connections that see what strangers wrote: spatial first, then every door shut."""

from pathlib import Path

import duckdb
from duckdb_extensions import import_extension

MEMORY_LIMIT = "2GB"


def spatial_connection(database: str = ":memory:", *, read_only: bool = False) -> duckdb.DuckDBPyConnection:
    """Return a connection with the spatial extension, installed from the package and never fetched."""
    connection = duckdb.connect(
        database,
        read_only=read_only,
        config={"autoinstall_known_extensions": "false", "autoload_known_extensions": "false"},
    )
    try:
        connection.load_extension("spatial")
    except (duckdb.IOException, duckdb.HTTPException):
        import_extension("spatial")
        connection.load_extension("spatial")
    connection.execute("SET TimeZone = 'UTC'")
    return connection


def lock(connection: duckdb.DuckDBPyConnection, folder: Path) -> None:
    """Shut a connection off from all files but those below `folder`; can't be taken back."""
    scratch = folder / "scratch"
    scratch.mkdir(parents=True, exist_ok=True)
    connection.execute("SET memory_limit = ?", [MEMORY_LIMIT])
    connection.execute("SET temp_directory = ?", [str(scratch)])
    connection.execute("SET allowed_directories = ?", [[str(folder)]])
    connection.execute("SET enable_external_access = false")
    connection.execute("SET lock_configuration = true")
