"""What the page of data asks: the preview of a load, what came, and what is handed out as a file."""

import tempfile
import zipfile
from io import BytesIO
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import streamlit as st

from dashboard import data
from dashboard.access import Viewer
from pipeline.intake.templates import write_template, write_templates
from pipeline.store import (
    KEPT_FAULTS,
    LoadReport,
    Progress,
    ReadOptions,
    Step,
    came,
    is_sound,
    kept_faults,
    status,
)

__all__ = ["KEPT_FAULTS", "LoadReport", "ReadOptions", "Step"]

Rows = list[dict[str, Any]]
SHA_LETTERS = 12  # that tell a file in an address


def preview(
    viewer: Viewer, files: list[tuple[str, bytes]], options: ReadOptions, progress: Progress
) -> LoadReport:
    """Return what a load of uploads would do; nothing of it is kept.

    Raises
    ------
    SunrillError
        Where the viewer doesn't see every site: a file may speak of any.
    """
    data.must_load(viewer)
    with data.laid(files) as paths:
        return data.store().preview(paths, options, progress=progress)


def has_changed(viewer: Viewer, met: int) -> bool:
    """Return whether rows or settings have changed since a preview met them."""
    data.must_load(viewer)
    return data.store().rows_version() != met


@st.cache_data(show_spinner=False, max_entries=5)
def files(version: int, viewer: Viewer) -> Rows:
    """Return the files that came, the newest first, each with an id for the address and its local time.

    A file brings rows of many sites: who doesn't see every site sees none.
    """
    if not viewer.loads or not version:
        return []
    zone = ZoneInfo(data.settings(version).timezone)
    with data.reading(version) as reader:
        found = came(data.store(), reader)
    return [
        row | {
            "id": f"{row['number']}-{row['sha'][:SHA_LETTERS]}-{len(found) - n}",
            "came_at": f"{row['arrived_at'].astimezone(zone):%Y-%m-%d %H:%M}",
        }
        for n, row in enumerate(found)
    ]  # fmt: skip


@st.cache_data(show_spinner=False, max_entries=5)
def faults(version: int, viewer: Viewer, sha: str, file: str) -> Rows:
    """Return what is kept of a file's rejected rows and flaws, each with the rule and how to mend it."""
    if not viewer.loads:
        return []
    with data.reading(version) as reader:
        return list(LoadReport(faults=kept_faults(reader, sha, file)).reject_rows())


@st.cache_data(show_spinner=False, max_entries=5)
def freshness(version: int, viewer: Viewer) -> Rows:
    """Return for each district its sites and the newest day of readings, logs and surveys; of every site."""
    if not viewer.loads:
        return []
    with data.reading(version) as reader:
        return status.freshness(reader)


@st.cache_data(show_spinner=False, max_entries=20)
def is_kept(version: int, viewer: Viewer, sha: str) -> bool:
    """Return whether a file is in the archive with the bytes that came; a version keeps its answer."""
    return viewer.loads and version > 0 and is_sound(data.store().archive, sha)


def original(viewer: Viewer, sha: str) -> bytes:
    """Return a file as it came, from the archive.

    Raises
    ------
    SunrillError
        Where the viewer doesn't see every site.
    """
    data.must_load(viewer)
    return (data.store().archive / sha).read_bytes()


def template(table: str) -> bytes:
    """Return the empty sheet of a table as a workbook."""
    with tempfile.TemporaryDirectory() as folder:
        return write_template(table, Path(folder)).read_bytes()


def templates() -> bytes:
    """Return the empty sheets of all tables as a ZIP."""
    packed = BytesIO()
    with (
        tempfile.TemporaryDirectory() as folder,
        zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as bundle,
    ):
        for path in write_templates(Path(folder)):
            bundle.write(path, path.name)
    return packed.getvalue()
