"""The files of the demo programme keep to the contract, and its mistakes are on record."""

import csv
import hashlib
import time
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from pyarrow import parquet
from shapely.geometry import Point, shape

from data_demo import generate
from data_demo.__main__ import write
from pipeline.intake import READERS
from pipeline.tables import TABLES, tables_named

DEMO_ENDINGS = (".csv", ".xlsx", ".parquet", ".geojson", ".gpkg", ".kml")
Sheet = tuple[Path, str, list[str], list[dict[str, Any]]]  # file, table, heading, rows


def _rows(sheets: list[Sheet], table: str) -> list[dict[str, Any]]:
    return [row for _, name, _, rows in sheets if name == table for row in rows]


def _listed(sheets: list[Sheet]) -> list[dict[str, Any]]:
    """The first list of sites; what comes later tells which of them were given up."""
    return [row for row in _rows(sheets, "sites") if "decommissioned_on" not in row]


def _digests(folder: Path) -> dict[str, str]:
    return {
        str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in folder.rglob("*")
        if p.is_file()
    }


def test_every_written_column_is_one_of_the_contract(sheets: list[Sheet]) -> None:
    """The field of the demo knows its tables: nothing unknown, nothing required left out."""
    for path, table, heading, _ in sheets:
        assert set(heading) <= set(TABLES[table].by_name), (path.name, table)
        assert set(TABLES[table].required) <= set(heading), (path.name, table)


def test_every_table_of_the_contract_has_rows(sheets: list[Sheet]) -> None:
    """Logs are counted in their files; all other tables have rows to read."""
    assert {table for _, table, _, rows in sheets if rows or table == "telemetry"} == set(TABLES)


def test_every_format_that_intake_reads_arrives(sheets: list[Sheet]) -> None:
    """Commas with and without a byte-order mark, semicolons, workbooks, Parquet, and shapes in three formats."""
    assert {path.suffix for path, *_ in sheets} == set(DEMO_ENDINGS)
    assert set(READERS) - set(DEMO_ENDINGS) == {".txt", ".json"}  # other names of CSV and GeoJSON
    texts = [path.read_bytes() for path, *_ in sheets if path.suffix == ".csv"]
    assert {text.startswith(b"\xef\xbb\xbf") for text in texts} == {True, False}


def test_every_column_of_the_contract_is_filled_somewhere(sheets: list[Sheet]) -> None:
    """What the field may send, somebody sends."""
    filled = {
        (table, c)
        for _, table, _, rows in sheets
        for row in rows
        for c, v in row.items()
        if v not in (None, "")
    }
    empty = {(t.name, c) for t in TABLES.values() if t.name != "telemetry" for c in t.by_name} - filled
    assert empty == set()


def test_the_same_options_write_the_same_bytes_and_another_seed_others(tmp_path: Path) -> None:
    """Workbooks and GeoPackages too, whose clocks stand still while this one goes on."""
    first = _digests(generate(tmp_path / "a", sites=8, days=70, seed=5))
    time.sleep(1.1)  # a workbook's clock counts seconds
    assert first == _digests(generate(tmp_path / "b", sites=8, days=70, seed=5))
    assert first != _digests(generate(tmp_path / "c", sites=8, days=70, seed=6))
    assert {Path(name).suffix for name in first} >= set(DEMO_ENDINGS)


def test_two_programmes_never_mix_in_a_folder(tmp_path: Path) -> None:
    """The same one may be written again, as after a kill; another one is refused and changes nothing."""
    before = _digests(generate(tmp_path, sites=4, days=40, seed=5))
    (tmp_path / "deliveries" / "2026-11-05" / "weather_2026_11.csv").unlink()
    assert _digests(generate(tmp_path, sites=4, days=40, seed=5)) == before
    done = CliRunner().invoke(write, ["--out", str(tmp_path), "--sites", "4", "--days", "41"])
    assert done.exit_code == 1
    assert "holds the files of another programme" in done.output
    assert _digests(tmp_path) == before


def test_a_delivery_arrives_on_the_day_that_names_its_folder(programme: Path) -> None:
    """Nineteen at most, each a day, none before the first day."""
    days = sorted(date.fromisoformat(p.name) for p in (programme / "deliveries").iterdir())
    assert len(days) <= 19
    assert days[0] == date(2025, 5, 1)
    assert days[-1] == date(2026, 11, 5)


def test_no_two_files_of_a_delivery_correct_each_other(sheets: list[Sheet]) -> None:
    """A key that comes twice in a delivery has the same values: its files may be loaded in any order."""
    seen: dict[tuple[str, str, tuple[str, ...]], dict[str, Any]] = {}
    for path, table, heading, rows in sheets:
        for row in rows:
            key = (path.parent.name, table, tuple(str(row.get(k)) for k in TABLES[table].key))
            before = seen.setdefault(key, row)
            assert {c: str(before[c]) for c in heading} == {c: str(row[c]) for c in heading}, key


def test_every_site_lies_in_its_district(sheets: list[Sheet]) -> None:
    """Sixty sites, sixty names, four districts that tile the area without an overlap."""
    districts = {row["district"]: shape(row["geometry"]) for row in _rows(sheets, "districts")}
    sites = _listed(sheets)
    assert len(districts) == 4
    assert len({row["name"] for row in sites}) == len(sites) == 60
    for row in sites:
        assert districts[row["district"]].contains(Point(row["longitude"], row["latitude"]))
    outlines = list(districts.values())
    whole = outlines[0]
    for outline in outlines[1:]:
        whole = whole.union(outline)
    assert whole.area == pytest.approx(sum(o.area for o in outlines))


