"""The five fates on real small files: each row gets exactly one, whatever the order of the files."""

import hashlib

import pytest

from pipeline.store import load


def sums(report):
    return [(x.rows, x.taken + x.unchanged + x.corrected + x.held + x.rejected) for x in report.files]


MESSY = """meter_id,read_at,value
W1,2026-03-01 07:00,100
W1,2026-03-01 07:00,100
W1,2026-03-02 07:00,"1,300"
W9,2026-03-02 07:00,7

W1,2026-03-03 07:00,160
,2026-03-04 07:00,170
W1,2026-03-03 07:00,165
"""


def test_the_five_fates_sum_to_the_rows_of_each_sheet(desk):
    """Taken, unchanged, corrected, held and rejected rows in one file; a blank line is no row."""
    desk.load(*desk.delivery(meter_readings="meter_id,read_at,value\n"))
    report = desk.load_text("meter_readings_messy.csv", MESSY)
    assert desk.fates(report) == {
        "meter_readings_messy.csv": {"taken": 2, "unchanged": 1, "corrected": 1, "held": 1, "rejected": 2}
    }
    assert sums(report) == [(7, 7)]


def test_every_sheet_of_a_workbook_has_a_line_of_its_own(desk):
    """Two tables in one workbook are two lines; a whole number of a sheet loses its decimals."""
    path = desk.workbook(
        "march.xlsx",
        {
            "sites": [["site_id", "name", "latitude", "longitude"], [1001, "Mlambe", -13.5, 33.8]],
            "meters": [["meter_id", "site_id", "quantity"], [7, 1001, "water"], [8, 1002, "water"]],
        },
    )
    report = desk.load(path)
    assert desk.fates(report) == {
        "march.xlsx·sites": {"taken": 1},
        "march.xlsx·meters": {"taken": 1, "held": 1},
    }
    assert desk.rows("SELECT meter_id, site_id FROM meters") == [("7", "1001")]


def test_loading_again_leaves_every_row_unchanged(desk):
    """The same files a second time change neither rows nor provenance."""
    paths = desk.delivery()
    desk.load(*paths)
    before = desk.contents()
    report = desk.load(*paths)
    assert all(set(line) == {"unchanged"} for line in desk.fates(report).values())
    assert len(desk.fates(report)) == len(paths)
    assert desk.contents() == before


def test_the_same_rows_in_another_file_are_unchanged(desk):
    """Rows typed anew into another sheet, in another order and format, are there already."""
    desk.load(*desk.delivery())
    report = desk.load_text(
        "meter_readings_again.csv",
        "value;read_at;meter_id\n130,0;2026-03-02 07:00;W1\n100;2026-03-01T07:00;W1\n",
    )
    assert desk.fates(report) == {"meter_readings_again.csv": {"unchanged": 2}}


def test_the_same_bytes_under_another_name_are_unchanged(desk):
    """A copy of a sheet is the same sheet, even where a later file corrected it."""
    desk.load(*desk.delivery())
    desk.load_text("meter_readings_late.csv", "meter_id,read_at,value\nW1,2026-03-02 07:00,131\n")
    report = desk.load_text("meter_readings copy (1).csv", desk.texts["meter_readings.csv"])
    assert desk.fates(report) == {"meter_readings copy (1).csv": {"unchanged": 4}}
    assert desk.rows("SELECT value FROM meter_readings WHERE meter_id = 'W1' ORDER BY read_at") == [
        (100.0,),
        (131.0,),
    ]


def test_the_same_bytes_of_another_table_are_read_anew(desk):
    """A name says what table a sheet is of: the same bytes can be two tables."""
    text = "agreement_id,site_id,funder,title,start_on,end_on\nG1,S1,Fund,Water,2025-01-01,2027-12-31\n"
    desk.load(*desk.delivery())
    desk.load_text("agreements.csv", text)
    report = desk.load_text("agreement_sites.csv", text)
    assert desk.fates(report) == {"agreement_sites.csv": {"taken": 1}}


def test_two_copies_in_one_load_are_one(desk):
    """A folder that holds a sheet twice: the second is unchanged."""
    report = desk.load(
        desk.write("sites_a.csv", desk.texts["sites.csv"]), desk.write("sites_b.csv", desk.texts["sites.csv"])
    )
    assert desk.fates(report) == {"sites_a.csv": {"taken": 2}, "sites_b.csv": {"unchanged": 2}}


def test_a_row_waits_for_its_parent_and_is_taken_when_it_comes(desk):
    """Readings come first, then the meter, then the site: each is released by the load of its parent."""
    first = desk.load_text("meter_readings.csv", desk.texts["meter_readings.csv"])
    second = desk.load_text("meters.csv", desk.texts["meters.csv"])
    third = desk.load_text("sites.csv", desk.texts["sites.csv"])
    assert desk.fates(first) == {"meter_readings.csv": {"held": 4}}
    assert desk.fates(second) == {"meters.csv": {"held": 2}}
    assert third.released == {"meters": 2, "meter_readings": 4}
    assert desk.rows("SELECT count(*) FROM meter_readings") == [(4,)]


def test_a_row_that_waits_already_is_unchanged(desk):
    """The same reading of an unknown meter in two files waits once."""
    desk.load_text("meter_readings.csv", "meter_id,read_at,value\nX,2026-03-01 07:00,1\n")
    report = desk.load_text("meter_readings_2.csv", "meter_id,value,read_at\nX,1.0,2026-03-01T07:00\n")
    assert desk.fates(report) == {"meter_readings_2.csv": {"unchanged": 1}}


