"""`sunrill harvest`: a row a planting or a group, every ending, its help, and where there is nothing."""

import csv

import openpyxl
import pytest
from pyarrow import parquet

from pipeline.measures.harvest_columns import GROUP_COLUMNS, PLANTING_COLUMNS
from pipeline.store import open_store

PERIOD = ("--from", "2026-10-01", "--to", "2026-10-31")


@pytest.fixture(scope="module")
def harvested(files, tmp_path_factory):
    """The three sites, and a harvest of maize at S1 and at =S2."""
    folder = tmp_path_factory.mktemp("harvests")
    (folder / "blocks.csv").write_text(
        "site_id,block_id,area_ha,irrigation_method\nS1,1,0.5,furrow\n=S2,1,1,furrow\n", encoding="utf-8"
    )
    (folder / "plantings.csv").write_text(
        "site_id,block_id,crop,planted_on\nS1,1,maize,2026-07-01\n=S2,1,maize,2026-07-02\n", encoding="utf-8"
    )
    (folder / "harvests.csv").write_text(
        "site_id,block_id,crop,harvested_on,harvest_kg,price_per_kg,how_known\n"
        "S1,1,maize,2026-10-20,1500,2,weighed\n=S2,1,maize,2026-10-21,1000,,recall\n",
        encoding="utf-8",
    )
    store = open_store(folder / "store", create=True)
    store.load([files, *(folder / f"{name}.csv" for name in ("blocks", "plantings", "harvests"))])
    return folder / "store"


def rows(out):
    with out.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_each_planting_is_written_with_its_currency(sunrill, harvested, tmp_path):
    """1,500 kg on half a hectare at 2 each; a text that a spreadsheet would work out is disarmed."""
    out = tmp_path / "harvest.csv"
    done = sunrill("harvest", "--store", harvested, *PERIOD, "--out", out)
    assert f"Wrote 2 rows to {out}" in done.stderr
    found = {row["site_id"]: row for row in rows(out)}
    assert list(found["S1"]) == [*(of.name for of in PLANTING_COLUMNS), "currency"]
    assert (found["S1"]["harvest_kg_per_ha"], found["S1"]["harvest_value"], found["S1"]["currency"]) == ("3000.0", "3000.0", "MWK")  # fmt: skip
    assert (found["'=S2"]["harvest_value"], found["'=S2"]["recall_share"]) == ("", "1.0")


@pytest.mark.parametrize(
    ("by", "column", "names"),
    [
        ("crop", "crop", ["maize"]),
        ("site", "site_id", ["'=S2", "S1"]),
        ("half_year", "half_year", ["2026-04/2026-09"]),
    ],
)
def test_sums_are_written_by_what_is_asked(sunrill, harvested, tmp_path, by, column, names):
    """2,500 kg in all, by whatever they are put together."""
    out = tmp_path / "harvest.csv"
    sunrill("harvest", "--store", harvested, *PERIOD, "--by", by, "--out", out)
    found = rows(out)
    assert list(found[0]) == [column, *(of.name for of in GROUP_COLUMNS), "currency"]
    assert [row[column] for row in found] == names
    assert sum(float(row["harvest_kg"]) for row in found) == 2500


def test_every_ending_holds_the_same_rows(sunrill, harvested, tmp_path):
    """CSV, XLSX and Parquet; a map is refused in words, for a row is a planting."""
    for ending in ("xlsx", "parquet"):
        sunrill("harvest", "--store", harvested, *PERIOD, "--out", tmp_path / f"harvest.{ending}")
    heading, *cells = openpyxl.load_workbook(tmp_path / "harvest.xlsx").active.iter_rows(values_only=True)
    assert list(heading) == parquet.read_table(tmp_path / "harvest.parquet").column_names
    assert len(cells) == parquet.read_table(tmp_path / "harvest.parquet").num_rows == 2
    refused = sunrill("harvest", "--store", harvested, *PERIOD, "--out", tmp_path / "x.gpkg", code=1)
    assert ".csv, .xlsx, .parquet" in refused.stderr


def test_the_help_tells_each_column(sunrill):
    """With its unit and meaning."""
    told = " ".join(sunrill("harvest", "--help").output.split())
    for of in (*PLANTING_COLUMNS, *GROUP_COLUMNS):
        assert of.name in told
        assert " ".join(of.meaning.split()) in told


def test_a_period_without_a_harvest_is_said(sunrill, harvested, tmp_path):
    """An empty table, and a sentence."""
    out = tmp_path / "harvest.csv"
    done = sunrill(
        "harvest", "--store", harvested, "--from", "2026-09-01", "--to", "2026-09-30", "--out", out
    )
    assert "No harvest is on record from 2026-09-01 to 2026-09-30." in done.stderr
    assert rows(out) == []
