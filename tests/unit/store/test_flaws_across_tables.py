"""Flaws that only another table shows: the row is taken, told of once, and said how to mend."""

import pytest

from pipeline.store import status


def told(report):
    return sorted((f.file, f.line, f.column, f.value, f.rule, f.fate) for f in report.faults)


DATED_METER = "meter_id,site_id,quantity,installed_on,removed_on\nW1,S1,water,2026-01-10,2026-02-10\n"
DATED_READINGS = """meter_id,read_at,value
W1,2026-01-09 07:00,1
W1,2026-01-10 07:00,2
W1,2026-02-10 18:00,3
W1,2026-02-11 07:00,4
"""
OUTSIDE = [
    ("meter_readings.csv", 2, "read_at", "2026-01-09", "meter_not_in_place", "flaw"),
    ("meter_readings.csv", 5, "read_at", "2026-02-11", "meter_not_in_place", "flaw"),
]


def test_a_reading_outside_its_meters_days_is_taken_with_a_flaw(desk):
    """The days of installation and removal are inside, the day before and the day after are not."""
    report = desk.load(*desk.delivery(meters=DATED_METER, meter_readings=DATED_READINGS))
    assert told(report) == OUTSIDE
    line = next(x for x in report.files if x.file == "meter_readings.csv")
    assert (line.taken, line.flaws) == (4, 2)


def test_a_reading_that_waited_gets_its_flaw_when_the_meter_comes(desk):
    """The load of the meter tells of the readings' own file and line."""
    desk.load(desk.write("sites.csv", desk.texts["sites.csv"]))
    assert told(desk.load_text("meter_readings.csv", DATED_READINGS)) == []
    assert told(desk.load_text("meters.csv", DATED_METER)) == OUTSIDE


def test_a_flaw_is_told_by_the_load_that_brought_it_first(desk):
    """The same reading in another file is unchanged and not told of again."""
    desk.load(*desk.delivery(meters=DATED_METER, meter_readings=DATED_READINGS))
    assert told(desk.load_text("meter_readings_2.csv", DATED_READINGS + "W1,2026-01-20 07:00,2.5\n")) == []


def test_a_corrected_meter_tells_of_the_readings_that_it_puts_outside(stocked):
    """Only of those that were inside before: a second correction doesn't tell of the same again."""
    heading = "meter_id,site_id,quantity,removed_on\n"
    report = stocked.load_text("meters_2.csv", heading + "W1,S1,water,2026-03-01\n")
    assert told(report) == [
        ("meter_readings_late.csv", 2, "read_at", "2026-03-02", "meter_not_in_place", "flaw")
    ]
    report = stocked.load_text("meters_3.csv", heading + "W1,S1,water,2026-02-28\nW2,S2,water,2026-12-31\n")
    assert told(report) == [("meter_readings.csv", 2, "read_at", "2026-03-01", "meter_not_in_place", "flaw")]


def test_a_crop_that_nobody_knows_is_taken_with_a_flaw(desk):
    """Neither in the built-in list nor in the programme's; fallow and everyday names are known."""
    plantings = "site_id,block_id,crop,planted_on\nS1,A,moonwort,2026-01-05\nS1,B,Fallow,2026-01-05\nS2,A,Beans,2026-01-05\n"
    report = desk.load(*desk.delivery(plantings=plantings))
    assert told(report) == [("plantings.csv", 2, "crop", "moonwort", "unknown_crop", "flaw")]
    assert desk.rows("SELECT count(*) FROM plantings") == [(3,)]


def test_a_crop_of_the_programme_in_the_same_load_is_known(desk):
    """The crops go before the plantings, whatever the order of the files."""
    crops = (
        "crop,kc_ini,kc_mid,kc_end,ini_days,dev_days,mid_days,late_days\nMoonwort,0.4,1.0,0.8,10,20,30,10\n"
    )
    plantings = "site_id,block_id,crop,planted_on\nS1,A,moonwort,2026-01-05\n"
    report = desk.load(*desk.delivery(plantings=plantings), desk.write("crops.csv", crops))
    assert told(report) == []


