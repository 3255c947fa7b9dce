"""Computed results as parts: one for each table and slice of sites."""

from collections.abc import Mapping, Sequence

import pyarrow as pa

from pipeline.store.manifest import Part
from pipeline.store.parts import source, write_part
from pipeline.store.session import Session


def put(session: Session, slice_no: int, sites: Sequence[str], tables: Mapping[str, pa.Table]) -> None:
    """Put recomputed sites' rows in the place of their old ones; other sites of the slice keep theirs.

    Parameters
    ----------
    session : Session
        The version being written.
    sites : sequence of str
        The sites that were computed.
    tables : mapping
        Rows of these sites only, by the result table's name; each has a site_id.
    """
    connection = session.connection
    for name, rows in tables.items():
        old = [p for p in session.results if p.table == name and p.slice_no == slice_no]
        connection.register("_computed", rows)
        query = "SELECT * FROM _computed"
        if old:
            others = f"SELECT * FROM {source(session.folder, old)} WHERE NOT list_contains({_literal(sites)}, site_id)"
            query = f"SELECT * FROM ({others} UNION ALL BY NAME {query}) ORDER BY site_id"
        part = write_part(connection, session.folder, query, Part(name, "", slice_no, "", 0))
        connection.unregister("_computed")
        session.results = [p for p in session.results if p not in old] + ([part] if part else [])
    connection.execute("DELETE FROM dirty WHERE list_contains(?::VARCHAR[], site_id)", [list(sites)])


def _literal(sites: Sequence[str]) -> str:
    return "[" + ", ".join("'" + site.replace("'", "''") + "'" for site in sites) + "]::VARCHAR[]"
