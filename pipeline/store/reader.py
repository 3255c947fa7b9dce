"""Reading a version: a connection with every table of the contract and of the results as a view."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from duckdb import DuckDBPyConnection

from pipeline.config import Settings
from pipeline.intake import spatial_connection
from pipeline.store import schema
from pipeline.store.manifest import Manifest
from pipeline.store.parts import source
from pipeline.tables import TABLES, Table

LEDGER_VIEWS = ("loads", "sources", "site_numbers", "meter_slices", "dirty", "kept_faults")


@dataclass(frozen=True)
class Reader:
    """A version of the store, held for as long as its reader needs it."""

    connection: DuckDBPyConnection
    manifest: Manifest
    folder: Path

    @property
    def settings(self) -> Settings:
        """The programme's settings of this version."""
        return self.manifest.settings

    def rows(self, query: str, parameters: Sequence[object] = ()) -> list[dict[str, Any]]:
        """Return the rows of a query, each by its columns' names."""
        result = self.connection.execute(query, parameters)
        names = [column[0] for column in result.description]
        return [dict(zip(names, row, strict=True)) for row in result.fetchall()]


def open_reader(
    folder: Path, manifest: Manifest, *, slice_no: int | None = None, sites: Sequence[str] = ()
) -> Reader:
    """Return a reader of a version.

    Parameters
    ----------
    slice_no : int, optional
        Read only the parts of this slice.
    sites : sequence of str
        With a slice: show only these sites' rows of tables that are by site.
    """
    connection = spatial_connection()
    literal = str(folder / manifest.base).replace("'", "''")
    connection.execute(f"ATTACH '{literal}' AS store (READ_ONLY)")
    if slice_no is not None:
        connection.execute("CREATE TABLE sites_here AS SELECT unnest(?::VARCHAR[]) AS site_id", [list(sites)])
    for name in LEDGER_VIEWS:
        connection.execute(f"CREATE VIEW {name} AS SELECT * FROM store.{name}")
    if manifest.is_of_another_edition:
        connection.execute("CREATE OR REPLACE VIEW dirty AS SELECT site_id FROM store.sites")
    for table in sorted(TABLES.values(), key=lambda t: t.name == "meter_readings"):
        _views(connection, folder, manifest, table, slice_no)
    # places of every site, in a slice too: a station without an elevation takes the nearest site's
    connection.execute(
        "CREATE VIEW site_places AS SELECT site_id, latitude, longitude, elevation_m FROM store.sites"
    )
    for name in {part.table for part in manifest.results_in_force}:
        _result_view(connection, folder, manifest, name)
    return Reader(connection, manifest, folder)


def _views(
    connection: DuckDBPyConnection, folder: Path, manifest: Manifest, table: Table, slice_no: int | None
) -> None:
    for name, ending in ((table.name, ""), (f"{table.name}_past", ", _until_load INTEGER")):
        if not table.parted:
            rows = f'store."{name}"'
        else:
            rows = _parted(connection, folder, manifest, name, schema.definition(table) + ending, slice_no)
        extra, join = _derived(table, manifest.settings)
        here = _here(table, slice_no)
        connection.execute(f'CREATE VIEW "{name}" AS SELECT t.*{extra} FROM {rows} t {join} {here}')


def _derived(table: Table, settings: Settings) -> tuple[str, str]:
    """Columns that every reader needs: a site's clock, a reading's site."""
    if table.name == "sites":
        zone = settings.timezone.replace("'", "''")
        return f", coalesce(t.timezone, '{zone}') AS zone", ""
    if table.name == "meter_readings":
        return ", m.site_id", "LEFT JOIN meters m ON m.meter_id = t.meter_id"
    return "", ""


def _here(table: Table, slice_no: int | None) -> str:
    """The condition that keeps a slice's rows: tables of everybody are kept whole."""
    if slice_no is None:
        return ""
    if table.name == "meter_readings":
        return "WHERE m.site_id IN (SELECT site_id FROM sites_here)"
    if "site_id" not in table.by_name or table.name in ("site_aliases", "agreement_sites"):
        return ""
    return "WHERE t.site_id IN (SELECT site_id FROM sites_here)"


def _parted(
    connection: DuckDBPyConnection,
    folder: Path,
    manifest: Manifest,
    name: str,
    definition: str,
    slice_no: int | None,
) -> str:
    parts = manifest.of(name)
    if slice_no is not None:
        wanted = _slices_needed(connection, name, slice_no)
        parts = tuple(p for p in parts if p.slice_no in wanted)
    if parts:
        return source(folder, parts)
    empty = f"_empty_{name}"
    connection.execute(f'CREATE TABLE "{empty}" ({definition})')
    return f'"{empty}"'


def _slices_needed(connection: DuckDBPyConnection, name: str, slice_no: int) -> set[int]:
    """A meter that moved to another site keeps its readings in its first site's slice."""
    if not name.startswith("meter_readings"):
        return {slice_no}
    found = connection.execute("""
        SELECT DISTINCT k.slice_no FROM store.meter_slices k JOIN store.meters m USING (meter_id)
        WHERE m.site_id IN (SELECT site_id FROM sites_here)""").fetchall()
    return {slice_no, *(row[0] for row in found)}


def _result_view(connection: DuckDBPyConnection, folder: Path, manifest: Manifest, name: str) -> None:
    parts = [p for p in manifest.results if p.table == name]
    connection.execute(f'CREATE VIEW "{name}" AS SELECT * FROM {source(folder, parts)}')
