"""A site's figures rest on its own rows: alone or among others, at once or delivery by delivery."""

import shutil
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from pipeline.measures import run
from pipeline.measures.figures import indicators
from pipeline.measures.results import create_empty_missing
from pipeline.store import Store, open_store

SITES = """site_id,name,latitude,longitude,elevation_m,timezone,commissioned_on,pump_rated_flow_m3h
S1,One,-13.5,33.8,1100,Africa/Blantyre,2026-01-01,10
S2,Two,-13.6,33.9,600,Africa/Blantyre,2026-01-01,10
"""
BLOCKS = "site_id,block_id,area_ha,irrigation_method\nS1,B1,1,drip\nS2,B1,2,furrow\n"
PLANTINGS = "site_id,block_id,crop,planted_on\nS1,B1,maize,2026-01-05\nS2,B1,maize,2026-01-05\n"
METERS = "meter_id,site_id,quantity\nW1,S1,water\nW2,S2,water\n"
FROM, TO = date(2026, 1, 1), date(2026, 3, 31)


def readings(meter, days, step=200):
    rows = [
        f"{meter},2026-{month:02d}-{day:02d} 07:00,{1000 + step * n}" for n, (month, day) in enumerate(days)
    ]
    return "meter_id,read_at,value\n" + "\n".join(rows) + "\n"


def weather(days):
    head = "station_id,latitude,longitude,day,tmin_c,tmax_c,rain_mm\n"  # nobody knows how high it stands
    return head + "".join(f"W1,-13.62,33.9,2026-{m:02d}-{d:02d},15,27,3\n" for m, d in days)


DELIVERIES = [
    {
        "sites.csv": SITES,
        "blocks.csv": BLOCKS,
        "plantings.csv": PLANTINGS,
        "meters.csv": METERS,
        "weather.csv": weather([(1, d) for d in range(5, 32)]),
    },
    {
        "meter_readings_a.csv": readings("W1", [(1, 10), (1, 17), (1, 24), (1, 31)]),
        "maintenance.csv": "record_id,site_id,kind,reported_at,water_stopped,cost\n"
        "J1,S1,corrective,2026-01-20 10:00,yes,120\n",
    },
    {"meter_readings_b.csv": readings("W2", [(1, 10), (1, 31), (2, 14), (3, 20)], step=150)},
]


def deliver(store: Store, folder: Path, delivery: dict[str, str]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, text in delivery.items():
        (folder / name).write_text(text)
        paths.append(folder / name)
    store.load(paths, arrived_at=datetime(2026, 4, 30, tzinfo=UTC))


def copy_of(store: Store, folder: Path) -> Store:
    shutil.copytree(store.path, folder / "store")
    return open_store(folder / "store")


def figures(store: Store, site: str | None = None) -> list[dict]:
    with store.read() as reader:
        sites = None if site is None else [site]
        return indicators(reader, FROM, TO, by_month=True, sites=sites).to_pylist()


@pytest.fixture(scope="module")
def at_once(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """A store that took every delivery and computed once, at the end."""
    folder = tmp_path_factory.mktemp("at_once")
    store = open_store(folder / "store", create=True)
    for number, delivery in enumerate(DELIVERIES):
        deliver(store, folder / str(number), delivery)
    assert run.refresh(store) == 2
    return store


def test_computing_after_each_delivery_gives_what_computing_once_gives(at_once, tmp_path):
    """S2's files end six weeks after S1's: neither the order of computing nor the newest day matters."""
    store = open_store(tmp_path / "store", create=True)
    for number, delivery in enumerate(DELIVERIES):
        deliver(store, tmp_path / str(number), delivery)
        run.refresh(store)
    assert figures(store) == figures(at_once)
    for name in run.RESULTS:
        with store.read() as step_by_step, at_once.read() as once:
            create_empty_missing(step_by_step.connection)
            create_empty_missing(once.connection)
            query = f'SELECT * FROM "{name}" ORDER BY ALL'
            assert (
                step_by_step.connection.execute(query).fetchall() == once.connection.execute(query).fetchall()
            )


def test_a_load_of_one_sites_file_computes_that_site_alone(at_once, tmp_path):
    """A reading of W1 touches S1; a second refresh has nothing to do."""
    store = copy_of(at_once, tmp_path)
    deliver(
        store,
        tmp_path / "last",
        {"meter_readings_d.csv": "meter_id,read_at,value\nW1,2026-02-07 07:00,1800\n"},
    )
    assert store.dirty_slices() == {0: ["S1"]}
    assert run.refresh(store) == 1
    assert store.dirty_slices() == {}
    assert figures(store, "S2") == figures(at_once, "S2")
    assert figures(store, "S1") != figures(at_once, "S1")


def test_sites_computed_one_at_a_time_for_want_of_memory_are_the_same(at_once, tmp_path, monkeypatch):
    """Where no more than one site's log fits, every figure is the same."""
    store = copy_of(at_once, tmp_path)
    monkeypatch.setattr(run, "LOG_ROWS_AT_ONCE", 1)
    store.change_setting("currency", "MWK")  # marks every site
    assert run.refresh(store) == 2
    assert figures(store, "S1") == figures(at_once, "S1")
    assert figures(store, "S2") == figures(at_once, "S2")


def test_a_site_alone_gives_what_it_gives_among_others(at_once):
    """S1's weather comes from a station whose elevation is the nearest site's, S2's: 500 m lower."""
    with at_once.read() as reader:
        create_empty_missing(reader.connection)
        query = "SELECT * FROM {} WHERE site_id = 'S1' ORDER BY ALL"
        among = {name: reader.connection.execute(query.format(name)).fetchall() for name in run.RESULTS}
    with at_once.read(slice_no=0, sites=["S1"]) as alone:
        run.compute(alone.connection, alone.settings)
        for name, rows in among.items():
            found = alone.connection.execute(query.format(f"temp.{name}")).fetchall()
            assert found == rows, name


def test_a_corrected_elevation_reaches_every_site_whose_weather_takes_it(at_once, tmp_path):
    """S2 is 100 m higher than was written: the station rises with it, and S1 is computed anew too."""
    store = copy_of(at_once, tmp_path)
    deliver(
        store,
        tmp_path / "1",
        {"sites.csv": "site_id,name,latitude,longitude,elevation_m\nS2,Two,-13.6,33.9,700\n"},
    )
    assert store.dirty_slices() == {0: ["S1", "S2"]}
