"""What sheets get wrong about fields and weather: a flaw with the way to mend it, and nothing else lost."""

import pytest

from pipeline.measures import run

WEATHER = "station_id,latitude,longitude,elevation_m,day,tmin_c,tmax_c,rain_mm\n" + "\n".join(
    f"K1,-13.5,33.8,1100,2026-03-{day:02d},15,27,0" for day in range(1, 11)
)
CROPS = "crop,kc_ini,kc_mid,kc_end,ini_days,dev_days,mid_days,late_days\namaranth,0.6,1,0.9,0,0,0,0\n"
BALANCED = "SELECT DISTINCT site_id, block_id, crop FROM root_zone_days ORDER BY ALL"
PLANTED = """site_id,block_id,crop,planted_on,area_ha
S1,A,maize,2026-02-20,0.6
S1,A,beans,2026-02-21,0.4
S2,A,onion,2026-01-05,
"""
ALL = [("S1", "A", "beans"), ("S1", "A", "maize"), ("S2", "A", "onion")]


@pytest.fixture
def fields(desk):
    """Two sites with crops and ten days of weather; the sheet given comes with them."""

    def load(sheet="", text=""):
        paths = [*desk.delivery(plantings=PLANTED), desk.write("weather.csv", WEATHER)]
        reports = [desk.load(*paths)]
        if sheet:
            reports.append(desk.load_text(sheet, text))
        run.refresh(desk.store)
        return desk, told(reports[-1] if sheet else reports[0])

    return load


def told(report):
    """Each fault as file, line, column, value, rule and fate; all of them say how to mend it."""
    assert all(row["how_to_mend"] for row in report.reject_rows())
    return [(f.file, f.line, f.column, f.value, f.rule, f.fate) for f in report.faults]


def test_clean_sheets_have_no_flaw_and_a_balance_each(fields):
    """What the others are compared with."""
    desk, rows = fields()
    assert rows == []
    assert desk.rows(BALANCED) == ALL


def test_a_soil_that_is_not_in_the_table_leaves_its_cell_empty(fields):
    """The block then has the programme's soil, as one that names none."""
    desk, rows = fields("blocks_2.csv", "site_id,block_id,area_ha,soil\nS1,A,1.0,black cotton\n")
    assert rows == [("blocks_2.csv", 2, "soil", "black cotton", "not_in_list", "flaw")]
    assert desk.rows("SELECT soil FROM blocks WHERE site_id = 'S1' AND block_id = 'A'") == [(None,)]
    assert desk.rows(BALANCED) == ALL


def test_areas_over_the_block_count_in_proportion(fields):
    """0.6 and 0.9 ha on 1 ha: two fifths and three fifths of it."""
    text = "site_id,block_id,crop,planted_on,area_ha\nS1,A,beans,2026-02-21,0.9\n"
    desk, rows = fields("plantings_2.csv", text)
    assert rows == [("plantings_2.csv", 2, "area_ha", "0.9", "area_over_block", "flaw")]
    query = "SELECT crop, round(max(planted_ha), 6) FROM root_zone_days WHERE site_id = 'S1' GROUP BY ALL ORDER BY 1"
    assert desk.rows(query) == [("beans", pytest.approx(0.6)), ("maize", pytest.approx(0.4))]


def test_a_crop_without_stages_has_no_balance_and_takes_none_from_others(fields):
    """Stages of no days say nothing of a crop: its planting is flawed, the others' balances stand."""
    desk, _ = fields("crops.csv", CROPS)
    text = "site_id,block_id,crop,planted_on\nS1,B,amaranth,2026-02-20\n"
    report = desk.load_text("plantings_2.csv", text)
    run.refresh(desk.store)
    assert told(report) == [("plantings_2.csv", 2, "crop", "amaranth", "unknown_crop", "flaw")]
    assert desk.rows(BALANCED) == ALL
    query = "SELECT count(net_need_mm), count(*) > 0 FROM block_days WHERE site_id = 'S1' AND block_id = 'B'"
    assert desk.rows(query) == [(0, True)]


def test_a_negative_rain_leaves_the_days_rain_unknown(fields):
    """The row stays, its rain is empty: from that day the soil may have been filled, or got nothing."""
    text = "station_id,latitude,longitude,elevation_m,day,tmin_c,tmax_c,rain_mm\nK1,-13.5,33.8,1100,2026-03-11,15,27,-4\n"
    desk, rows = fields("weather_2.csv", text)
    assert [(column, value, fate) for _, _, column, value, _, fate in rows] == [("rain_mm", "-4", "flaw")]
    query = """SELECT day(day), count(rain_mm), count(etc_mm) FROM root_zone_days WHERE site_id = 'S2' AND day >= '2026-03-10'
               GROUP BY ALL ORDER BY 1"""
    assert desk.rows(query) == [(10, 1, 1), (11, 0, 1)]


def test_a_season_without_weather_has_no_balance_and_its_other_figures(desk):
    """No weather row came: no need and no balance, the water all the same."""
    desk.load(*desk.delivery(plantings=PLANTED))
    run.refresh(desk.store)
    tables = {name for (name,) in desk.rows("SHOW TABLES")}
    assert "root_zone_days" not in tables or desk.rows("SELECT count(*) FROM root_zone_days") == [(0,)]
    assert desk.rows("SELECT count(*) > 0 FROM site_days WHERE water_m3 > 0") == [(True,)]
