"""A small programme of two districts, loaded from files like any other."""

import json
import re
import shutil
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from functools import cache
from html import unescape
from pathlib import Path

import pytest
import streamlit as st
from streamlit.components.v2 import manifest_scanner
from streamlit.testing.v1 import AppTest

from pipeline.measures import run
from pipeline.store import Store, open_store

FIRST, LAST = date(2026, 8, 1), date(2026, 9, 30)
NORTH, SOUTH = ("N1", "N2"), ("S1",)
BOX = {"North": (33.0, -13.5, 34.0, -13.0), "South": (33.0, -14.0, 34.0, -13.6)}


def square(west: float, south: float, east: float, north: float) -> list[list[list[float]]]:
    return [[[west, south], [east, south], [east, north], [west, north], [west, south]]]


def write_geojson(path: Path, features: list[tuple[dict[str, object], dict[str, object]]]) -> None:
    made = [{"type": "Feature", "properties": p, "geometry": g} for p, g in features]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": made}), encoding="utf-8")


def write_csv(folder: Path, table: str, text: str) -> None:
    rows = [",".join(cell.strip() for cell in line.split("|")) for line in text.strip().splitlines()]
    (folder / f"{table}.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")


def each(row: str) -> str:
    return "\n".join(row.replace("{s}", site) for site in (*NORTH, *SOUTH))


def write_programme(folder: Path) -> None:
    """Three sites in two districts, each with a block, maize, a meter, a hazard and a job."""
    folder.mkdir(parents=True)
    write_csv(
        folder,
        "sites",
        """
        site_id | name     | district | latitude | longitude | commissioned_on | pump_rated_flow_m3h
        N1      | Kwacha   | North    | -13.2    | 33.4      | 2026-08-01      | 10
        N2      | Mitengo  | North    | -13.3    | 33.6      | 2026-08-01      | 10
        S1      | Chigwa   | South    | -13.8    | 33.5      | 2026-08-01      | 10
        """,
    )
    write_csv(folder, "blocks", f"site_id|block_id|area_ha|irrigation_method\n{each('{s}|B|1|furrow')}")
    write_csv(folder, "plantings", f"site_id|block_id|crop|planted_on\n{each('{s}|B|maize|2026-07-01')}")
    write_csv(
        folder, "hazards", f"site_id|hazard|note|seen_on\n{each('{s}|well|open well of {s}|2026-08-01')}"
    )
    write_csv(folder, "meters", f"meter_id|site_id|quantity|digits\n{each('W{s}|{s}|water|6')}")
    days = [FIRST + timedelta(days=n) for n in range((LAST - FIRST).days + 1)]
    rate = {"N1": 40, "N2": 8, "S1": 30}
    readings = [f"W{s}|{day} 07:00|{1000 + rate[s] * n}" for s in rate for n, day in enumerate(days)]
    write_csv(folder, "meter_readings", "meter_id|read_at|value\n" + "\n".join(readings))
    weather = [f"M1|-13.4|33.5|1100|{day}|12|28|0" for day in days]
    write_csv(folder, "weather", "station_id|latitude|longitude|elevation_m|day|tmin_c|tmax_c|rain_mm\n" + "\n".join(weather))  # fmt: skip
    write_csv(folder, "bases", "base_id|name|latitude|longitude\nBN|Northern yard|-13.1|33.2\nBS|Southern yard|-13.9|33.2")  # fmt: skip
    write_csv(
        folder,
        "agreements",
        """
        agreement_id | funder        | title            | start_on   | end_on
        AGN          | Northern fund | Northern promise | 2026-01-01 | 2027-12-31
        AGS          | Southern fund | Southern promise | 2026-01-01 | 2027-12-31
        """,
    )
    write_csv(folder, "agreement_sites", "agreement_id|site_id|share\nAGN|N1|1\nAGN|N2|0.5\nAGS|S1|1")
    write_csv(
        folder,
        "targets",
        """
        agreement_id | indicator     | baseline | target | due_on
        AGN          | water_m3      | 0        | 3000   | 2026-12-31
        AGS          | households    | 0        | 76543  | 2026-12-31
        """,
    )
    write_geojson(
        folder / "districts.geojson",
        [({"district": n}, {"type": "Polygon", "coordinates": square(*b)}) for n, b in BOX.items()],
    )
    write_geojson(
        folder / "roads.geojson",
        [
            ({"class": "north_lane"}, {"type": "LineString", "coordinates": [[33.1, -13.1], [33.9, -13.2]]}),
            ({"class": "south_lane"}, {"type": "LineString", "coordinates": [[33.1, -13.9], [33.9, -13.8]]}),
        ],
    )


@pytest.fixture(scope="session")
def programme(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Two districts, two months of readings, loaded and computed."""
    return lay_programme(tmp_path_factory.mktemp("dashboard"))


def lay_programme(folder: Path) -> Store:
    """Write the programme's files, load them and compute."""
    write_programme(folder / "files")
    store = open_store(folder / "store", create=True)
    store.change_setting("timezone", "Africa/Blantyre")
    report = store.load([folder / "files"], arrived_at=datetime(2026, 10, 1, 12, tzinfo=UTC))
    assert report.faults == []
    assert report.unreadable == []
    run.refresh(store)
    return store


@pytest.fixture
def shown(programme: Store, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """The dashboard looks at the programme."""
    yield from look_at(programme, monkeypatch)


@pytest.fixture(scope="session", autouse=True)
def components_looked_for_once() -> Iterator[None]:
    """The framework reads what every installed package says of itself before each page of a test, a third of a second."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            manifest_scanner, "scan_component_manifests", cache(manifest_scanner.scan_component_manifests)
        )
        yield


_looked_at: list[Path] = []


def look_at(store: Store, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """Show a store; what was kept of it by the test before is kept, as a server does."""
    monkeypatch.setenv("SUNRILL_STORE", str(store.path))
    if _looked_at != [store.path]:
        forget()
        _looked_at[:] = [store.path]
    yield store


def forget() -> None:
    """Nothing that was kept of one store is taken for another's."""
    st.cache_data.clear()
    st.cache_resource.clear()


VIEWS = Path(__file__).parents[3] / "dashboard" / "views"


def opened(page: str, **address: str) -> AppTest:
    """A page as first opened; no exception may reach the screen."""
    test = AppTest.from_file(str(VIEWS / f"{page}.py"), default_timeout=120)
    for name, value in address.items():
        test.query_params[name] = value
    test.run()
    assert [e.value for e in test.exception] == []
    return test


def texts(test: AppTest) -> list[str]:
    """The text of every piece of HTML on the page."""
    return [unescape(re.sub(r"<[^>]+>", " ", element.proto.body)).strip() for element in test.get("html")]


@pytest.fixture
def own(programme: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """A copy of the programme that a test may change."""
    shutil.copytree(programme.path, tmp_path / "own")
    yield from look_at(Store(tmp_path / "own"), monkeypatch)


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """A store in which nothing has been loaded."""
    yield from look_at(open_store(tmp_path / "bare", create=True), monkeypatch)
