"""`sunrill changes`: every ending, its help, and days that can't be compared."""

import csv
import json

import openpyxl
import pytest
from pyarrow import parquet

from pipeline.visits.change_columns import COLUMNS, SCHEMA

DAYS = ("--since", "2026-10-19", "--to", "2026-10-21")


def _rows(path):
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_what_changed_is_written(sunrill, store, tmp_path):
    """The job of 20 October stopped S1; of the two others nothing can be said, for want of crops."""
    out = tmp_path / "changes.csv"
    done = sunrill("changes", *DAYS, "--store", store, "--out", out)
    assert f"Wrote 3 rows to {out}" in done.stderr
    rows = {row["site_id"]: row for row in _rows(out)}
    assert {site: row["kind"] for site, row in rows.items()} == {
        "S1": "stopped",
        "'=S2": "unsaid",
        "S3": "unsaid",
    }
    assert (rows["S1"]["direction"], rows["S1"]["cause_now"]) == ("worse", "pump_stopped")
    assert "J1" in rows["S1"]["evidence"]
    assert rows["S3"]["unsaid_why"] == "no_need_known"
    assert rows["S3"]["supply_now"] == ""


def test_a_stop_that_ended_is_told_too(sunrill, store, tmp_path):
    """From the 21st to the 24th: the job ended on the 22nd and the meter was read on the 24th."""
    sunrill("changes", "--since", "2026-10-21", "--to", "2026-10-24", "--store", store, "--out", tmp_path / "c.csv")  # fmt: skip
    assert {r["site_id"]: r["kind"] for r in _rows(tmp_path / "c.csv")}["S1"] == "restored"


def test_every_ending_holds_the_same_rows(sunrill, store, tmp_path):
    """CSV, XLSX, Parquet, GeoJSON and GeoPackage: three sites each, the columns of the contract."""
    out = {e: tmp_path / f"changes.{e}" for e in ("csv", "xlsx", "parquet", "geojson", "gpkg")}
    for path in out.values():
        sunrill("changes", *DAYS, "--store", store, "--out", path)
    heading, *cells = openpyxl.load_workbook(out["xlsx"]).active.iter_rows(values_only=True)
    assert (list(heading), len(cells)) == (SCHEMA.names, 3)
    assert parquet.read_table(out["parquet"]).schema.names == SCHEMA.names
    assert len(json.loads(out["geojson"].read_text(encoding="utf-8"))["features"]) == 3
    assert out["gpkg"].stat().st_size > 0


def test_the_help_says_what_each_column_is(sunrill):
    """A line a column, as it stands in the file."""
    lines = [line.strip() for line in sunrill("changes", "--help").stdout.splitlines()]
    for column in COLUMNS:
        unit = f" [{column.unit}]" if column.unit else ""
        assert f"{column.name}{unit}  {column.meaning}" in lines


@pytest.mark.parametrize("since", ["2026-10-31", "2026-11-01"])
def test_a_day_that_is_not_earlier_is_refused(sunrill, store, tmp_path, since):
    """The sentence says which day comes first; no file is left."""
    out = tmp_path / "changes.csv"
    done = sunrill("changes", "--since", since, "--to", "2026-10-31", "--store", store, "--out", out, code=1)
    assert "Give the earlier day first" in done.stderr
    assert not out.exists()


def test_days_before_the_first_are_told(sunrill, store, tmp_path):
    """Of 2020 nothing is known: every site came into service since, and the days on record are named."""
    out = tmp_path / "changes.csv"
    done = sunrill("changes", "--since", "2020-01-01", "--to", "2026-10-31", "--store", store, "--out", out)
    assert {row["kind"] for row in _rows(out)} == {"came"}
    assert "The days on record go from" in done.stderr
    done = sunrill("changes", "--since", "2020-01-01", "--to", "2020-01-08", "--store", store, "--out", out)
    assert "nothing to compare" in done.stderr
    assert out.read_text(encoding="utf-8") == ",".join(SCHEMA.names) + "\n"
