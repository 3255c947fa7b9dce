"""How fast a load and the measures are, as ratios to a floor taken in the same run.

`python -m tests.benchmarks.speed` writes results/speed.json.
"""

import subprocess
import sys
import tempfile
from datetime import UTC, date, datetime
from pathlib import Path
from time import perf_counter
from typing import Any

import duckdb

from pipeline.measures import figures, run
from pipeline.store import Store, open_store
from tests.benchmarks.programmes import loaded
from tests.benchmarks.record import record, seconds

ROWS = 1_000_000
# water, energy per m³ and uptime as one would write them by hand, taking every reading at its word
THREE = """
    WITH steps AS (
        SELECT meters.site_id, quantity, value - lag(value) OVER w AS step
        FROM meter_readings JOIN meters USING (meter_id) WINDOW w AS (PARTITION BY meter_id ORDER BY read_at)
    ),
    counted AS (
        SELECT site_id, sum(step) FILTER (WHERE quantity = 'water' AND step BETWEEN 0 AND 2000) AS water_m3,
               sum(step) FILTER (WHERE quantity = 'energy' AND step BETWEEN 0 AND 2000) AS energy_kwh
        FROM steps GROUP BY site_id
    ),
    up AS (
        SELECT site_id, avg((flow_m3h > 0)::INTEGER) FILTER (WHERE irradiance_wm2 > 300) AS uptime_share
        FROM telemetry GROUP BY site_id
    )
    SELECT site_id, water_m3, energy_kwh / water_m3 AS energy_kwh_m3, uptime_share
    FROM counted FULL JOIN up USING (site_id) ORDER BY site_id"""


def telemetry_csv(path: Path, rows: int = ROWS) -> Path:
    """Write a clean log of twenty sites."""
    per_site = rows // 20
    with duckdb.connect() as connection:
        connection.execute(f"""
            COPY (SELECT 'S' || lpad((s + 1)::VARCHAR, 5, '0') AS site_id,
                         strftime(TIMESTAMP '2025-01-01 00:15' + to_minutes(15 * i), '%Y-%m-%d %H:%M') AS logged_at,
                         round(13 * random(), 2) AS flow_m3h, round(3 * random(), 3) AS input_kw,
                         round(900 * random()) AS irradiance_wm2, round(100 * random()) AS tank_level_pct
                  FROM range({per_site}) t(i), range(20) u(s)) TO '{path}' (HEADER)""")
    return path


def sites_csv(path: Path) -> Path:
    """Write the twenty sites of the log."""
    rows = "\n".join(f"S{i + 1:05d},Site {i},-13.5,33.8" for i in range(20))
    path.write_text(f"site_id,name,latitude,longitude\n{rows}\n")
    return path


def demo(store: Path) -> float:
    """Lay the demo by its command, from nothing to every figure. [s]"""
    command = [sys.executable, "-m", "pipeline.cli", "demo", "--no-dashboard", "--store", str(store)]
    start = perf_counter()
    subprocess.run(command, check=True)
    return round(perf_counter() - start, 1)


def load_rate(folder: Path) -> dict[str, Any]:
    """Load a million clean rows, over a bare read of the same file."""
    path, sites = telemetry_csv(folder / "telemetry.csv"), sites_csv(folder / "sites.csv")

    def bare() -> None:
        with duckdb.connect() as connection:
            connection.execute(f"CREATE TABLE t AS SELECT * FROM read_csv('{path}')")

    counter = iter(range(100))

    def load() -> None:
        open_store(folder / f"load{next(counter)}", create=True).load([sites, path])

    floor, taken = seconds(bare), seconds(load)
    return {"rows": ROWS, "rows_per_s": round(ROWS / taken), "over_bare_read": round(taken / floor, 2)}


def measures_cost(store: Store) -> dict[str, Any]:
    """Compute everything, over a scan of the same rows and over three figures written by hand."""
    with store.read() as reader:

        def scan() -> None:
            reader.connection.execute("SELECT sum(hash(t)) FROM telemetry t").fetchall()
            reader.connection.execute("SELECT sum(hash(t)) FROM meter_readings t").fetchall()
            reader.connection.execute("SELECT sum(hash(t)) FROM weather t").fetchall()

        def everything() -> None:
            with store.read() as own:
                run.compute(own.connection, own.settings)

        def three() -> None:
            reader.connection.execute(THREE).fetchall()

        def indicators() -> None:
            figures.indicators(reader, date(2025, 5, 1), date(2026, 10, 31))

        floor, taken, by_hand, asked = seconds(scan), seconds(everything), seconds(three), seconds(indicators)
    return {
        "scan_s": round(floor, 3),
        "measures_s": round(taken, 3),
        "measures_over_scan": round(taken / floor, 1),
        "measures_over_three_by_hand": round(taken / by_hand, 1),
        "asking_for_all_figures_over_three_by_hand": round(asked / by_hand, 1),
    }


def growth(folder: Path) -> dict[str, Any]:
    """Compute 2,000 sites over 500."""
    taken = {}
    for sites in (500, 2000):
        _, store = loaded(folder / str(sites), sites=sites, days=60, measured=False)
        taken[sites] = seconds(lambda store=store: _all_again(store), times=1)
    return {
        "s_500": round(taken[500], 2),
        "s_2000": round(taken[2000], 2),
        "ratio_to_size": round(taken[2000] / taken[500] / 4, 2),
    }


def _all_again(store: Store) -> None:
    run.refresh(store)


def days_load(folder: Path) -> dict[str, Any]:
    """Load one day of fifty sites into a store of 1, 4 and 16 times as many sites."""
    taken = {}
    for times in (1, 4, 16):
        _, store = loaded(folder / f"x{times}", sites=50 * times, days=60)
        counter = iter(range(100))

        def one_day(store: Store = store, counter: Any = counter) -> None:
            day = next(counter) + 1
            path = folder / f"meter_readings_{day}.csv"
            rows = "\n".join(
                f"W{i + 1:05d},2026-11-{day:02d} 17:00,{90_000 + 10 * day + i}" for i in range(50)
            )
            path.write_text(f"meter_id,read_at,value\n{rows}\n")
            store.load([path], arrived_at=datetime(2026, 11, 25, tzinfo=UTC))
            run.refresh(store)

        taken[times] = seconds(one_day)
    return {
        "s_x1": round(taken[1], 2),
        "s_x4": round(taken[4], 2),
        "s_x16": round(taken[16], 2),
        "x4_over_x1": round(taken[4] / taken[1], 2),
        "x16_over_x1": round(taken[16] / taken[1], 2),
    }


def main() -> None:
    """Run all, the quick ones first."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        load = load_rate(folder)
        demo_s = demo(folder / "demo")
        record(
            "speed",
            {
                "demo_s": demo_s,
                "load": load,
                "measures": measures_cost(open_store(folder / "demo")),
                "growth": growth(folder / "growth"),
                "days_load": days_load(folder / "days"),
            },
        )


if __name__ == "__main__":
    main()
