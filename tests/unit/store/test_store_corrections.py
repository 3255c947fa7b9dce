"""Corrections, earlier versions, undo: the new value counts, the old one stays on record with its file."""

import shutil

import pytest

from pipeline.errors import UnknownName
from pipeline.store import history, ledger, replay, undo

READING = ("W1", "2026-03-02 07:00:00")


def versions(desk, table, *key):
    with desk.store.read() as reader:
        return history(reader, table, key)


def value_of(desk):
    return desk.rows(
        "SELECT value FROM meter_readings WHERE meter_id = 'W1' AND read_at = '2026-03-02 07:00'"
    )


def test_other_values_under_a_known_key_correct_it_and_history_keeps_both(stocked):
    """Each version with its file, line, day and whether it is in force, the oldest first."""
    found = versions(stocked, "meter_readings", *READING)
    assert [(v["value"], v["file"], v["line"], str(v["arrived_at"])[:10], v["in_force"]) for v in found] == [
        (130.0, "meter_readings.csv", 3, "2026-03-20", False),
        (131.0, "meter_readings_late.csv", 2, "2026-03-25", True),
    ]


@pytest.mark.parametrize(
    "moment",
    ["2026-03-02 07:00:00", "2026-03-02T07:00", "2026-03-02 07:00Z", "2026-03-02 09:00+02:00", "2026-03-02T09:00:00+02:00"],
)  # fmt: skip
def test_history_knows_a_moment_however_it_is_written(stocked, moment):
    """What `evidence` prints, with its offset, can be copied; without one it is UTC."""
    assert [row["value"] for row in versions(stocked, "meter_readings", "W1", moment)] == [130, 131]


def test_history_of_a_text_that_is_no_moment_is_empty(stocked):
    """There is no such row, and nothing breaks."""
    assert versions(stocked, "meter_readings", "W1", "last week") == []


def test_history_of_a_key_that_nobody_brought_is_empty(stocked):
    """An unknown meter has no version; an unknown table or half a key is told."""
    assert versions(stocked, "meter_readings", "W1", "2020-01-01 00:00:00") == []
    with pytest.raises(UnknownName, match="no table"):
        versions(stocked, "pumps", "W1")
    with pytest.raises(UnknownName, match="parts"):
        versions(stocked, "meter_readings", "W1")


def test_a_row_that_repeats_an_earlier_version_is_unchanged_with_a_note(stocked):
    """A cumulative sheet that still holds the old value corrects nothing; --restore takes it."""
    sheet = "meter_id,read_at,value\nW1,2026-03-02 07:00,130\nW1,2026-03-04 07:00,190\n"
    report = stocked.load_text("meter_readings_cumulative.csv", sheet)
    assert stocked.fates(report) == {"meter_readings_cumulative.csv": {"taken": 1, "unchanged": 1}}
    assert [(f.line, f.rule, f.fate) for f in report.faults] == [(2, "equals_earlier", "note")]
    assert value_of(stocked) == [(131.0,)]
    restored = stocked.load_text("meter_readings_cumulative.csv", sheet, restore=True)
    assert stocked.fates(restored) == {"meter_readings_cumulative.csv": {"corrected": 1, "unchanged": 1}}
    assert value_of(stocked) == [(130.0,)]
    assert [v["value"] for v in versions(stocked, "meter_readings", *READING)] == [130.0, 131.0, 130.0]


def test_a_file_loaded_before_byte_for_byte_changes_nothing_after_a_correction(stocked):
    """Not even with the value that a later file corrected."""
    report = stocked.load(stocked.folder / "meter_readings.csv", on="2026-04-01")
    assert stocked.fates(report) == {"meter_readings.csv": {"unchanged": 4}}
    assert report.faults == []
    assert value_of(stocked) == [(131.0,)]


def test_the_file_that_is_loaded_last_counts_whatever_day_it_came(desk):
    """A later delivery loaded first is corrected by the earlier one; each version keeps its own day."""
    late = "meter_id,read_at,value\nW1,2026-03-02 07:00,131\n"
    no_readings = "meter_id,read_at,value\n"
    desk.load(*desk.delivery(meter_readings=no_readings))
    desk.load_text("meter_readings_late.csv", late, on="2026-03-25")
    desk.load_text("meter_readings_first.csv", late.replace("131", "130"), on="2026-03-20")
    assert value_of(desk) == [(130.0,)]
    assert [(v["value"], str(v["arrived_at"])[:10]) for v in versions(desk, "meter_readings", *READING)] == [
        (131.0, "2026-03-25"),
        (130.0, "2026-03-20"),
    ]


def test_a_missing_column_an_empty_cell_and_a_flawed_cell_leave_the_stored_value(stocked):
    """Only `clear` empties it."""
    stocked.load_text(
        "sites_1.csv", "site_id,name,latitude,longitude,district,elevation_m\nS1,Mlambe,-13.50,33.80,,high\n"
    )
    assert stocked.rows("SELECT district, elevation_m FROM sites WHERE site_id = 'S1'") == [("North", 1100.0)]
    report = stocked.load_text(
        "sites_2.csv", "site_id,name,latitude,longitude,elevation_m\nS1,Mlambe,-13.50,33.80,Clear\n"
    )
    assert stocked.fates(report) == {"sites_2.csv": {"corrected": 1}}
    assert stocked.rows("SELECT district, elevation_m FROM sites WHERE site_id = 'S1'") == [("North", None)]


def test_undo_of_a_correction_brings_the_earlier_value_back(stocked):
    """File, who and why stay on record."""
    assert undo(stocked.store, "meter_readings_late.csv", "typed from the wrong page") == 1
    assert value_of(stocked) == [(130.0,)]
    line = ledger.entries(stocked.store.ledger)[-1]
    assert (line["kind"], line["file"], line["why"]) == (
        "undo",
        "meter_readings_late.csv",
        "typed from the wrong page",
    )
    assert line["who"]
    assert (stocked.store.archive / line["gone"][0][1]).exists()