def test_a_time_with_an_offset_waits_apart_from_a_local_one(desk):
    """07:00 on the wall and 07:00 UTC are two moments, though the meter whose clock tells them apart is unknown."""
    desk.store.change_setting("timezone", "Africa/Blantyre")
    desk.load_text("meter_readings.csv", "meter_id,read_at,value\nW1,2026-03-01 07:00,1\n")
    report = desk.load_text("meter_readings_utc.csv", "meter_id,read_at,value\nW1,2026-03-01T07:00Z,1\n")
    assert desk.fates(report) == {"meter_readings_utc.csv": {"held": 1}}
    desk.load(*desk.delivery(meter_readings="meter_id,read_at,value\n"))
    assert desk.rows("SELECT read_at::VARCHAR FROM meter_readings ORDER BY 1") == [
        ("2026-03-01 05:00:00",),
        ("2026-03-01 07:00:00",),
    ]


def test_a_waiting_row_that_clears_a_cell_waits_apart_from_an_empty_one(desk):
    """`clear` in a row that waits still clears when it is released."""
    desk.load_text("hazards.csv", "site_id,hazard,note\nS1,well,open\n")
    desk.load_text("hazards_2.csv", "site_id,hazard,note\nS1,well,\n")
    report = desk.load_text("hazards_3.csv", "site_id,hazard,note\nS1,well,clear\n")
    assert desk.fates(report) == {"hazards_3.csv": {"held": 1}}
    desk.load_text("sites.csv", desk.texts["sites.csv"])
    assert desk.rows("SELECT note FROM hazards") == [(None,)]


def test_waiting_rows_that_correct_each_other_end_as_if_they_had_not_waited(desk, more_desks):
    """The later of two held versions is in force and the earlier on record, as in a store with the meter."""
    readings = [
        "meter_id,read_at,value\nW1,2026-03-01 07:00,10\n",
        "meter_id,read_at,value\nW1,2026-03-01 07:00,12\n",
    ]
    waited, straight = desk, more_desks("straight")
    parents = {"sites.csv": desk.texts["sites.csv"], "meters.csv": desk.texts["meters.csv"]}
    for name, text in parents.items():
        straight.load_text(name, text)
    for one in (waited, straight):
        for i, text in enumerate(readings):
            one.load_text(f"meter_readings_{i}.csv", text)
    for name, text in parents.items():
        waited.load_text(name, text)
    assert waited.contents() == straight.contents()
    assert waited.rows("SELECT value FROM meter_readings") == [(12.0,)]


@pytest.mark.parametrize("seed", ["one", "two", "three"])
def test_files_end_with_the_same_store_in_any_order_and_in_any_loads(seed, desk, more_desks):
    """Where no file corrects another, rows, provenance and what waits don't depend on order or batches."""
    extra = {
        "site_aliases.csv": "alias,site_id\nOld Mlambe,S1\n",
        "meter_readings_more.csv": "meter_id,read_at,value\nW1,2026-03-03 07:00,150\nW7,2026-03-03 07:00,1\n",
        "maintenance.csv": "record_id,site_id,kind,reported_at\nJ1,mlambe ,corrective,2026-03-02 09:00\nJ2,Old Mlambe,corrective,2026-03-02 09:00\nJ3,CHITSIME,inspection,2026-03-03\n",
        "telemetry.csv": "site_id,logged_at,flow_m3h\nS1,2026-03-01 09:00,8\nMlambe,2026-03-01 09:15,8.2\nS5,2026-03-01 09:15,1\n",
    }
    straight, shuffled = desk, more_desks("shuffled")
    paths = [desk.write(name, text) for name, text in (desk.texts | extra).items()]
    straight.load(*paths)
    mixed = sorted(paths, key=lambda p: hashlib.sha256((seed + p.name).encode()).digest())
    for batch in (mixed[:1], mixed[1:3], mixed[3:7], mixed[7:]):
        shuffled.load(*batch)
    assert shuffled.contents() == straight.contents()


def test_children_go_after_parents_within_a_load(desk):
    """A folder's files by name bring blocks before sites; nothing waits."""
    desk.delivery()
    report = desk.load(desk.folder)
    assert all(set(line) == {"taken"} for line in desk.fates(report).values())


def test_files_of_a_load_count_in_the_order_given(desk, more_desks):
    """Of two files of one load that give a key two values, the later one counts."""
    desk.load(*desk.delivery(meter_readings="meter_id,read_at,value\n"))
    one = desk.write("meter_readings_1.csv", "meter_id,read_at,value\nW1,2026-03-01 07:00,1\n")
    two = desk.write("meter_readings_2.csv", "meter_id,read_at,value\nW1,2026-03-01 07:00,2\n")
    other = more_desks("other")
    other.load(*other.delivery(meter_readings="meter_id,read_at,value\n"))
    desk.load(one, two)
    other.load(two, one)
    assert desk.rows("SELECT value FROM meter_readings") == [(2.0,)]
    assert other.rows("SELECT value FROM meter_readings") == [(1.0,)]


def test_files_too_many_to_hold_at_once_end_as_the_others_do(desk, more_desks, monkeypatch):
    """Where no cell may be held, each file is read again in its turn: the same fates, the same store."""
    sheets = {
        "meters": [["meter_id", "site_id", "quantity"], ["W7", "S1", "water"]],
        "meter_readings": [["meter_id", "read_at", "value"], ["W7", "2026-03-05 07:00", 8]],
    }
    held = desk.load(*desk.delivery(), desk.workbook("march.xlsx", sheets))
    again = more_desks("again")
    monkeypatch.setattr(load, "HELD_BYTES", 0)
    let_go = again.load(*again.delivery(), again.workbook("march.xlsx", sheets))
    assert again.fates(let_go) == desk.fates(held)
    assert again.contents() == desk.contents()
