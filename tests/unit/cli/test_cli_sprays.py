"""`sunrill sprays`: a row a block, every ending, its help, and where there is nothing."""

import csv

import openpyxl
import pytest
from pyarrow import parquet

from pipeline.measures.spray_columns import COLUMNS, SCHEMA
from pipeline.store import open_store


@pytest.fixture(scope="module")
def blocks(files, tmp_path_factory):
    """The three sites; S1 has two blocks of spray tubes and a survey with uneven cans, =S2 a furrow."""
    folder = tmp_path_factory.mktemp("sprays")
    (folder / "blocks.csv").write_text(
        "site_id,block_id,area_ha,irrigation_method,lateral_spacing_m,wetted_diameter_m\n"
        "S1,1,0.5,spray_tube,3,2.4\nS1,=2,0.5,spray_tube,3,3\n=S2,1,1,furrow,,\n",
        encoding="utf-8",
    )
    (folder / "surveys.csv").write_text(
        f"survey_id,site_id,surveyed_on,catch_depths_mm\nV1,S1,2026-10-20,{';'.join(['5'] * 6 + ['15'] * 6)}\n",
        encoding="utf-8",
    )
    store = open_store(folder / "store", create=True)
    store.load([files, folder / "blocks.csv", folder / "surveys.csv"])
    return folder / "store"


def test_each_block_is_written_with_what_it_needs(sunrill, blocks, tmp_path):
    """A dry strip by design names its block; the cans name the site alone; a furrow has no laterals."""
    out = tmp_path / "sprays.csv"
    done = sunrill("sprays", "--store", blocks, "--out", out)
    assert f"Wrote 3 rows to {out}" in done.stderr
    with out.open(encoding="utf-8", newline="") as stream:
        found = {(r["site_id"], r["block_id"]): r for r in csv.DictReader(stream)}
    assert {key: (r["standing"], r["needs"], r["site_needs"]) for key, r in found.items()} == {
        ("S1", "1"): ("needs", "nozzles", "straighten"),
        ("S1", "'=2"): ("site_needs", "", "straighten"),
        ("'=S2", "1"): ("no_laterals", "", ""),
    }


def test_every_ending_holds_the_same_rows(sunrill, blocks, tmp_path):
    """CSV, XLSX and Parquet; a map is refused in words, for a row is a block."""
    for ending in ("xlsx", "parquet"):
        sunrill("sprays", "--store", blocks, "--out", tmp_path / f"sprays.{ending}")
    heading, *cells = openpyxl.load_workbook(tmp_path / "sprays.xlsx").active.iter_rows(values_only=True)
    assert (list(heading), len(cells)) == (SCHEMA.names, 3)
    assert parquet.read_table(tmp_path / "sprays.parquet").schema == SCHEMA
    refused = sunrill("sprays", "--store", blocks, "--out", tmp_path / "sprays.gpkg", code=1)
    assert ".csv, .xlsx, .parquet" in refused.stderr


def test_what_came_later_does_not_exist(sunrill, blocks, tmp_path):
    """The day before the survey no can is known."""
    sunrill("sprays", "--store", blocks, "--as-of", "2026-10-19", "--out", tmp_path / "sprays.parquet")
    assert set(parquet.read_table(tmp_path / "sprays.parquet")["site_needs"].to_pylist()) == {""}


def test_without_a_block_a_day_or_a_store_there_is_a_sentence(sunrill, store, tmp_path):
    """An empty table where sites have no blocks; a way on where nothing was loaded."""
    done = sunrill("sprays", "--store", store, "--out", tmp_path / "none.csv")
    assert "No site with a block was in service" in done.stderr
    assert "site_id,block_id" in (tmp_path / "none.csv").read_text(encoding="utf-8")
    sunrill("sprays", "--store", tmp_path / "nowhere", "--out", tmp_path / "none.csv", code=1)


def test_the_help_says_what_each_column_is(sunrill):
    """A line a column, as it stands in the file."""
    lines = [line.strip() for line in sunrill("sprays", "--help").stdout.splitlines()]
    for column in COLUMNS:
        unit = f" [{column.unit}]" if column.unit else ""
        assert f"{column.name}{unit}  {column.meaning}" in lines
