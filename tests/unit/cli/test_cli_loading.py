"""`sunrill load`: what is printed, what is written, and what happens when something is missing."""

import csv
import json
import re
from hashlib import sha256

import pytest
from rich.console import Console

from pipeline import terminal

FATES = ("taken", "unchanged", "corrected", "held", "rejected")


def test_a_line_for_each_file_with_its_fates(sunrill, files, tmp_path):
    """The table names every file and sheet; what was held until its parent came is told."""
    done = sunrill("load", files, "--store", tmp_path / "store")
    for name in ("sites.csv", "meters.csv", "meter_readings.csv", "maintenance.csv"):
        assert name in done.stdout
    for heading in ("rows", *FATES, "flaws"):
        assert heading in done.stdout


def test_the_report_holds_the_same_as_json(sunrill, files, tmp_path):
    """Each file's five fates sum to its rows."""
    report = tmp_path / "new" / "folder" / "report.json"
    sunrill("load", files, "--store", tmp_path / "store", "--report", report)
    told = json.loads(report.read_text(encoding="utf-8"))
    assert told["released"] == {}
    assert len(told["files"]) == 6
    for line in told["files"]:
        assert set(line) == {"file", "sheet", "table", "rows", "flaws", *FATES}
        assert sum(line[fate] for fate in FATES) == line["rows"] > 0


def test_status_says_what_held_rows_wait_for(sunrill, files, tmp_path):
    """Which meter has not come, and how many rows it keeps; once it has, nothing waits."""
    store = tmp_path / "store"
    done = sunrill("load", files / "sites.csv", files / "meter_readings.csv", "--store", store)
    assert "`sunrill status` says what that is" in done.stdout
    told = sunrill("status", "--store", store).stdout
    assert re.search(r"meter_readings +8 +meters: W1\n", told)
    assert re.search(r"meter_readings +8 +meters: W2 *\n", told)
    assert "sunrill status" not in sunrill("load", files / "meters.csv", "--store", store).stdout
    assert "waits for" not in sunrill("status", "--store", store).stdout


def test_status_counts_the_parents_that_it_does_not_list(sunrill, tmp_path):
    """A file of the wrong district may wait for hundreds of meters."""
    path = tmp_path / "meter_readings.csv"
    lines = [f"W{n},2026-10-01 07:00,5" for n in range(23)]
    path.write_text("meter_id,read_at,value\n" + "\n".join(lines) + "\n", encoding="utf-8")
    sunrill("load", path, "--store", tmp_path / "store")
    told = sunrill("status", "--store", tmp_path / "store").stdout
    assert told.count("meters: W") == 20
    assert "Rows wait for 3 more rows that have not come." in told


def test_status_before_the_first_load_says_so(sunrill, tmp_path):
    """A store with nothing but a setting is no blank line."""
    sunrill("settings", "currency", "ZMW", "--store", tmp_path / "store")
    assert "Nothing has been loaded yet" in sunrill("status", "--store", tmp_path / "store").stdout


@pytest.mark.parametrize("ending", ["csv", "xlsx", "parquet"])
def test_rejects_are_written_even_where_there_are_none(sunrill, files, tmp_path, ending):
    """A file with headings alone says that nothing was rejected."""
    rejects = tmp_path / f"rejects.{ending}"
    sunrill("load", files / "site_aliases.csv", "--store", tmp_path / "store", "--rejects", rejects)
    assert rejects.stat().st_size > 0
    if ending == "csv":
        assert rejects.read_text(encoding="utf-8") == "file,sheet,line,column,value,fate,rule,how_to_mend\n"


def test_a_rejected_value_cannot_run_as_a_formula(sunrill, tmp_path):
    """What somebody typed stands in the rejects file with a quote in front."""
    path, rejects = tmp_path / "meter_readings.csv", tmp_path / "rejects.csv"
    path.write_text('meter_id,read_at,value\nW1,2026-10-01,"=cmd|x"\n', encoding="utf-8")
    sunrill("load", path, "--store", tmp_path / "store", "--rejects", rejects)
    with rejects.open(encoding="utf-8", newline="") as stream:
        (row,) = csv.DictReader(stream)
    assert (row["value"], row["fate"], row["line"]) == ("'=cmd|x", "rejected", "2")
    assert row["how_to_mend"]


def test_a_path_that_is_not_there_keeps_no_other_out(sunrill, files, tmp_path):
    """Exit 1, the missing one named, the other loaded."""
    done = sunrill(
        "load", tmp_path / "nowhere.csv", files / "sites.csv", "--store", tmp_path / "store", code=1
    )
    assert "nowhere.csv: there is no such file or folder" in done.stderr
    assert "sites.csv" in done.stdout
    alone = sunrill("load", tmp_path / "nowhere.csv", "--store", tmp_path / "store", code=1)
    assert "Mend:" in alone.stderr


def test_a_folder_without_files_is_told(sunrill, tmp_path):
    """Nothing to load is a sentence, not silence."""
    (tmp_path / "empty").mkdir()
    done = sunrill("load", tmp_path / "empty", "--store", tmp_path / "store")
    assert "There is no file to load" in done.stderr


