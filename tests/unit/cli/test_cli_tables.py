"""Tables that commands write: every ending, hostile cells, what is there already and what is missing."""

import csv
import json
from datetime import date

import openpyxl
import pyogrio
import pytest
from pyarrow import parquet

from pipeline.outputs import Places, csv_text, write_table
from pipeline.visits.ranking import SCHEMA

PERIOD = ("--from", "2026-09-01", "--to", "2026-10-31")
COMMANDS = {"indicators": PERIOD, "visits": ("--as-of", "2026-10-31")}


def _read_csv(path):
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.parametrize("command", COMMANDS)
def test_every_ending_holds_the_same_rows(sunrill, store, tmp_path, command):
    """CSV, XLSX, Parquet, GeoJSON and GeoPackage: three sites each, the same columns."""
    out = {e: tmp_path / "new" / f"table.{e}" for e in ("csv", "xlsx", "parquet", "geojson", "gpkg")}
    for path in out.values():
        done = sunrill(command, *COMMANDS[command], "--store", store, "--out", path)
        assert f"Wrote 3 rows to {path}" in done.stderr
    columns = list(_read_csv(out["csv"])[0])
    heading, *cells = openpyxl.load_workbook(out["xlsx"]).active.iter_rows(values_only=True)
    assert (list(heading), len(cells)) == (columns, 3)
    assert parquet.read_table(out["parquet"]).column_names == columns
    features = json.loads(out["geojson"].read_text(encoding="utf-8"))["features"]
    assert list(features[0]["properties"]) == columns
    places = {f["properties"]["site_id"]: f["geometry"]["coordinates"] for f in features}
    assert places["S1"] == pytest.approx([33.8, -13.5])
    frame = pyogrio.read_dataframe(out["gpkg"])
    assert list(frame.columns) == [*columns, "geometry"]
    assert frame.crs == "EPSG:4326"


def test_a_workbooks_columns_are_as_wide_as_their_days_and_names(sunrill, store, tmp_path):
    """A day in a narrower column shows as ####; a sentence fills no screen; the site stays in sight."""
    for command in ("indicators", "visits"):
        path = tmp_path / f"{command}.xlsx"
        sunrill(command, *COMMANDS[command], "--store", store, "--out", path)
        sheet = openpyxl.load_workbook(path).active
        assert sheet.freeze_panes == "B2"
        for cell in sheet[1]:
            width = sheet.column_dimensions[cell.column_letter].width
            least = 10 if cell.value.endswith("_day") else 0
            assert max(least, 0.8 * len(cell.value)) <= width <= 70, cell.value


def test_columns_of_visits_are_the_contracts(sunrill, store, tmp_path):
    """Also in a file without a row: of a year before the programme."""
    path = tmp_path / "visits.csv"
    sunrill("visits", "--as-of", "2020-01-01", "--store", store, "--out", path)
    assert path.read_text(encoding="utf-8") == ",".join(SCHEMA.names) + "\n"


@pytest.mark.parametrize("ending", ["xlsx", "parquet", "geojson", "gpkg"])
def test_a_table_without_rows_is_a_file_all_the_same(tmp_path, ending):
    """Headings and types stand; nothing fails."""
    path = tmp_path / f"visits.{ending}"
    write_table(SCHEMA.empty_table(), path, Places("site_id", {}))
    if ending == "parquet":
        assert parquet.read_schema(path).field("value").type == "double"
    assert path.stat().st_size > 0


def test_ids_that_want_to_be_formulas_stay_text(sunrill, store, tmp_path):
    """A site named =S2 gets a quote in CSV, and is a text cell in a workbook."""
    sunrill("visits", "--as-of", "2026-10-31", "--store", store, "--out", tmp_path / "visits.csv")
    assert "'=S2" in {row["site_id"] for row in _read_csv(tmp_path / "visits.csv")}
    sunrill("visits", "--as-of", "2026-10-31", "--store", store, "--out", tmp_path / "visits.xlsx")
    cells = [row[0] for row in openpyxl.load_workbook(tmp_path / "visits.xlsx").active.iter_rows()]
    assert {(c.value, c.data_type) for c in cells[1:]} == {("S1", "s"), ("=S2", "s"), ("S3", "s")}


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_text_cells_are_disarmed_and_numbers_are_not(start):
    """A text with a dangerous start gets a quote; a negative number stays one."""
    assert list(csv.reader(csv_text([{"a": f"{start}1", "b": -1}]).splitlines(keepends=True)))[1][
        0
    ].startswith("'")
    assert csv_text([{"a": -1.5}]) == "a\n-1.5\n"


