"""What pages ask: each answer within the viewer's scope, kept by the store's version."""

import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import streamlit as st

from dashboard.access import Viewer
from pipeline.config import Settings
from pipeline.errors import StoreError, SunrillError
from pipeline.measures import defended, figures, run
from pipeline.measures.results import create_empty_missing
from pipeline.store import FATES, LoadReport, Progress, Reader, ReadOptions, RowFault, Store, status, undo
from pipeline.visits import ranking
from pipeline.visits.calls_first import calls_first
from pipeline.visits.open_jobs import open_jobs
from pipeline.words import say

__all__ = [
    "FATES",
    "LoadReport",
    "ReadOptions",
    "RowFault",
]  # pages name these and know nothing else of the store

Rows = list[dict[str, Any]]
Watch = Callable[[int, int], None]

IN_SCOPE = "($sites IS NULL OR list_contains($sites, site_id))"
DISTRICTS_IN_SCOPE = f"($sites IS NULL OR d.district IN (SELECT district FROM sites WHERE {IN_SCOPE}))"


def store() -> Store:
    """Return the store that this dashboard was started on."""
    return Store(Path(os.environ.get("SUNRILL_STORE", "store")))


def version() -> int:
    """Return the number of the version in force; 0 where nothing was ever loaded.

    It is the first parameter of every question below: all that a page shows is of one version, and
    an answer is kept for its version. (A parameter whose name begins with `_` would not count there.)

    Raises
    ------
    StoreError
        Where a newer Sunrill wrote the store, or its folder has gone.
    StoreDamaged
        Where its ledger is there and no version.
    """
    where = store()
    found = where.manifest()
    if found is not None:
        _shown().add(where.path)
        return found.number
    if where.ledger.exists():
        raise where.nothing_here()
    if where.path in _shown():
        raise StoreError(
            say("dashboard.store_gone"),
            where=str(where.path),
            why=say("dashboard.store_gone_why"),
            mend=say("dashboard.store_gone_mend"),
        )
    return 0


@st.cache_resource(show_spinner=False)
def _shown() -> set[Path]:
    """The stores that this server has shown: one that is gone meanwhile is no new one."""
    return set()


@contextmanager
def reading(version: int) -> Iterator[Reader]:
    """Open a version for questions that lay out tables of their own."""
    with store().read(number=version) as reader:
        yield reader


def within(viewer: Viewer) -> list[str] | None:
    """Return the sites that a viewer may see; None: all."""
    return None if viewer.sites is None else list(viewer.sites)


def ask(statement: str, version: int, viewer: Viewer, **more: object) -> Rows:
    """Return the rows of a statement that holds itself to `$sites`, as `IN_SCOPE` does."""
    held = _held(version)
    cursor = held.reader.connection.cursor()
    try:
        with store().told_of_damage():
            found = cursor.execute(statement, {"sites": within(viewer), **more})
            return list(found.to_arrow_table().to_pylist())
    except (duckdb.InternalException, duckdb.FatalException):
        _held.clear()  # the database refuses every later question: whoever asks next opens it anew
        raise
    finally:
        cursor.close()


class _Held:
    """A version that is held for longer than a block: until nobody has this object any more.

    A question that is still being asked keeps it, be it out of the cache or not.
    """

    def __init__(self, version: int) -> None:
        self._holding = store().read(number=version)
        self.reader = self._holding.__enter__()
        # such as of the need, where no crop is on record
        create_empty_missing(self.reader.connection, temporary=False)


@st.cache_resource(show_spinner=False, max_entries=2)
def _held(version: int) -> _Held:
    """A version that small questions share: opening one takes longer than answering them."""
    return _Held(version)


@st.cache_data(show_spinner=False, max_entries=20)
def settings(version: int) -> Settings:
    """Return the programme's settings."""
    found = store().manifest(version)
    return Settings() if found is None else found.settings


@st.cache_data(show_spinner=False, max_entries=20)
def known_days(version: int, viewer: Viewer) -> tuple[date, date] | None:
    """Return the first and the last day of which figures are known."""
    row = ask(f"SELECT min(day) AS first, max(day) AS last FROM site_days WHERE {IN_SCOPE}", version, viewer)[
        0
    ]
    return None if row["first"] is None else (row["first"], row["last"])


@st.cache_data(show_spinner=False, max_entries=20)
def waiting(version: int, viewer: Viewer) -> int:
    """Return how many sites have rows that their figures don't show yet."""
    return int(ask(f"SELECT count(*) AS n FROM dirty WHERE {IN_SCOPE}", version, viewer)[0]["n"])