PLANTED = "site_id,block_id,crop,planted_on,cleared_on,area_ha\n"


@pytest.mark.parametrize(
    ("rows", "lines"),
    [
        ("S1,A,maize,2026-01-01,,0.7\nS1,A,beans,2026-01-10,,0.4\n", []),  # 1.1 of 1.0 ha
        ("S1,A,maize,2026-01-01,,0.7\nS1,A,beans,2026-01-10,,0.5\n", [3]),
        ("S1,A,beans,2026-01-10,,0.5\nS1,A,maize,2026-01-01,,0.7\n", [2]),
        ("S1,A,maize,2026-01-01,2026-01-10,0.7\nS1,A,beans,2026-01-10,,0.5\n", []),  # one after the other
        ("S1,A,maize,2026-01-01,2026-01-11,0.7\nS1,A,beans,2026-01-10,,0.5\n", [3]),
        ("S1,A,maize,2026-01-01,,1.3\nS1,A,beans,2026-01-10,,\n", [2]),  # an empty area takes what is left
        ("S1,A,maize,2024-06-01,,0.9\nS1,A,beans,2026-01-10,,0.9\n", []),  # maize stands a season
        (
            "S1,A,fallow,2025-06-01,,1.0\nS1,A,beans,2026-01-10,,0.9\n",
            [],
        ),  # fallow ends with the next planting
        ("S1,A,maize,2026-01-01,,0.9\nS1,B,beans,2026-01-10,,0.5\nS2,A,beans,2026-01-10,,1.9\n", []),
    ],
)
def test_plantings_over_their_blocks_area_are_a_flaw(desk, rows, lines):
    """More than a tenth over the block's 1.0 ha on one day: the latest planting bears it."""
    report = desk.load(*desk.delivery(plantings=PLANTED + rows))
    assert [(f.line, f.column, f.rule, f.fate) for f in report.faults] == [
        (line, "area_ha", "area_over_block", "flaw") for line in lines
    ]


def test_a_later_planting_that_overfills_a_block_is_told_in_its_own_load(desk):
    """The earlier planting was right when it came, and stays untold."""
    desk.load(*desk.delivery(plantings=PLANTED + "S1,A,maize,2026-01-01,,0.7\n"))
    report = desk.load_text(
        "plantings_feb.csv", PLANTED + "S1,A,beans,2026-02-01,,0.6\nS1,B,beans,2026-02-01,,0.1\n"
    )
    assert told(report) == [("plantings_feb.csv", 2, "area_ha", "0.6", "area_over_block", "flaw")]


def test_a_block_corrected_to_be_smaller_tells_of_the_plantings_that_are_there(stocked):
    """0.6 ha of maize and 0.4 ha of beans no longer fit: the later one's file and line are named."""
    report = stocked.load_text("blocks_2.csv", "site_id,block_id,area_ha\nS1,A,0.7\nS2,A,2.0\n")
    assert told(report) == [("plantings.csv", 3, "area_ha", "0.4", "area_over_block", "flaw")]
    assert report.files[0].flaws == 0


SQUARES = """district,geometry
North,"POLYGON ((33.7 -13.55, 33.95 -13.55, 33.95 -13.4, 33.7 -13.4, 33.7 -13.55))"
South,"POLYGON ((33.7 -13.7, 33.95 -13.7, 33.95 -13.55, 33.7 -13.55, 33.7 -13.7))"
"""
PLACED = """site_id,name,district,latitude,longitude
S1,Right,North,-13.50,33.80
S2,Wrong,North,-13.60,33.80
S3,Outside,North,-12.60,33.80
S4,Unsaid,,-13.60,33.80
S5,On the line,North,-13.55,33.80
S6,On the line,South,-13.55,33.80
"""
MISPLACED = [
    ("sites.csv", 3, "district", "North", "other_district", "note"),
    ("sites.csv", 4, "district", "North", "outside_districts", "note"),
]


