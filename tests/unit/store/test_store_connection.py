"""Connections that see uploads: the extension of the package, its signature checked, and every door shut."""

import duckdb
import pytest

from pipeline.intake import connection, lock, spatial_connection


def test_the_signature_is_checked_before_any_connection_goes_without(monkeypatch):
    """The first connection of a process refuses an extension that nobody signed."""
    asked = []
    plain = duckdb.connect

    def connect(*args, **kwargs):
        asked.append(kwargs.get("config", {}).get("allow_unsigned_extensions", "false"))
        return plain(*args, **kwargs)

    monkeypatch.setattr(duckdb, "connect", connect)
    connection.check_signature.cache_clear()
    spatial_connection().close()
    spatial_connection().close()
    assert asked == ["false", "true", "true"]


@pytest.mark.parametrize(
    "statement",
    [
        "LOAD '/tmp/other.duckdb_extension'",
        "INSTALL httpfs",
        "SELECT * FROM read_csv('/etc/passwd')",
        "COPY (SELECT 1) TO '/tmp/out.csv'",
        "ATTACH '/tmp/other.duckdb'",
        "SET enable_external_access = true",
    ],
)
def test_a_locked_connection_opens_no_door(tmp_path, statement):
    """Neither another extension nor a file outside the store, and nobody unlocks it."""
    with spatial_connection() as locked:
        lock(locked, tmp_path)
        with pytest.raises(duckdb.Error):
            locked.execute(statement)