@pytest.mark.parametrize(
    ("option", "name", "words"),
    [
        ("--rejects", "rejects.doc", "ends in .doc"),
        ("--rejects", "rejects.gpkg", "lie nowhere on a map"),
        ("--report", ".", "this is a folder"),
    ],
)
def test_a_place_that_cannot_be_written_stops_before_the_load(sunrill, files, tmp_path, option, name, words):
    """The word comes before anything was taken in."""
    store = tmp_path / "store"
    done = sunrill("load", files, "--store", store, option, tmp_path / name, code=1)
    assert words in " ".join(done.stderr.split())
    assert not store.exists()


def test_a_file_in_place_of_a_folder_is_told(sunrill, files, tmp_path):
    """Neither the store nor a target's folder can be a file."""
    (tmp_path / "taken").write_text("x", encoding="utf-8")
    assert "is a file" in sunrill("load", files, "--store", tmp_path / "taken", code=2).stderr
    done = sunrill(
        "load", files, "--store", tmp_path / "s", "--report", tmp_path / "taken" / "r.json", code=1
    )
    assert "can't be written" in done.stderr


@pytest.mark.parametrize("day", ["31/10/2026", "2026-02-30", "yesterday", "0001-01-01", "9999-12-31"])
def test_a_wrong_day_is_told_how_to_write_it(sunrill, files, tmp_path, day):
    """Exit 2, with the day as it was typed."""
    done = sunrill("load", files, "--store", tmp_path / "store", "--arrived-on", day, code=2)
    assert day in done.stderr


def test_somebody_who_watches_sees_speed_and_time_left(sunrill, files, tmp_path, monkeypatch):
    """On a terminal the bar tells rows a second and how long it will take."""
    monkeypatch.setattr(terminal, "errors", Console(stderr=True, force_terminal=True, width=160))
    done = sunrill("load", files, "--store", tmp_path / "store")
    assert "rows/s" in done.stderr
    assert "left" in done.stderr


def test_the_list_of_files_gives_what_undo_takes(sunrill, files, tmp_path):
    """A line a file, in a narrow window too: the minute, and as much of the SHA-256 as undo needs."""
    mine, path = tmp_path / "store", files / "site_aliases.csv"
    sunrill("load", path, "--store", mine)
    told = sunrill("status", "--files", "--store", mine).stdout
    sha = sha256(path.read_bytes()).hexdigest()[:8]
    assert re.search(rf"site_aliases\.csv .*\d\d:\d\d  +\S+ +{sha} *\n", told)
    assert "was taken back" in sunrill("undo", sha, "--why", "typed twice", "--store", mine).stdout


def test_hostile_names_do_not_reach_the_terminal(sunrill, store):
    """Control characters are shown as such, brackets are no markup."""
    done = sunrill("status", "--files", "--store", store)
    assert "\x1b" not in done.output
    assert terminal.plain("a\x1b[2J\u202eb") == "a�[2J�b"


def test_a_preview_prints_what_would_change_and_takes_nothing(sunrill, files, tmp_path):
    """The load's own grid, the corrected cell before and after, and a store that stays as it was."""
    store = tmp_path / "store"
    sunrill("load", files, "--store", store)
    before = {p: p.read_bytes() for p in store.rglob("*") if p.is_file()}
    path = tmp_path / "meter_readings_more.csv"
    path.write_text(
        "meter_id,read_at,value\nW1,2026-10-31 07:00,1701\nW1,2026-11-01 07:00,1800\nW1,2026-11-02 07:00,much\n"
    )
    rejects, corrections = tmp_path / "rejects.csv", tmp_path / "corrections.csv"
    report = tmp_path / "report.json"
    asked = ("--arrived-on", "2026-11-03", "--rejects", rejects, "--corrections", corrections)
    told = sunrill("load", path, "--store", store, "--preview", "--report", report, *asked)
    assert {p: p.read_bytes() for p in store.rglob("*") if p.is_file()} == before
    assert "nothing was taken" in told.stdout
    assert "meter_readings W1, 2026-10-31 07:00  value  1700 → 1701" in told.stdout
    (line,) = json.loads(report.read_text(encoding="utf-8"))["files"]
    assert {fate: line[fate] for fate in FATES} == dict(zip(FATES, (1, 0, 1, 0, 1), strict=True))
    with rejects.open(encoding="utf-8") as stream:
        assert [row["value"] for row in csv.DictReader(stream)] == ["much"]
    with corrections.open(encoding="utf-8") as stream:
        (cell,) = csv.DictReader(stream)
    assert (cell["old"], cell["new"], cell["old_file"]) == ("1700", "1701", "meter_readings.csv")
    loaded = tmp_path / "loaded.json"
    sunrill("load", path, "--store", store, "--report", loaded, *asked)
    assert json.loads(loaded.read_text()) == json.loads(report.read_text())


def test_a_preview_without_corrections_writes_their_headings(sunrill, files, tmp_path):
    """An empty file says that nothing would be corrected; no store is made."""
    corrections = tmp_path / "corrections.csv"
    sunrill("load", files, "--store", tmp_path / "none", "--preview", "--corrections", corrections)
    assert corrections.read_text(encoding="utf-8") == (
        "file,sheet,line,table,key,column,old,new,old_file,old_sheet,old_line\n"
    )
    assert not (tmp_path / "none").exists()
