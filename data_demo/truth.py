"""What truly happened, kept beside the files; written chunk by chunk, never held whole."""

import csv
from collections.abc import Iterable, Iterator
from contextlib import ExitStack
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np
import pyarrow as pa
from pyarrow import parquet

from data_demo.chunks import Chunk
from data_demo.climate import Days
from data_demo.paper import Row
from data_demo.simulate import KINDS, Outcome
from data_demo.sites import Floats, Sites

TRUE_DAYS = pa.schema(
    [("site_id", pa.string()), ("day", pa.date32())]
    + [(name, pa.float64()) for name in ("water_m3", "energy_kwh", "up_h", "down_h", "need_m3")]
    + [("cause", pa.string())]
)
COLUMNS = {
    "instruments": ("site_id", "water", "energy", "telemetry", "block_meters"),
    "causes": ("site_id", "cause", "since_day", "until_day"),
    "mistakes": ("delivery", "file", "table", "kind", "key"),
}


class Truth:
    """The folder `truth`, open for writing."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._open = ExitStack()
        self._days = self._open.enter_context(parquet.ParquetWriter(folder / "site_days.parquet", TRUE_DAYS))
        self._lists = {name: self._list(folder / f"{name}.csv", names) for name, names in COLUMNS.items()}

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._open.close()

    def _list(self, path: Path, columns: tuple[str, ...]) -> "csv.DictWriter[str]":
        lines = self._open.enter_context(path.open("w", newline="", encoding="utf-8"))
        writer = csv.DictWriter(lines, columns)
        writer.writeheader()
        return writer

    def add(self, chunk: Chunk) -> None:
        """Write what happened to a chunk's sites."""
        self._days.write_table(true_days(chunk.sites, chunk.weather.day, chunk.need_m3, chunk.outcome))
        self._lists["instruments"].writerows(_instruments(chunk))
        self._lists["causes"].writerows(_causes(chunk))

    def add_mistakes(self, rows: Iterable[Row]) -> None:
        """Write which mistakes were put into the files."""
        self._lists["mistakes"].writerows(rows)


def true_days(sites: Sites, days: Days, need_m3: Floats, outcome: Outcome) -> pa.Table:
    """Return a row a site and day, as in `site_days.parquet`."""
    count = outcome.water_m3.shape[0]
    names = np.array([*KINDS, ""])
    return pa.table(
        {
            "site_id": np.repeat([sites.site_id(i) for i in range(count)], len(days)),
            "day": pa.array(np.tile(days, count)),
            "water_m3": outcome.water_m3.ravel(),
            "energy_kwh": outcome.energy_kwh.ravel(),
            "up_h": outcome.up_h.ravel(),
            "down_h": outcome.down_h.ravel(),
            "need_m3": need_m3.ravel(),
            "cause": names[outcome.cause.ravel()],
        },
        schema=TRUE_DAYS,
    )


def _instruments(chunk: Chunk) -> Iterator[Row]:
    s = chunk.sites
    for i in range(s.count):
        yield {
            "site_id": s.site_id(i),
            "water": "none" if not s.metered[i] else "daily_remote" if s.remote[i] else "weekly_manual",
            "energy": "yes" if s.energy_metered[i] else "no",
            "telemetry": "yes" if s.telemetry[i] else "no",
            "block_meters": "yes" if s.block_metered[i] else "no",
        }


def _causes(chunk: Chunk) -> Iterator[Row]:
    """Each stretch of a fault at a site."""
    active = chunk.outcome.severity > 0
    edges = np.diff(np.pad(active, ((0, 0), (1, 1), (0, 0))).astype(np.int8), axis=1)
    for site in range(chunk.sites.count):
        for kind, name in enumerate(KINDS):
            begins = np.flatnonzero(edges[site, :, kind] == 1)
            ends = np.flatnonzero(edges[site, :, kind] == -1)
            for a, b in zip(begins, ends, strict=True):
                yield {
                    "site_id": chunk.sites.site_id(site),
                    "cause": name,
                    "since_day": chunk.day(int(a)),
                    "until_day": chunk.day(int(b) - 1) if b < chunk.days else "",
                }