def test_roads_reach_every_site_and_base(sheets: list[Sheet]) -> None:
    """One network, and a road ends at each place."""
    lines = [[tuple(p) for p in row["geometry"]["coordinates"]] for row in _rows(sheets, "roads")]
    reached, left = set(lines[0]), lines[1:]
    while met := [line for line in left if reached & set(line)]:
        reached.update(point for line in met for point in line)
        left = [line for line in left if line not in met]
    assert left == []
    for row in _listed(sheets) + _rows(sheets, "bases"):
        nearest = min(abs(x - row["longitude"]) + abs(y - row["latitude"]) for x, y in reached)
        assert nearest < 2e-5, row["name"]  # degrees, 2 m: places are written to five decimals


def test_every_mistake_on_record_names_its_file(programme: Path, made: list[dict[str, str]]) -> None:
    """Each kind of the field's mistakes happens, in a file that is there and of that table."""
    kinds = (
        "transposed missing_digit red_decimals litres_as_m3 thousands_mark day_first late corrected_later "
        "unknown_meter unknown_meter_at_first name_for_id formula_or_script clock_three_hours_off "
        "title_rows semicolons copy typed_twice words_for_number"
    )
    assert {row["kind"] for row in made} == set(kinds.split())
    for row in made:
        path = programme / "deliveries" / row["delivery"] / row["file"]
        assert path.is_file(), row
        assert path.suffix == ".xlsx" or next(tables_named(row["file"])).name == row["table"]


def test_a_mistyped_reading_stands_in_its_file_as_the_record_says(
    sheets: list[Sheet], made: list[dict[str, str]]
) -> None:
    """Litres as cubic metres end in three noughts, a thousands mark has its comma."""
    cells = {
        (path.parent.name, path.name, f"{row['meter_id']} {str(row['read_at'])[:16]}"): str(row["value"])
        for path, table, _, rows in sheets
        if table == "meter_readings"
        for row in rows
    }
    found = {"litres_as_m3": 0, "thousands_mark": 0}
    for row in made:
        value = cells.get((row["delivery"], row["file"], row["key"]))
        if row["kind"] in found and value is not None:
            found[row["kind"]] += 1
            assert value.endswith("000") if row["kind"] == "litres_as_m3" else "," in value, row
    assert all(n > 5 for n in found.values()), found


def test_a_correction_comes_in_a_later_delivery(sheets: list[Sheet], made: list[dict[str, str]]) -> None:
    """The wrong sheet first, the right one with the next delivery: seven too many in its last row."""
    books = {(path.parent.name, path.name): rows for path, _, _, rows in sheets}
    corrected = [row for row in made if row["kind"] == "corrected_later"]
    assert corrected
    for row in corrected:
        wrong = books[row["delivery"], row["file"]]
        name = f"{Path(row['file']).stem}_corrected.csv"
        (day, right), *more = [(d, rows) for (d, file), rows in books.items() if file == name]
        assert not more
        assert day > row["delivery"]
        assert int(wrong[-1]["value"]) == int(right[-1]["value"]) + 7


def test_some_jobs_are_still_open_at_the_end(sheets: list[Sheet]) -> None:
    """A stop whose last line in the field book has no end."""
    last = {row["record_id"]: row for row in _rows(sheets, "maintenance")}
    still = [row for row in last.values() if row["restored_at"] is None]
    assert still
    assert all(row["water_stopped"] == "yes" and row["status"] != "closed" for row in still)
    assert len(still) < len(last) / 5


def test_the_paper_programme_has_neither_logs_nor_outlines(tmp_path: Path) -> None:
    """What most offices have: meter books, and few meters on blocks."""
    out = generate(tmp_path, sites=30, days=62, paper_only=True)
    files = [p.name for p in (out / "deliveries").glob("*/*")]
    assert not [f for f in files if f.startswith("telemetry")]
    assert "blocks.csv" in files
    with (out / "truth" / "instruments.csv").open(encoding="utf-8", newline="") as lines:
        kept = list(csv.DictReader(lines))
    assert {row["telemetry"] for row in kept} == {"no"}
    assert sum(row["block_meters"] == "yes" for row in kept) <= 3


def test_many_sites_are_written_by_chunks(tmp_path: Path) -> None:
    """A second chunk has files of its own, and truth holds every site and day once."""
    told: list[tuple[int, int]] = []
    out = generate(tmp_path, sites=260, days=10, progress=lambda done, of: told.append((done, of)))
    assert told == [(250, 260), (260, 260)]
    truth = parquet.read_table(out / "truth" / "site_days.parquet")
    assert truth.num_rows == 260 * 10
    assert len(set(zip(truth["site_id"].to_pylist(), truth["day"].to_pylist(), strict=True))) == 2600
    assert {p.name for p in out.glob("deliveries/*/sites*")} == {"sites_000.xlsx", "sites_001.xlsx"}


def test_truth_and_books_agree_about_days(programme: Path, sheets: list[Sheet]) -> None:
    """The books write of the programme's days alone, and truth has all of them."""
    truth = parquet.read_table(programme / "truth" / "site_days.parquet")
    days = truth["day"].to_pylist()
    assert (min(days), max(days)) == (date(2025, 5, 1), date(2026, 10, 31))
    assert truth.num_rows == 60 * 549
    for row in _rows(sheets, "surveys"):
        seen = row["surveyed_on"]
        assert min(days) <= (seen.date() if isinstance(seen, datetime) else seen) <= max(days)