@pytest.mark.parametrize("ending", ["csv", "xlsx", "parquet", "geojson", "gpkg"])
def test_a_file_that_is_there_is_written_over(tmp_path, ending):
    """No layer and no row of the earlier table stays, and the same table gives the same bytes."""
    places = Places("site_id", {"A": {"type": "Point", "coordinates": [33.8, -13.5]}})
    path = tmp_path / f"table.{ending}"
    write_table([{"site_id": "A", "day": date(2026, 10, 31)}], path, places)
    expected = path.read_bytes()
    write_table([{"site_id": "B", "other": 1}] * 9, path, places)
    assert path.read_bytes() != expected
    write_table([{"site_id": "A", "day": date(2026, 10, 31)}], path, places)
    assert path.read_bytes() == expected
    if ending == "gpkg":
        assert [name for name, _ in pyogrio.list_layers(path)] == ["table"]


@pytest.mark.parametrize(
    ("name", "words"),
    [("table", "ends in –"), ("table.json", "ends in .json"), ("table.xls", "ends in .xls"), (".", "")],
)
def test_another_ending_is_refused_with_those_that_go(sunrill, store, tmp_path, name, words):
    """The sentence names the endings; no file is left."""
    done = sunrill("visits", "--as-of", "2026-10-31", "--store", store, "--out", tmp_path / name, code=1)
    assert words in done.stderr
    assert ".csv, .xlsx, .parquet, .geojson, .gpkg" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_folder_named_like_a_table_is_no_file(sunrill, store, tmp_path):
    """table.csv may be a folder."""
    (tmp_path / "table.csv").mkdir()
    done = sunrill(
        "visits", "--as-of", "2026-10-31", "--store", store, "--out", tmp_path / "table.csv", code=1
    )
    assert "this is a folder" in done.stderr


def test_districts_have_their_outlines_and_the_programme_lies_nowhere(sunrill, store, tmp_path):
    """A district's row is a polygon; the programme's GeoPackage is refused before anything is computed."""
    path = tmp_path / "districts.geojson"
    sunrill("indicators", *PERIOD, "--group", "district", "--store", store, "--out", path)
    (feature,) = json.loads(path.read_text(encoding="utf-8"))["features"]
    assert (feature["properties"]["district"], feature["geometry"]["type"]) == ("Kati", "Polygon")
    done = sunrill(
        "indicators", *PERIOD, "--group", "programme", "--store", store, "--out", tmp_path / "p.gpkg", code=1
    )
    assert "lie nowhere on a map" in done.stderr


def test_costs_stand_beside_their_currency(sunrill, store, tmp_path):
    """The job's cost and the programme's currency, on every line."""
    path = tmp_path / "figures.csv"
    sunrill("indicators", *PERIOD, "--store", store, "--out", path)
    rows = {row["site_id"]: row for row in _read_csv(path)}
    assert (float(rows["S1"]["om_cost"]), rows["S1"]["currency"]) == (12000, "MWK")
    assert rows["S3"]["om_cost"] == ""


def test_a_period_without_data_is_empty_not_zero(sunrill, store, tmp_path):
    """Figures of a year without a reading: a line a site, its water empty, its coverage 0."""
    path = tmp_path / "figures.csv"
    sunrill("indicators", "--from", "2026-03-01", "--to", "2026-03-31", "--store", store, "--out", path)
    rows = _read_csv(path)
    assert {row["water_m3"] for row in rows} == {""}
    assert {float(row["water_coverage"]) for row in rows} == {0.0}


def test_a_period_that_ends_before_it_starts_is_refused(sunrill, store, tmp_path):
    """The sentence says which way round."""
    done = sunrill(
        "indicators",
        "--from",
        "2026-10-31",
        "--to",
        "2026-10-01",
        "--store",
        store,
        "--out",
        tmp_path / "x.csv",
        code=1,
    )
    assert "before it starts" in done.stderr


def test_a_workbook_too_long_is_refused(tmp_path, monkeypatch):
    """Rows that a sheet would drop in silence are told, with the endings that hold them."""
    monkeypatch.setattr("pipeline.outputs.SHEET_ROWS", 3)
    with pytest.raises(Exception, match="more than a workbook's sheet can hold"):
        write_table([{"a": 1}] * 3, tmp_path / "long.xlsx")
    write_table([{"a": 1}] * 2, tmp_path / "short.xlsx")
    assert (tmp_path / "short.xlsx").exists()


def test_evidence_of_a_store_without_a_reading_says_what_to_load(sunrill, tmp_path):
    """A site alone has no days to tell of; with days given there is nothing in them."""
    sites, mine = tmp_path / "sites.csv", tmp_path / "mine"
    sites.write_text("site_id,name,latitude,longitude\nS1,Mwera,-13.5,33.8\n", encoding="utf-8")
    sunrill("load", sites, "--store", mine)
    assert "Load meter readings" in sunrill("evidence", "S1", "--store", mine, code=1).stderr
    days = ("--from", "2026-09-01", "--to", "2026-10-31")
    assert "S1" in sunrill("evidence", "S1", *days, "--store", mine).stdout
