"""What pages ask: each answer within the viewer's scope, kept by the store's version."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import streamlit as st

from dashboard.access import Viewer
from pipeline.measures import figures, run
from pipeline.measures.indicators import INDICATORS
from pipeline.store import LoadReport, Reader, ReadOptions, Store, status
from pipeline.visits import ranking

__all__ = ["LoadReport", "ReadOptions"]  # pages name these types and know nothing else of the store

Rows = list[dict[str, Any]]


def store() -> Store:
    """Return the store that this dashboard was started on."""
    return Store(Path(os.environ.get("SUNRILL_STORE", "store")))


def version() -> int:
    """Return the number of the version in force; 0 where nothing was ever loaded."""
    found = store().manifest()
    return 0 if found is None else found.number


@contextmanager
def _reader() -> Iterator[Reader]:
    with store().read() as reader:
        yield reader


def _within(viewer: Viewer) -> list[str] | None:
    return None if viewer.sites is None else list(viewer.sites)


def _scope(viewer: Viewer) -> tuple[str, dict[str, Any]]:
    return "($sites IS NULL OR list_contains($sites, site_id))", {"sites": _within(viewer)}


@st.cache_data(show_spinner=False, max_entries=20)
def known_days(_version: int) -> tuple[date, date] | None:
    """Return the first and the last day of which figures are known."""
    with _reader() as reader:
        published = reader.connection.execute(
            "SELECT 1 FROM information_schema.tables WHERE table_name = 'site_days'"
        ).fetchone()
        row = (
            reader.connection.execute("SELECT min(day), max(day) FROM site_days").fetchone()
            if published
            else None
        )
    return None if row is None or row[0] is None else (row[0], row[1])


@st.cache_data(show_spinner=False, max_entries=20)
def sites(_version: int, viewer: Viewer) -> Rows:
    """Return the sites: id, name, district and place."""
    condition, parameters = _scope(viewer)
    with _reader() as reader:
        found = reader.connection.execute(
            f"SELECT site_id, name, district, latitude, longitude FROM sites WHERE {condition} ORDER BY name, site_id",  # noqa: S608 - our own condition
            parameters,
        )
        return list(found.to_arrow_table().to_pylist())


@st.cache_data(show_spinner=False, max_entries=20)
def indicators(_version: int, viewer: Viewer, from_day: date, to_day: date) -> Rows:
    """Return every figure of each site in a period."""
    with _reader() as reader:
        return list(figures.indicators(reader, from_day, to_day, sites=_within(viewer)).to_pylist())


@st.cache_data(show_spinner=False, max_entries=20)
def visits(_version: int, viewer: Viewer, as_of: date) -> Rows:
    """Return the ranking of visits."""
    with _reader() as reader:
        return list(ranking.visits(reader, as_of, sites=_within(viewer)).to_pylist())


@st.cache_data(show_spinner=False, max_entries=5)
def base_map(_version: int) -> dict[str, Rows]:
    """Return the outlines of districts, the roads and the bases as GeoJSON geometries."""
    queries = {
        "districts": "SELECT district AS name, ST_AsGeoJSON(geometry) AS shape FROM districts ORDER BY district",
        "roads": "SELECT class AS name, ST_AsGeoJSON(geometry) AS shape FROM roads",
        "bases": "SELECT name, ST_AsGeoJSON(geom) AS shape FROM bases ORDER BY base_id",
    }
    with _reader() as reader:
        return {
            name: list(reader.connection.execute(query).to_arrow_table().to_pylist())
            for name, query in queries.items()
        }


@st.cache_data(show_spinner=False, max_entries=20)
def hazards(_version: int, viewer: Viewer, site_id: str) -> Rows:
    """Return what can hurt somebody at a site."""
    if viewer.sites is not None and site_id not in viewer.sites:
        return []
    with _reader() as reader:
        found = reader.connection.execute(
            "SELECT hazard, note FROM hazards WHERE site_id = ? ORDER BY hazard", [site_id]
        )
        return list(found.to_arrow_table().to_pylist())


@st.cache_data(show_spinner=False, max_entries=5)
def loaded_files(_version: int) -> Rows:
    """Return the files that were loaded, the newest first."""
    with _reader() as reader:
        return status.files(reader)[::-1]


def load(name: str, content: bytes, options: ReadOptions) -> LoadReport:
    """Take an uploaded file in and compute what it touches."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / (Path(name.replace("\\", "/")).name or "upload")
        path.write_bytes(content)
        report = store().load([path], options)
    run.refresh(store())
    return report


def figure_list() -> list[tuple[str, str, str, int]]:
    """Return name, unit, definition and decimals of every figure, in their order."""
    return [(i.name, i.unit, i.definition, i.decimals) for i in INDICATORS]
