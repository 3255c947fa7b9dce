"""Crop water need, and water against it."""

import pytest

SITE = "site_id | commissioned_on | pump_rated_flow_m3h\nS1 | 2026-03-01 | 50"
CROPS = """
    crop   | kc_ini | kc_mid | kc_end | ini_days | dev_days | mid_days | late_days
    sorrel | 1      | 1      | 1      | 30       | 30       | 30       | 30
"""
BLOCKS = "site_id | block_id | area_ha | application_efficiency\nS1 | B1 | 1 | 0.5"
PLANTINGS = "site_id | block_id | crop | planted_on\nS1 | B1 | sorrel | 2026-03-01"


def weather(days, rain=None):
    return "day | rain_mm\n" + "\n".join(f"2026-03-{day:02d} | {(rain or {}).get(day, 0)}" for day in days)


def week_of_water(m3):
    return f"meter_id | read_at | value\nW1 | 2026-03-01 00:00 | 0\nW1 | 2026-03-08 00:00 | {m3}"


@pytest.fixture
def et0(measure):
    """The reference evapotranspiration of each of the first seven days."""
    found = measure(sites=SITE, weather=weather(range(1, 8)))
    return [value for (value,) in found.rows("SELECT et0_mm FROM site_weather ORDER BY day")]


def test_need_is_kc_times_et0_over_efficiency(measure, et0):
    """Kc 1 on 1 ha at an efficiency of a half: 20 m³ for each mm."""
    found = measure(sites=SITE, crops=CROPS, blocks=BLOCKS, plantings=PLANTINGS, weather=weather(range(1, 8)))
    (row,) = found.figures("2026-03-01", "2026-03-07")
    assert row["need_m3"] == pytest.approx(20 * sum(et0), abs=0.1)
    assert row["net_need_mm"] == pytest.approx(sum(et0), abs=0.1)
    assert (row["effective_rain_mm"], row["cropping_coverage"]) == (0, 1)


def test_rain_of_two_millimetres_enters_the_store_at_four_fifths(measure, et0):
    """5 mm on the 3rd put 4 mm in the store, from which the crop draws first; 1.9 mm on the 5th are lost."""
    found = measure(
        sites=SITE,
        crops=CROPS,
        blocks=BLOCKS,
        plantings=PLANTINGS,
        weather=weather(range(1, 8), {3: 5, 5: 1.9}),
    )
    (row,) = found.figures("2026-03-01", "2026-03-07")
    assert row["effective_rain_mm"] == 4
    assert row["net_need_mm"] == pytest.approx(sum(et0) - 4, abs=0.1)


def test_relative_irrigation_supply_is_water_over_gross_need_on_the_days_of_both(measure, et0):
    """Water for seven days, need for the first five: five sevenths of the water over their need."""
    found = measure(
        sites=SITE,
        crops=CROPS,
        blocks=BLOCKS,
        plantings=PLANTINGS,
        weather=weather(range(1, 6)),
        meters="meter_id|site_id\nW1|S1",
        meter_readings=week_of_water(700),
    )
    (row,) = found.figures("2026-03-01", "2026-03-07")
    assert row["relative_irrigation_supply"] == pytest.approx(500 / (20 * sum(et0[:5])), abs=1e-3)
    assert row["supply_coverage"] == pytest.approx(5 / 7, abs=1e-4)
    assert row["water_m3"] == 700


def test_an_unknown_crop_is_no_need_of_zero(measure):
    """Half of the days have a crop on record: the others are unknown, and so is their need."""
    plantings = (
        "site_id | block_id | crop | planted_on | cleared_on\nS1 | B1 | sorrel | 2026-03-01 | 2026-03-04"
    )
    found = measure(sites=SITE, crops=CROPS, blocks=BLOCKS, plantings=plantings, weather=weather(range(1, 7)))
    (row,) = found.figures("2026-03-01", "2026-03-06")
    assert row["cropping_coverage"] == 0.5
    days = found.rows("SELECT day(day) FROM site_need_days WHERE known ORDER BY 1")
    assert [day for (day,) in days] == [1, 2, 3]


def test_fallow_is_a_need_of_zero(measure):
    """On record, so known; a supply over no need is empty."""
    plantings = "site_id | block_id | crop | planted_on\nS1 | B1 | fallow | 2026-03-01"
    found = measure(
        sites=SITE,
        blocks=BLOCKS,
        plantings=plantings,
        weather=weather(range(1, 8)),
        meters="meter_id|site_id\nW1|S1",
        meter_readings=week_of_water(70),
    )
    (row,) = found.figures("2026-03-01", "2026-03-07")
    assert (row["need_m3"], row["cropping_coverage"], row["relative_irrigation_supply"]) == (0, 1, None)
    assert (row["area_ha"], row["water_m3_per_ha"]) == (None, None)


def test_a_clock_that_is_off_leaves_the_need_alone(measure):
    """Need rests on weather and plantings; a log has no part in it."""
    tables = {"sites": SITE, "crops": CROPS, "blocks": BLOCKS, "plantings": PLANTINGS}
    log = "site_id | logged_at | flow_m3h\nS1 | 2026-03-02 23:00 | 5"
    days = weather(range(1, 8))
    first, second = (
        found.figures("2026-03-01", "2026-03-07")[0]["need_m3"]
        for found in (measure(**tables, weather=days), measure(**tables, weather=days, telemetry=log))
    )
    assert first == second


def test_served_area_got_four_fifths_of_its_need_in_a_month_that_can_be_judged(measure):
    """All of March is known and the water is plenty: 1 ha served. With three weeks missing it can't be judged."""
    tables = {"sites": SITE, "crops": CROPS, "blocks": BLOCKS, "plantings": PLANTINGS}
    tables |= {"meters": "meter_id|site_id\nW1|S1", "weather": weather(range(1, 32))}
    whole = "meter_id | read_at | value\nW1 | 2026-03-01 00:00 | 0\nW1 | 2026-04-01 00:00 | 9000"
    (full,) = measure(**tables, meter_readings=whole).figures("2026-03-01", "2026-03-31")
    assert (full["served_ha"], full["unjudged_ha"]) == (1, 0)
    (part,) = measure(**tables, meter_readings=week_of_water(2000)).figures("2026-03-01", "2026-03-31")
    assert (part["served_ha"], part["unjudged_ha"]) == (0, 1)


def test_productivity_is_harvest_over_water_since_planting(measure):
    """350 kg over 700 m³ in seven days."""
    found = measure(
        sites=SITE,
        crops=CROPS,
        blocks=BLOCKS,
        plantings=PLANTINGS,
        weather=weather(range(1, 8)),
        meters="meter_id|site_id\nW1|S1",
        meter_readings=week_of_water(700),
        harvests="site_id|block_id|crop|harvested_on|harvest_kg|price_per_kg\nS1|B1|sorrel|2026-03-07|350|2",
    )
    (row,) = found.figures("2026-03-01", "2026-03-07")
    assert (row["harvest_kg"], row["harvest_value"], row["water_productivity_kg_m3"]) == (350, 700, 0.5)