@st.cache_data(show_spinner=False, max_entries=20)
def waiting_names(version: int, viewer: Viewer, most: int) -> list[str]:
    """Return what the sites are called that `waiting` counts, no more than so many."""
    found = ask(
        f"SELECT coalesce(name, site_id) AS name FROM dirty JOIN sites USING (site_id) WHERE {IN_SCOPE} ORDER BY name LIMIT $most",
        version,
        viewer,
        most=most,
    )
    return [row["name"] for row in found]


@st.cache_data(show_spinner=False, max_entries=20)
def sites(version: int, viewer: Viewer) -> Rows:
    """Return the sites: id, name, district and place."""
    return ask(
        f"SELECT site_id, name, district, latitude, longitude FROM sites WHERE {IN_SCOPE} ORDER BY name, site_id",
        version,
        viewer,
    )


@st.cache_data(show_spinner=False, max_entries=20)
def indicators(version: int, viewer: Viewer, from_day: date, to_day: date) -> Rows:
    """Return every figure of each site in a period."""
    with reading(version) as reader:
        return list(figures.indicators(reader, from_day, to_day, sites=within(viewer)).to_pylist())


@st.cache_data(show_spinner=False, max_entries=20)
def together(
    version: int,
    viewer: Viewer,
    from_day: date,
    to_day: date,
    sites: tuple[str, ...],
    agreement_id: str | None,
) -> dict[str, Any] | None:
    """Return every figure of some sites as one; under an agreement by its shares. None: it has none of them."""
    held = [site for site in sites if viewer.sites is None or site in viewer.sites]
    group: figures.Group = "agreement" if agreement_id else "programme"
    with reading(version) as reader:
        rows = figures.indicators(reader, from_day, to_day, group=group, sites=held).to_pylist()
    wanted = [row for row in rows if agreement_id in (None, row.get("agreement_id"))]
    return wanted[0] if wanted else None


@st.cache_data(show_spinner=False, max_entries=20)
def by_district(version: int, viewer: Viewer, from_day: date, to_day: date) -> Rows:
    """Return every figure of each district, over the sites in scope."""
    with reading(version) as reader:
        found = figures.indicators(reader, from_day, to_day, group="district", sites=within(viewer))
        return list(found.to_pylist())


@st.cache_data(show_spinner=False, max_entries=20)
def agreements(version: int, viewer: Viewer) -> Rows:
    """Return the funding agreements, each with the sites that it pays for."""
    return ask(
        f"""SELECT agreement_id, funder, title, list(site_id ORDER BY site_id) AS sites
            FROM agreements JOIN agreement_sites USING (agreement_id) WHERE {IN_SCOPE}
            GROUP BY ALL ORDER BY agreement_id""",
        version,
        viewer,
    )


@st.cache_data(show_spinner=False, max_entries=20)
def promises(version: int, viewer: Viewer, agreement_id: str, from_day: date, to_day: date) -> Rows:
    """Return an agreement's targets for who sees every site: each with its figure in a period and what it rests on.

    `ground` says how far the figure can be defended; `lacks` what would help where it can't yet.
    """
    if viewer.sites is not None:
        return []
    with reading(version) as reader:
        rows = figures.indicators(reader, from_day, to_day, group="agreement").to_pylist()
        counts = figures.target_figures(reader, agreement_id, from_day, to_day).to_pylist()[0]
        targets = reader.rows(
            "SELECT indicator, baseline, target, due_on FROM targets WHERE agreement_id = ? ORDER BY due_on, indicator",
            [agreement_id],
        )
    found = counts | next((row for row in rows if row["agreement_id"] == agreement_id), {})
    paid: list[str] = next(
        (a["sites"] for a in agreements(version, viewer) if a["agreement_id"] == agreement_id), []
    )
    parts = [row for row in indicators(version, viewer, from_day, to_day) if row["site_id"] in paid]
    return [_grounded(target, found, parts, settings(version)) for target in targets]


def _grounded(target: dict[str, Any], found: dict[str, Any], parts: Rows, of: Settings) -> dict[str, Any]:
    """A target with its figure, the bounds of uptime, how far it can be defended, and what would help."""
    name = target["indicator"]
    ground = defended.ground(name, target["target"], found, of)
    return target | {
        "now": found.get(name),
        "low": found.get("uptime_low"),
        "high": found.get("uptime_high"),
        "ground": ground,
        "lacks": {} if ground.verdict in defended.DEFENDED else defended.lacking(name, parts, of),
    }


@st.cache_data(show_spinner=False, max_entries=20)
def on_day(version: int, viewer: Viewer, day: date) -> dict[str, Rows]:
    """Return a day's ranking with what the rules found, its open jobs and whom to telephone."""
    sites = within(viewer)
    with reading(version) as reader:
        ranked = ranking.judged(reader, day, sites=sites)
        return {
            "ranking": ranked,
            "jobs": open_jobs(reader, day, sites),
            "calls": calls_first(reader, ranked, day),
        }


