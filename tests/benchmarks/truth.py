"""What was measured against what truly happened in the demo, by kind of instrument.

`python -m tests.benchmarks.truth` writes results/truth.json. Compared are sites and months with 95 % of
the time covered and more than 50 m³; uptime where less than half of the time is unknown.
"""

import tempfile
from pathlib import Path
from typing import Any

from tests.benchmarks.programmes import loaded
from tests.benchmarks.record import record

COMPARED = """
    WITH truth AS (
        SELECT site_id, date_trunc('month', day) AS month, sum(water_m3) AS water, sum(energy_kwh) AS energy,
               sum(need_m3) AS need, sum(up_h) / nullif(sum(up_h + down_h), 0) AS up
        FROM read_parquet($days) GROUP BY ALL
    ),
    measured AS (
        SELECT site_id, date_trunc('month', d.day) AS month, sum(water_m3) AS water, avg(water_cover) AS water_cover,
               sum(energy_kwh) AS energy, avg(energy_cover) AS energy_cover, sum(n.need_m3) AS need, bool_and(n.known) AS need_known,
               sum(up_h) / nullif(sum(up_h + down_h), 0) AS up, sum(unknown_h) / nullif(sum(service_h), 0) AS unknown
        FROM site_days d LEFT JOIN site_need_days n USING (site_id, day) GROUP BY ALL
    )
    SELECT i.water || CASE WHEN i.telemetry THEN ' with log' ELSE '' END AS instrument,
           if(water_cover > 0.95 AND t.water > 50, abs(m.water / t.water - 1), NULL) AS water,
           if(energy_cover > 0.95 AND t.energy > 20, abs(m.energy / t.energy - 1), NULL) AS energy,
           if(need_known AND t.need > 50, abs(m.need / t.need - 1), NULL) AS need,
           if(unknown < 0.5, abs(m.up - t.up), NULL) AS uptime, m.water_cover, unknown
    FROM truth t JOIN measured m USING (site_id, month) JOIN read_csv($instruments) i USING (site_id)"""

SUMMARY = """
    SELECT instrument, count(*) AS site_months, round(avg(water_cover), 3) AS water_covered, round(avg(unknown), 3) AS uptime_unknown,
           count(water) AS compared,
           round(median(water), 4) AS water_median_error, round(quantile_cont(water, 0.95), 4) AS water_p95_error, round(max(water), 4) AS water_worst_error,
           round(median(energy), 4) AS energy_median_error, round(max(energy), 4) AS energy_worst_error,
           round(median(need), 4) AS need_median_error, round(max(need), 4) AS need_worst_error,
           round(median(uptime), 4) AS uptime_median_error, round(max(uptime), 4) AS uptime_worst_error
    FROM compared GROUP BY instrument ORDER BY instrument"""


def compare(folder: Path, **options: int | bool) -> list[dict[str, Any]]:
    """Return the errors by kind of instrument of a programme laid with some options."""
    files, store = loaded(folder, **options)
    with store.read() as reader:
        paths = {
            "days": str(files / "truth" / "site_days.parquet"),
            "instruments": str(files / "truth" / "instruments.csv"),
        }
        reader.connection.execute(f"CREATE TEMP TABLE compared AS {COMPARED}", paths)
        return list(reader.connection.execute(SUMMARY).to_arrow_table().to_pylist())


def main() -> None:
    """Compare the paper-only programme first: it is what most offices have."""
    with tempfile.TemporaryDirectory() as folder:
        figures = {
            "paper_only": compare(Path(folder) / "paper", paper_only=True),
            "with_logs": compare(Path(folder) / "logs", paper_only=False),
        }
    record("truth", figures)


if __name__ == "__main__":
    main()
