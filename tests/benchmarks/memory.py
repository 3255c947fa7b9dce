"""Memory and time of the measures over 70 million rows of telemetry: 2,000 sites, a year of quarter-hours.

`python -m tests.benchmarks.memory` writes results/memory.json; it takes half an hour and 4 GB of disk.
"""

import json
import subprocess
import sys
import tempfile
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from time import perf_counter

import click
import duckdb

from pipeline.measures import run
from pipeline.store import open_store
from tests.benchmarks.record import record, seconds

FIRST = date(2025, 1, 1)
LOG = """
    COPY (
        SELECT 'S' || lpad((site + 1)::VARCHAR, 5, '0') AS site_id, strftime(moment, '%Y-%m-%d %H:%M') AS logged_at,
               round(12 * sun, 2) AS flow_m3h, round(2.4 * sun, 3) AS input_kw, round(1000 * sun) AS irradiance_wm2,
               round(50 + 40 * random()) AS tank_level_pct
        FROM (
            SELECT site, moment, greatest(0, sin(pi() * (hour(moment) * 60 + minute(moment) - 360) / 720)) * (0.5 + random() / 2) AS sun
            FROM range({sites}) s(site), range(TIMESTAMP '{first}', TIMESTAMP '{after}', INTERVAL 15 MINUTE) t(moment)
        )
    ) TO '{path}' (HEADER)"""


def lay(folder: Path, sites: int, days: int) -> int:
    """Load a log of every site, month by month; return the rows."""
    store = open_store(folder / "store", create=True)
    places = "\n".join(f"S{i + 1:05d},Site {i},-13.5,33.8,2024-06-01,12" for i in range(sites))
    path = folder / "sites.csv"
    path.write_text(f"site_id,name,latitude,longitude,commissioned_on,pump_rated_flow_m3h\n{places}\n")
    store.load([path])
    rows = 0
    for start in range(0, days, 30):
        first, after = FIRST + timedelta(start), FIRST + timedelta(min(start + 30, days))
        path = folder / "telemetry.csv"
        with duckdb.connect() as connection:
            connection.execute(LOG.format(sites=sites, first=first, after=after, path=path))
        report = store.load([path], arrived_at=datetime.combine(after, datetime.min.time(), UTC))
        rows += sum(line.taken for line in report.files)
    return rows


def peak_gb() -> float:
    """Return the most memory that this process held; `getrusage` would count its parent's, from before the start."""
    status = Path("/proc/self/status").read_text()  # Linux
    return int(status.partition("VmHWM:")[2].split()[0]) * 1024 / 1e9


def measure(store: Path) -> dict[str, float]:
    """Compute every site, in this process; return its seconds and the most memory that it took."""
    start = perf_counter()
    run.refresh(open_store(store))
    taken = perf_counter() - start
    peak = peak_gb()
    with open_store(store).read() as reader:
        scan = seconds(lambda: reader.connection.execute("SELECT sum(hash(t)) FROM telemetry t").fetchall())
    return {
        "measures_s": round(taken, 1),
        "scan_s": round(scan, 1),
        "measures_over_scan": round(taken / scan, 1),
        "peak_gb": round(peak, 3),
    }


@click.command()
@click.option("--sites", default=2000, show_default=True)
@click.option("--days", default=365, show_default=True)
@click.option("--measure", "store", type=click.Path(path_type=Path), help="Only compute this store.")
def main(sites: int, days: int, store: Path | None) -> None:
    """Lay the store here, and compute it in a process whose memory is nobody else's."""
    if store is not None:
        print(json.dumps(measure(store)))
        return
    with tempfile.TemporaryDirectory() as name:
        start = perf_counter()
        rows = lay(Path(name), sites, days)
        laid = perf_counter() - start
        child = [sys.executable, "-m", "tests.benchmarks.memory", "--measure", f"{name}/store"]
        done = subprocess.run(child, capture_output=True, text=True, check=True)
        figures = {"sites": sites, "telemetry_rows": rows, "load_rows_per_s": round(rows / laid)}
        record("memory", figures | json.loads(done.stdout))


if __name__ == "__main__":
    main()
