"""What a version of the store is made of, published under a number of its own.

A version is `versions/<number>.json`: the DuckDB file with the small tables, the parts of the large
ones and of the results, the settings, and the ledger's entry of what made it. The highest number
is the version in force; older ones stay until no reader can hold them.
"""

import json
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from pipeline.config import Settings
from pipeline.errors import StoreDamaged, StoreError
from pipeline.store.files import as_json, write_new
from pipeline.words import say

FORMAT = 1  # of the store; a newer one is not touched
# of the measures: one more with every change of a result's columns or of how a figure is made. Results of
# another are as if they had not been computed
EDITION = 2


@dataclass(frozen=True)
class Part:
    """An immutable Parquet file: rows of one table, month and slice of sites."""

    table: str
    month: str  # of the local day; empty for results
    slice_no: int
    file: str
    rows: int
    first: str = ""  # earliest and latest moment in it, ISO
    last: str = ""


@dataclass(frozen=True)
class Manifest:
    """One version of the store."""

    number: int
    base: str
    parts: tuple[Part, ...] = ()
    results: tuple[Part, ...] = ()
    settings: Settings = field(default_factory=Settings)
    entry: dict[str, Any] = field(default_factory=dict)
    format: int = FORMAT
    edition: int = EDITION

    def of(self, table: str) -> tuple[Part, ...]:
        """Return the parts of one table."""
        return tuple(p for p in self.parts if p.table == table)

    @property
    def is_of_another_edition(self) -> bool:
        """Whether another edition of the measures made the results: every site waits to be computed anew."""
        return self.edition != EDITION

    @property
    def results_in_force(self) -> tuple[Part, ...]:
        """The parts of the results; none of another edition."""
        return () if self.is_of_another_edition else self.results

    def files(self) -> set[str]:
        """Return every file that the version needs, relative to the store."""
        return {self.base, *(p.file for p in self.parts), *(p.file for p in self.results)}


def _numbered(folder: Path) -> list[Path]:
    found = [p for p in folder.glob("*.json") if p.stem.isdigit()]
    return sorted(found, key=lambda p: -int(p.stem))


def newest_number(folder: Path) -> int:
    """Return the highest number that a version ever had here; 0 without any."""
    return max((int(p.stem) for p in _numbered(folder)), default=0)


def current(folder: Path) -> Manifest | None:
    """Return the version in force; None in a store without any.

    Raises
    ------
    StoreDamaged
        Where its description can't be read.
    StoreError
        Where a newer Sunrill wrote it.
    """
    newest = next(iter(_numbered(folder)), None)
    return None if newest is None else read(newest)


def numbered(folder: Path, number: int) -> Manifest:
    """Return one version.

    Raises
    ------
    StoreError
        Where it was swept: newer ones have come.
    """
    path = folder / f"{number}.json"
    if not path.exists():
        raise StoreError(say("store.version_gone"), where=str(path), mend=say("store.version_gone_mend"))
    return read(path)


def recent(folder: Path, count: int) -> list[Manifest]:
    """Return the newest versions that can be read, the newest first."""
    found = []
    for path in _numbered(folder)[:count]:
        try:
            found.append(read(path))
        except StoreDamaged:
            continue  # `rebuild` has made a newer one in its place
    return found


def read(path: Path) -> Manifest:
    """Return the version that a file describes.

    Raises
    ------
    StoreDamaged
        Where it can't be read.
    StoreError
        Where a newer Sunrill wrote it.
    """
    try:
        record = json.loads(path.read_bytes())
        written_by = int(record["format"])
    except (ValueError, TypeError, KeyError) as error:
        raise _damaged(path, error) from error
    if written_by > FORMAT:
        raise StoreError(
            say("store.newer_format"),
            where=str(path),
            why=say("store.newer_format_why"),
            mend=say("store.newer_format_mend"),
        )
    try:
        return _manifest(record)
    except (TypeError, KeyError) as error:
        raise _damaged(path, error) from error


def _damaged(path: Path, error: Exception) -> StoreDamaged:
    return StoreDamaged(
        say("store.version_damaged"), where=str(path), why=str(error), mend=say("store.rebuild_mend")
    )


def _manifest(record: dict[str, Any]) -> Manifest:
    known = Settings().as_parameters().keys()
    return Manifest(
        record["number"],
        record["base"],
        tuple(Part(**p) for p in record["parts"]),
        tuple(Part(**p) for p in record["results"]),
        Settings(**{k: v for k, v in record["settings"].items() if k in known}),
        record["entry"],
        record["format"],
        record.get("edition", 1),
    )


def publish(folder: Path, manifest: Manifest) -> None:
    """Make a version the one in force."""
    write_new(folder / f"{manifest.number}.json", as_json(asdict(manifest)))