def test_undo_ends_as_if_the_file_had_never_come(stocked, more_desks):
    """Rows, provenance and what waits: the reading of the unknown meter goes with its file."""
    without = more_desks("without")
    without.load(*without.delivery())
    undo(stocked.store, "meter_readings_late.csv", "wrong")
    assert stocked.contents() == without.contents()


def test_an_undo_from_a_version_that_is_left_ends_as_one_from_the_beginning(stocked, more_desks, monkeypatch):
    """A file of before another and a setting: what came since is kept, whichever way it was taken back."""
    other = more_desks("other")
    shutil.copytree(stocked.store.path, other.store.path, dirs_exist_ok=True)
    for desk in (stocked, other):
        desk.load_text(
            "meter_readings_7.csv", "meter_id,read_at,value\nW1,2026-03-05 07:00,152\n", on="2026-04-01"
        )
        desk.store.change_setting("judged_coverage", "0.6")
        desk.load_text(
            "meter_readings_8.csv", "meter_id,read_at,value\nW1,2026-03-06 07:00,153\n", on="2026-04-02"
        )
    again = []
    work = replay.replay_load
    monkeypatch.setattr(replay, "replay_load", lambda *told: again.append(told) or work(*told))
    undo(stocked.store, "meter_readings_7.csv", "wrong")
    assert len(again) == 2  # that file's load, of which nothing is left, and the later one
    monkeypatch.setattr(replay, "_before", lambda *_: None)
    undo(other.store, "meter_readings_7.csv", "wrong")
    assert len(again) > 5
    assert stocked.contents() == other.contents()
    assert stocked.store.manifest().settings == other.store.manifest().settings
    assert stocked.figures() == other.figures()


def test_an_undo_after_an_undo_of_an_earlier_file_keeps_both_away(stocked):
    """The first was taken back after the second had come: no version from between the two is taken for whole."""
    stocked.load_text(
        "meter_readings_7.csv", "meter_id,read_at,value\nW1,2026-03-05 07:00,152\n", on="2026-04-01"
    )
    undo(stocked.store, "meter_readings_late.csv", "wrong")
    undo(stocked.store, "meter_readings_7.csv", "wrong")
    assert value_of(stocked) == [(130.0,)]
    assert stocked.rows("SELECT count(*) FROM meter_readings WHERE value = 152") == [(0,)]


def test_undo_of_a_parent_lets_its_children_wait_again(stocked):
    """Without its meters a reading can't count, and it isn't lost."""
    undo(stocked.store, "meters.csv", "another programme's")
    assert stocked.rows("SELECT count(*) FROM meter_readings") == [(0,)]
    assert stocked.rows("SELECT count(*) FROM store.meter_readings_held") == [(6,)]
    report = stocked.load(stocked.folder / "meters.csv")
    assert stocked.fates(report) == {"meters.csv": {"taken": 2}}
    assert report.released == {"meter_readings": 5}
    assert value_of(stocked) == [(131.0,)]


def test_undo_takes_a_file_by_how_its_digest_begins(stocked):
    """Eight letters are enough; fewer are not."""
    sha = ledger.entries(stocked.store.ledger)[1]["files"][0]["sha"]
    with pytest.raises(UnknownName, match="no load in force"):
        undo(stocked.store, sha[:7], "wrong")
    assert undo(stocked.store, sha[:8], "wrong") == 1
    assert value_of(stocked) == [(130.0,)]
    with pytest.raises(UnknownName, match="no load in force"):
        undo(stocked.store, sha, "again")


def test_a_file_that_was_taken_back_can_be_loaded_again(stocked):
    """Undo forgets nothing and forbids nothing."""
    before = {name: [row[:-3] for row in rows] for name, rows in stocked.contents().items()}
    undo(stocked.store, "meter_readings_late.csv", "thought it wrong")
    report = stocked.load(stocked.folder / "meter_readings_late.csv", on="2026-03-26")
    assert stocked.fates(report) == {"meter_readings_late.csv": {"corrected": 1, "held": 1}}
    assert {name: [row[:-3] for row in rows] for name, rows in stocked.contents().items()} == before


def test_undo_of_one_name_leaves_the_same_bytes_that_came_under_another(desk):
    """Two people sent the same sheet: taking one back leaves the other's rows."""
    desk.load(
        desk.write("sites_a.csv", desk.texts["sites.csv"]), desk.write("sites_b.csv", desk.texts["sites.csv"])
    )
    assert undo(desk.store, "sites_a.csv", "sent twice") == 1
    assert desk.rows("SELECT DISTINCT file FROM sources") == [("sites_b.csv",)]
    assert desk.rows("SELECT count(*) FROM sites") == [(2,)]


def test_a_name_that_several_files_bear_takes_none_of_them_back(desk):
    """Each month's sheet is called the same: the SHA-256 tells which is meant."""
    desk.load(*desk.delivery(meter_readings="meter_id,read_at,value\n"))
    for month in ("03", "04"):
        text = f"meter_id,read_at,value\nW1,2026-{month}-05 07:00,15{month}\n"
        desk.load_text("meter_readings_north.csv", text, on="2026-05-01")
    with pytest.raises(UnknownName, match="2 files of this name") as refused:
        undo(desk.store, "meter_readings_north.csv", "wrong")
    sha = refused.value.fault.mend.split(": ")[1][:8]
    assert undo(desk.store, sha, "wrong") == 1
    assert desk.rows("SELECT count(*) FROM meter_readings") == [(1,)]