@st.cache_data(show_spinner=False, max_entries=20)
def visits(version: int, viewer: Viewer, as_of: date) -> Rows:
    """Return the ranking of visits: that of the day's page too, for ranking takes seconds."""
    ranked = on_day(version, viewer, as_of)["ranking"]
    return [{name: row[name] for name in ranking.SCHEMA.names} for row in ranked]


@st.cache_data(show_spinner=False, max_entries=20)
def base_map(version: int, viewer: Viewer) -> dict[str, Rows]:
    """Return the outlines of districts, the roads of each class as one and the bases as GeoJSON geometries.

    A viewer of some sites gets the districts of these, and what lies in them.
    """
    near = f"($sites IS NULL OR EXISTS (FROM districts d WHERE {DISTRICTS_IN_SCOPE} AND ST_Intersects(d.geometry, {{shape}})))"
    roads = "ST_CollectionExtract(ST_Collect(list(r.geometry ORDER BY r.geometry)), 2)"
    queries = {
        "districts": f"SELECT d.district AS name, {_to_a_metre('d.geometry')} AS shape FROM districts d WHERE {DISTRICTS_IN_SCOPE} ORDER BY d.district",
        "roads": f"SELECT r.class AS name, {_to_a_metre(roads)} AS shape FROM roads r WHERE {near.format(shape='r.geometry')} GROUP BY ALL ORDER BY name",
        "bases": f"SELECT b.name, ST_AsGeoJSON(b.geom) AS shape FROM bases b WHERE {near.format(shape='b.geom')} ORDER BY base_id",
    }
    return {name: ask(query, version, viewer) for name, query in queries.items()}


def _to_a_metre(shape: str) -> str:
    """SQL of a shape as GeoJSON with five decimals: fifteen would weigh thrice as much on a slow link."""
    return rf"regexp_replace(ST_AsGeoJSON({shape}), '(\.\d{{5}})\d+', '\1', 'g')"


@st.cache_data(show_spinner=False, max_entries=20)
def hazards(version: int, viewer: Viewer, site_id: str) -> Rows:
    """Return what can hurt somebody at a site."""
    return ask(
        f"SELECT hazard, note FROM hazards WHERE site_id = $site_id AND {IN_SCOPE} ORDER BY hazard",
        version,
        viewer,
        site_id=site_id,
    )


@st.cache_data(show_spinner=False, max_entries=5)
def waits(version: int, viewer: Viewer) -> Rows:
    """Return what held rows wait for, the most wanted first; of any site, so not for who sees some only."""
    if not viewer.loads:
        return []
    with reading(version) as reader:
        return status.waits(reader)


def load(
    viewer: Viewer,
    files: list[tuple[str, bytes]],
    options: ReadOptions,
    *,
    restore: bool = False,
    met: int | None = None,
    progress: Progress = lambda _step: None,
) -> LoadReport:
    """Take uploaded files in, by name and content; `compute` then brings the figures that they touch.

    Parameters
    ----------
    restore
        Take rows too that equal an earlier version than the one in force.
    met
        The version whose rows a preview met: nothing is taken where others have come since.

    Raises
    ------
    StoreChanged
        Where the rows are no longer those of `met`.
    SunrillError
        Where the viewer doesn't see every site: a file may speak of any.
    """
    must_load(viewer)
    with laid(files) as paths:
        return store().load(paths, options, restore=restore, met=met, progress=progress)


@contextmanager
def laid(files: list[tuple[str, bytes]]) -> Iterator[list[Path]]:
    """Lay uploads as files for as long as the block lasts."""
    with tempfile.TemporaryDirectory() as folder:
        yield [_laid(Path(folder) / str(n), name, content) for n, (name, content) in enumerate(files)]


def _laid(folder: Path, name: str, content: bytes) -> Path:
    """The upload under its own name; a name that leads elsewhere loses its folders."""
    folder.mkdir()
    path = folder / (Path(name.replace("\\", "/")).name or "upload")
    path.write_bytes(content)
    return path


def take_back(viewer: Viewer, sha: str, why: str, watch: Watch) -> int:
    """Take a file's loads back, as if it had never come; return how many they were.

    Raises
    ------
    SunrillError
        Where the viewer doesn't see every site.
    """
    must_load(viewer)
    return undo(store(), sha, why, watch=watch)


def compute(viewer: Viewer, watch: Watch = lambda _done, _of: None) -> int:
    """Compute the figures of the sites that a load touched; return how many they were.

    Raises
    ------
    SunrillError
        Where the viewer doesn't see every site.
    """
    must_load(viewer)
    return run.refresh(store(), watch)


def must_load(viewer: Viewer) -> None:
    if not viewer.loads:
        raise SunrillError(say("dashboard.may_not_load"), mend=say("dashboard.may_not_load_mend"))
