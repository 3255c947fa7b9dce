"""How fast the soil's water is followed, as a ratio to a scan of the rows that come of it.

`python -m tests.benchmarks.soil_water` writes results/soil_water.json: 20,000 sites of four blocks, each
planted through a whole year, slice by slice as the measures run. `--sites` takes fewer.
"""

import argparse
import resource
import tempfile
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from time import perf_counter

import duckdb

from pipeline.config import Settings
from pipeline.measures import need
from pipeline.measures.results import RESULTS, create_empty
from pipeline.measures.root_zone import leave_root_zone_days
from pipeline.tables import TABLES, Kind
from tests.benchmarks.record import record

SITES, BLOCKS, DAYS = 20_000, 4, 365
SLICE = 250
FIRST_DAY = date(2025, 11, 1)
SEASONS = (("maize", 0, 125), ("beans", 125, 90), ("tomato", 215, 150))  # crop, first day, days: a whole year


@dataclass
class Taken:
    """What some sites took. [s]"""

    sites: int = 0
    rows: int = 0
    need_s: float = 0.0
    balance_s: float = 0.0
    scan_s: float = 0.0


def programme(connection: duckdb.DuckDBPyConnection, first: int) -> None:
    """Lay a slice of sites into the contract's tables, and the water that their meters counted."""
    for table in TABLES.values():
        columns = ", ".join(
            [f'"{c.name}" {"VARCHAR" if c.kind is Kind.GEOMETRY else c.sql_type}' for c in table.columns]
            + [f'"{c.day_name}" DATE' for c in table.instants]
            + ({"sites": ["zone VARCHAR"], "meter_readings": ["site_id VARCHAR"]}.get(table.name, []))
        )
        connection.execute(f'CREATE TABLE "{table.name}" ({columns})')
    for name in RESULTS:
        create_empty(connection, name)
    connection.execute(f"""
        INSERT INTO sites BY NAME
        SELECT printf('S%05d', i + {first}) AS site_id, 'site' AS name, -13.5 + i / 1000 AS latitude, 33.8 AS longitude,
               1100 AS elevation_m, DATE '{FIRST_DAY}' AS commissioned_on, 'UTC' AS timezone, 'UTC' AS zone
        FROM range({SLICE}) t(i);
        INSERT INTO blocks BY NAME
        SELECT site_id, 'B' || b AS block_id, 0.5 AS area_ha, 'spray_tube' AS irrigation_method,
               ['loam', 'sandy_loam', 'silt', 'clay'][b::INTEGER + 1] AS soil
        FROM sites, range({BLOCKS}) t(b);
        INSERT INTO weather BY NAME
        SELECT 'W1' AS station_id, -13.4 AS latitude, 33.8 AS longitude, 1100 AS elevation_m, DATE '{FIRST_DAY}' + d::INTEGER AS day,
               14 + 3 * sin(d / 58) AS tmin_c, 27 + 3 * sin(d / 58) AS tmax_c,
               CASE WHEN d < 150 AND d % 4 = 0 THEN 22 ELSE 0 END AS rain_mm
        FROM range({DAYS}) t(d);
        INSERT INTO site_days BY NAME
        SELECT site_id, DATE '{FIRST_DAY}' + d::INTEGER AS day, 40 + 20 * sin(d) AS water_m3,
               CASE WHEN d % 61 = 60 THEN 0 ELSE 1 END AS water_cover
        FROM sites, range({DAYS}) t(d)""")
    for crop, start, days in SEASONS:
        connection.execute(
            """INSERT INTO plantings BY NAME
               SELECT site_id, block_id, $crop AS crop, $day::DATE + $start::INTEGER AS planted_on,
                      $day::DATE + $start::INTEGER + $days::INTEGER AS cleared_on FROM blocks""",
            {"crop": crop, "day": FIRST_DAY, "start": start, "days": days},
        )


def follow(first: int, folder: Path, taken: Taken) -> None:
    """Follow a slice's water, and scan what came of it from a file."""
    with duckdb.connect() as connection:
        programme(connection, first)
        begun = perf_counter()
        need.compute(connection, Settings())
        taken.need_s += perf_counter() - begun
        begun = perf_counter()
        leave_root_zone_days(connection, Settings())
        taken.balance_s += perf_counter() - begun
        path = folder / "rows.parquet"
        connection.execute(f"COPY root_zone_days TO '{path}' (COMPRESSION zstd)")
        begun = perf_counter()
        ((rows, _),) = connection.execute(f"SELECT count(*), sum(hash(t)) FROM '{path}' t").fetchall()
        taken.scan_s += perf_counter() - begun
    taken.rows += rows
    taken.sites += SLICE


def main() -> None:
    """Measure, and write the figures down: as far as it came, after each quarter of the way."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=SITES)
    sites = parser.parse_args().sites
    taken, first_tenth = Taken(), Taken()
    with tempfile.TemporaryDirectory() as folder:
        for first in range(0, sites, SLICE):
            follow(first, Path(folder), taken)
            if taken.sites <= max(SLICE, sites // 10):
                first_tenth = replace(taken)
            if taken.sites % (sites // 4) < SLICE:
                record("soil_water", figures(taken, first_tenth))


def figures(taken: Taken, first_tenth: Taken) -> dict[str, float]:
    """Return what was measured: the balance over a scan of its rows, and whether a later site takes longer."""
    grown = (taken.balance_s / taken.sites) / (first_tenth.balance_s / first_tenth.sites)
    return {
        "sites": taken.sites,
        "rows": taken.rows,
        "need_s": round(taken.need_s, 1),
        "balance_s": round(taken.balance_s, 1),
        "scan_s": round(taken.scan_s, 2),
        "balance_over_scan": round(taken.balance_s / taken.scan_s, 1),
        "a_site_of_all_over_a_site_of_the_first_tenth": round(grown, 2),
        "peak_gb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6, 2),
    }


if __name__ == "__main__":
    main()
