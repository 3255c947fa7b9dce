"""Small programmes through real files and a store, so that a published value meets what the field would send.

A table is text: a heading, then a row a line, cells apart by `|`; an empty cell is unknown. It is
written as a CSV file, loaded into a store of its own, and the measures run over it.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any

import pytest

from pipeline.agronomy.evapotranspiration import reference_evapotranspiration_mm
from pipeline.measures import run
from pipeline.measures.figures import indicators
from pipeline.store import LoadReport, Store, open_store

ARRIVED_AT = datetime(2026, 12, 31, 12, tzinfo=UTC)

# the day of each weather row is asked for at 0° N, 0° E, 0 m, with these; the sun's part is found
PLAIN_TMIN_C, PLAIN_TMAX_C, PLAIN_RH_PCT, PLAIN_WIND_MS = 16.0, 32.0, 50.0, 2.0


@dataclass(frozen=True)
class Stored:
    """A programme that was loaded from files."""

    store: Store
    report: LoadReport
    asked: dict[tuple[Any, ...], list[dict[str, Any]]] = field(default_factory=dict)

    def figures(self, from_day: str, to_day: str, **how: Any) -> list[dict[str, Any]]:
        """The indicators, a dict a line; asked for once, as they take a while."""
        question = (from_day, to_day, *sorted(how.items()))
        if question not in self.asked:
            first, last = date.fromisoformat(from_day), date.fromisoformat(to_day)
            with self.store.read() as reader:
                self.asked[question] = indicators(reader, first, last, **how).to_pylist()
        return self.asked[question]

    def site(self, site_id: str, from_day: str, to_day: str) -> dict[str, Any]:
        """The indicators of one site."""
        (line,) = [line for line in self.figures(from_day, to_day) if line["site_id"] == site_id]
        return line

    def months(self, site_id: str, from_day: str, to_day: str) -> list[dict[str, Any]]:
        """The indicators of one site, month by month."""
        lines = self.figures(from_day, to_day, by_month=True)
        return [line for line in lines if line["site_id"] == site_id]

    def programme(self, from_day: str, to_day: str, sites: tuple[str, ...] | None = None) -> dict[str, Any]:
        """The indicators of all sites together, or of some."""
        (line,) = self.figures(from_day, to_day, group="programme", sites=sites)
        return line

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        """What a query finds in the store."""
        with self.store.read() as reader:
            return reader.connection.execute(query).fetchall()


Load = Callable[..., Stored]


def csv_of(text: str) -> str:
    """A table that is written as text, as a CSV file."""
    lines = [line for line in text.strip().splitlines() if line.strip()]
    return "".join(",".join(cell.strip() for cell in line.split("|")) + "\n" for line in lines)


@pytest.fixture(scope="session")
def load(tmp_path_factory: pytest.TempPathFactory) -> Load:
    """Write the tables given as text to files, load them into a store and run the measures.

    It takes seconds: a file of tests lays all its sites into one programme.
    """

    def make(settings: Mapping[str, str] | None = None, **tables: str) -> Stored:
        tmp_path = tmp_path_factory.mktemp("programme")
        store = open_store(tmp_path / "store", create=True)
        for name, value in (settings or {}).items():
            store.change_setting(name, value)
        folder = tmp_path / "files"
        folder.mkdir()
        for name, text in tables.items():
            (folder / f"{name}.csv").write_text(csv_of(text), encoding="utf-8")
        report = store.load([folder], arrived_at=ARRIVED_AT)
        run.refresh(store)
        return Stored(store, report)

    return make


WEATHER_HEAD = (
    "station_id|latitude|longitude|elevation_m|day|tmin_c|tmax_c|rh_mean_pct|wind_2m_ms|solar_mj_m2|rain_mm\n"
)


@dataclass(frozen=True)
class Sky:
    """A day's weather at a station on the meridian of Greenwich, at sea level."""

    day: date
    et0_mm: float
    rain_mm: float = 0.0
    latitude: float = 0.0

    def line(self) -> str:
        """A line of `weather` with that evapotranspiration.

        It only makes an input: what a test expects of it comes from its source.
        """
        return "|".join(
            map(
                str,
                (
                    f"W{self.latitude:g}", self.latitude, 0.0, 0, self.day, PLAIN_TMIN_C, PLAIN_TMAX_C,
                    PLAIN_RH_PCT, PLAIN_WIND_MS, self._solar_mj_m2(), self.rain_mm,
                ),
            )
        )  # fmt: skip

    def _solar_mj_m2(self) -> float:
        """The radiation that goes with it, found by halving."""
        low, high, found = 0.0, 60.0, 0.0
        for _ in range(60):
            middle = (low + high) / 2
            found = float(
                reference_evapotranspiration_mm(
                    self.day.timetuple().tm_yday, self.latitude, 0.0,
                    PLAIN_TMIN_C, PLAIN_TMAX_C, PLAIN_RH_PCT, PLAIN_WIND_MS, middle,
                )
            )  # fmt: skip
            low, high = (middle, high) if found < self.et0_mm else (low, middle)
        assert abs(found - self.et0_mm) < 1e-9, f"no radiation gives {self.et0_mm} mm"
        return middle


@pytest.fixture(scope="session")
def weather() -> Callable[[Iterable[tuple[Any, ...]]], str]:
    """Write the table `weather` from days: (day, et0_mm, rain_mm, latitude), the last two if wanted."""

    def write(days: Iterable[tuple[Any, ...]]) -> str:
        return WEATHER_HEAD + "\n".join(Sky(*day).line() for day in days)

    return write
