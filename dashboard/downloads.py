"""What is seen, as files: written when it is asked for."""

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import streamlit as st

from pipeline.outputs import Places, write_table
from pipeline.words import say

Rows = list[dict[str, Any]]

KINDS = {
    "csv": "text/csv",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "gpkg": "application/geopackage+sqlite3",
}


def downloads(rows: Rows, name: str, places: Places | None = None) -> None:
    """Draw a button for each kind of file that the rows can be had as.

    Parameters
    ----------
    rows
        Records that have all the same keys.
    name
        Of the file, without its ending; the buttons' keys come from it.
    places
        Where the rows lie: then there is a GeoPackage too.
    """
    kinds = [kind for kind in KINDS if places or kind != "gpkg"]
    with st.container(horizontal=True, key=f"downloads.{name}"):
        for kind in kinds:
            st.download_button(
                say(f"dashboard.download_{kind}"),
                _written(rows, f"{name}.{kind}", places),
                f"{name}.{kind}",
                KINDS[kind],
                key=f"{name}.download.{kind}",
                on_click="ignore",
            )


def _written(rows: Rows, name: str, places: Places | None) -> Callable[[], bytes]:
    def write() -> bytes:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / name
            write_table(rows, path, places if path.suffix == ".gpkg" else None)
            return path.read_bytes()

    return write


def points(sites: Rows) -> Places:
    """Return where sites lie."""
    return Places(
        "site_id",
        {s["site_id"]: {"type": "Point", "coordinates": [s["longitude"], s["latitude"]]} for s in sites},
    )
