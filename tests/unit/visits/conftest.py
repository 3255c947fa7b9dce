"""Small real stores: text tables in, files written, loaded in process, ranked."""

import csv
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from pipeline.measures import run
from pipeline.store import Store, open_store
from pipeline.visits import ranking

AS_OF = date(2026, 10, 31)
Rows = list[dict[str, object]]


class Field:
    """What a programme sends, table by table; every site has one hectare of a crop that needs water all the time."""

    def __init__(self) -> None:
        self.tables: dict[str, Rows] = {}
        self.add(
            "crops",
            crop="greens", kc_ini=1, kc_mid=1, kc_end=1, ini_days=100, dev_days=100, mid_days=100, late_days=100,
        )  # fmt: skip
        self.weather("WS", -13.5, 33.8)

    def add(self, table: str, **row: object) -> None:
        self.tables.setdefault(table, []).append(row)

    def weather(self, station: str, latitude: float, longitude: float, rain_on: date | None = None) -> None:
        """The same dry weather on every day."""
        for k in range(120, -1, -1):
            day = AS_OF - timedelta(days=k)
            self.add(
                "weather",
                station_id=station, latitude=latitude, longitude=longitude, elevation_m=1100, day=day, tmin_c=15, tmax_c=30,
                rh_mean_pct=50, wind_2m_ms=2, solar_mj_m2=22, rain_mm=12 if day == rain_on else 0,
            )  # fmt: skip

    def site(self, site_id: str, *, crop: str | None = "greens", planted_on: date = date(2026, 7, 5), **row: object) -> None:  # fmt: skip
        """A site of 10 m³/h with a hectare under drip."""
        self.add(
            "sites",
            **{
                "site_id": site_id, "name": f"Site {site_id}", "latitude": -13.5, "longitude": 33.8, "elevation_m": 1100, "timezone": "Africa/Blantyre",
                "commissioned_on": date(2026, 3, 1), "pump_rated_flow_m3h": 10, "pump_rated_power_kw": 3,
            }
            | row,
        )  # fmt: skip
        self.add(
            "blocks", site_id=site_id, block_id="A", area_ha=1, application_efficiency=0.9, design_flow_m3h=10,
            wetted_diameter_m=3,
        )  # fmt: skip
        if crop:
            self.add("plantings", site_id=site_id, block_id="A", crop=crop, planted_on=planted_on)

    def meter(
        self, meter_id: str, site_id: str, daily: Callable[[date], float], *, step: int = 1, until: date = AS_OF,
        quantity: str = "water", block_id: str = "",
    ) -> None:  # fmt: skip
        """A counter read at 18:00 every `step` days, that turns by `daily` of each day in between."""
        self.add("meters", meter_id=meter_id, site_id=site_id, quantity=quantity, block_id=block_id, digits=7)
        total, day = 1000.0, until - timedelta(days=(100 // step) * step)
        while day <= until:
            self.add(
                "meter_readings", meter_id=meter_id, read_at=f"{day} 18:00", value=round(total, 1),
                origin="remote" if step == 1 else "manual",
            )  # fmt: skip
            total += sum(daily(day + timedelta(days=k)) for k in range(1, step + 1))
            day += timedelta(days=step)

    def log(
        self, site_id: str, hour: Callable[[date, int], tuple[float, float, float]], *, days: int = 70, until: date = AS_OF
    ) -> None:  # fmt: skip
        """The controller's log, an hour a row from 7 to 17 o'clock: flow, input and tank level of each."""
        for k in range(days - 1, -1, -1):
            for h in range(7, 18):
                day = until - timedelta(days=k)
                flow, kw, tank = hour(day, h)
                self.add(
                    "telemetry", site_id=site_id, logged_at=f"{day} {h:02d}:00", flow_m3h=flow, input_kw=round(kw, 3),
                    irradiance_wm2=600, tank_level_pct=tank,
                )  # fmt: skip

    def write(self, folder: Path) -> Path:
        """The files, one a table."""
        folder.mkdir(parents=True, exist_ok=True)
        for table, rows in self.tables.items():
            names = list(dict.fromkeys(name for row in rows for name in row))
            with (folder / f"{table}.csv").open("w", newline="", encoding="utf-8") as stream:
                writer = csv.DictWriter(stream, names)
                writer.writeheader()
                writer.writerows(rows)
        return folder

    def store(self, folder: Path) -> Store:
        """A store with all of it."""
        made = open_store(folder / "store", create=True)
        report = made.load([self.write(folder / "files")], arrived_at=datetime(2026, 11, 1, 12, tzinfo=UTC))
        assert not report.unreadable
        assert not report.faults, [fault.words() for fault in report.faults]
        run.refresh(made)
        return made


def rank(store: Store, as_of: date = AS_OF, **options: object) -> Rows:
    with store.read() as reader:
        return list(ranking.visits(reader, as_of, **options).to_pylist())


@pytest.fixture(scope="session")
def make_field() -> type[Field]:
    return Field


@pytest.fixture(scope="session")
def ranked() -> Callable[..., Rows]:
    return rank


@pytest.fixture(scope="session")
def by_site() -> Callable[[Iterable[dict[str, object]]], dict[str, dict[str, object]]]:
    return lambda rows: {str(row["site_id"]): row for row in rows}