def test_a_site_outside_its_district_is_noted_and_listed(desk):
    """A point in another district than its row says, or in none; on the common line the smaller name holds it."""
    report = desk.load(desk.write("sites.csv", PLACED), desk.write("districts.csv", SQUARES))
    assert told(report) == MISPLACED
    with desk.store.read() as reader:
        assert [(m["site_id"], m["said"], m["found"]) for m in status.misplaced(reader)] == [
            ("S2", "North", "South"),
            ("S3", "North", None),
        ]


def test_boundaries_that_come_later_tell_of_the_sites_that_they_miss(desk):
    """In the other order the load of the districts names file and line of the sites."""
    assert told(desk.load_text("sites.csv", PLACED)) == []
    assert told(desk.load_text("districts.csv", SQUARES)) == MISPLACED


def test_without_boundaries_no_site_is_misplaced(desk):
    """Unknown is not wrong."""
    assert told(desk.load_text("sites.csv", PLACED)) == []


def test_each_of_these_flaws_says_how_to_mend_it_and_that_the_row_was_taken(desk):
    """No sentence says that the value was not taken; every one has a reason and a way out."""
    plantings = "site_id,block_id,crop,planted_on,area_ha\nS1,A,moonwort,2026-01-05,9\n"
    paths = desk.delivery(
        sites=PLACED, meters=DATED_METER, meter_readings=DATED_READINGS, plantings=plantings
    )
    report = desk.load(*paths, desk.write("districts.csv", SQUARES))
    rules = {f.rule: f.words() for f in report.faults}
    assert set(rules) == {
        "meter_not_in_place",
        "unknown_crop",
        "area_over_block",
        "other_district",
        "outside_districts",
    }
    assert all(w.what and w.why and w.mend and "not taken" not in w.what for w in rules.values())
    assert {row["rule"] for row in report.reject_rows()} == {w.why for w in rules.values()}


STARTS = "meter_id,site_id,quantity,installed_on\nW5,S1,water,2025-03-01\n"
FINISHES = "meter_id,site_id,quantity,removed_on\nW5,S1,water,2024-12-31\n"


def test_a_finish_before_a_start_that_another_file_brought_is_a_flaw_in_any_order(stocked, more_desks):
    """The finish's cell stays empty; the row is taken."""
    other = more_desks("other")
    other.load(*other.delivery())
    in_order = [stocked.load_text("meters_a.csv", STARTS), stocked.load_text("meters_b.csv", FINISHES)]
    turned = [other.load_text("meters_b.csv", FINISHES), other.load_text("meters_a.csv", STARTS)]
    rule = ("removed_on", "2024-12-31", "before_start", "flaw")
    assert [told(r) for r in in_order] == [[], [("meters_b.csv", 2, *rule)]]
    assert [told(r) for r in turned] == [[], [("meters_a.csv", 2, *rule)]]
    for one in (stocked, other):
        query = "SELECT installed_on::VARCHAR, removed_on FROM meters WHERE meter_id = 'W5'"
        assert one.rows(query) == [("2025-03-01", None)]


def test_a_flawed_finish_leaves_the_stored_one(stocked):
    """A removal typed a year early doesn't take the true one away."""
    stocked.load_text(
        "meters_a.csv",
        STARTS.replace("installed_on", "installed_on,removed_on").replace("-03-01", "-03-01,2025-09-30"),
    )
    report = stocked.load_text("meters_b.csv", FINISHES)
    assert stocked.fates(report) == {"meters_b.csv": {"unchanged": 1}}
    assert report.files[0].flaws == 1
    assert stocked.rows("SELECT removed_on::VARCHAR FROM meters WHERE meter_id = 'W5'") == [("2025-09-30",)]
