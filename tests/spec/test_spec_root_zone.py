"""The water in the root zone, from weather, readings and plantings."""

from datetime import date

import pytest

from pipeline.config import Settings
from pipeline.measures.planting_water import planting_water

SITE = "site_id | commissioned_on | pump_rated_flow_m3h\nS1 | 2026-03-01 | 50"
CROPS = """
    crop   | kc_ini | kc_mid | kc_end | ini_days | dev_days | mid_days | late_days | root_depth_m | depletion_fraction | yield_response
    sorrel | 1      | 1      | 1      | 0        | 0        | 90       | 0         | 1            | 0.5                | 1
"""
BLOCKS = """
    site_id | block_id | area_ha | application_efficiency | soil
    S1      | B1       | 1       | 0.5                    | sand
"""
TWO_BLOCKS = f"{BLOCKS.rstrip()}\n    S1 | B2 | 1 | 0.5 | sand"
PLANTINGS = "site_id | block_id | crop | planted_on\nS1 | B1 | sorrel | 2026-03-01"
TWO_PLANTINGS = f"{PLANTINGS}\nS1 | B2 | sorrel | 2026-03-01"
FULL = Settings(start_depletion_share=0.0)  # the soil is wet through at planting
SAND_MM = 80.0  # 5 to 11 % of a metre, FAO-56 Table 19


def weather(days, rain=None):
    return "day | rain_mm\n" + "\n".join(f"2026-03-{day:02d} | {(rain or {}).get(day, 0)}" for day in days)


def readings(*steps):
    lines = "\n".join(f"{meter} | 2026-03-{day:02d} 00:00 | {value}" for meter, day, value in steps)
    return f"meter_id | read_at | value\n{lines}"


METER = "meter_id|site_id\nW1|S1"
DAYS = weather(range(1, 8))
NO_WATER = readings(("W1", 1, 0), ("W1", 8, 0))


@pytest.fixture
def programme(measure):
    """A site with a field of sorrel over seven days; the tables given stand in place of these."""

    def of(settings=FULL, **given):
        plain = {"sites": SITE, "crops": CROPS, "blocks": BLOCKS, "plantings": PLANTINGS, "weather": DAYS}
        return measure(settings, **plain | given)

    return of


def test_without_water_the_depletion_is_the_sum_of_the_need(programme):
    """Seven days without water, a soil wet through at first: as dry as the crop drank, and not in doubt."""
    found = programme(meters=METER, meter_readings=NO_WATER)
    days = found.rows(
        "SELECT etc_mm, taw_mm, depletion_wettest_mm, depletion_driest_mm FROM root_zone_days ORDER BY day"
    )
    drunk = 0
    for etc, taw, wettest, driest in days:
        drunk += etc
        assert taw == pytest.approx(SAND_MM)
        assert (wettest, driest) == pytest.approx((drunk, drunk))


def test_water_of_a_meter_enters_at_the_efficiency(programme):
    """140 m³ in seven days on 1 ha at a half: 1 mm a day."""
    found = programme(meters=METER, meter_readings=readings(("W1", 1, 0), ("W1", 8, 140)))
    assert found.rows("SELECT DISTINCT round(irrigation_mm, 9), blocks_on_water FROM root_zone_days") == [
        (1, 1)
    ]


def test_blocks_on_one_meter_get_the_same_depth(programme):
    """140 m³ on two blocks of 1 ha: half a millimetre a day each, and each says that two shared it."""
    found = programme(
        blocks=TWO_BLOCKS,
        plantings=TWO_PLANTINGS,
        meters=METER,
        meter_readings=readings(("W1", 1, 0), ("W1", 8, 140)),
    )
    query = (
        "SELECT DISTINCT block_id, round(irrigation_mm, 9), blocks_on_water FROM root_zone_days ORDER BY 1"
    )
    assert found.rows(query) == [("B1", 0.5, 2), ("B2", 0.5, 2)]


def test_a_block_with_a_meter_gets_its_own_and_the_others_what_is_left(programme):
    """140 m³ at the source, 105 through the meter of B1: 35 are left for B2."""
    found = programme(
        blocks=TWO_BLOCKS,
        plantings=TWO_PLANTINGS,
        meters="meter_id|site_id|block_id\nW1|S1|\nM1|S1|B1",
        meter_readings=readings(("W1", 1, 0), ("W1", 8, 140), ("M1", 1, 0), ("M1", 8, 105)),
    )
    query = (
        "SELECT DISTINCT block_id, round(irrigation_mm, 9), blocks_on_water FROM root_zone_days ORDER BY 1"
    )
    assert found.rows(query) == [("B1", 0.75, 1), ("B2", 0.25, 1)]


def test_more_through_the_blocks_than_from_the_source_leaves_the_rest_unknown(programme):
    """140 m³ through B1, where the source counted 70: nobody knows what B2 got, which is not nothing."""
    found = programme(
        blocks=TWO_BLOCKS,
        plantings=TWO_PLANTINGS,
        meters="meter_id|site_id|block_id\nW1|S1|\nM1|S1|B1",
        meter_readings=readings(("W1", 1, 0), ("W1", 8, 70), ("M1", 1, 0), ("M1", 8, 140)),
    )
    query = "SELECT DISTINCT block_id, round(irrigation_mm, 9) FROM root_zone_days ORDER BY 1"
    assert found.rows(query) == [("B1", 1), ("B2", None)]


def test_a_silent_meter_lets_the_bounds_part(programme):
    """Read on the 1st and the 4th: from then on the soil may have been filled, or got nothing."""
    found = programme(meters=METER, meter_readings=readings(("W1", 1, 0), ("W1", 4, 0)))
    rows = found.rows(
        """SELECT irrigation_mm, round(depletion_wettest_mm - etc_mm, 9) = 0, depletion_driest_mm > depletion_wettest_mm
           FROM root_zone_days ORDER BY day"""
    )
    assert [known for known, _, _ in rows] == [0, 0, 0, None, None, None, None]
    assert [part for _, _, part in rows] == [False, False, False, True, True, True, True]
    assert all(filled for _, filled, _ in rows[3:])


def test_how_dry_the_soil_was_at_planting_is_in_doubt(programme):
    """By default up to half of the 80 mm may be missing: 40 mm between the bounds."""
    found = programme(Settings(), meters=METER, meter_readings=NO_WATER)
    ((apart,),) = found.rows(
        "SELECT round(depletion_driest_mm - depletion_wettest_mm, 9) FROM root_zone_days ORDER BY day LIMIT 1"
    )
    assert apart == 40


def test_rain_that_fills_the_driest_soil_ends_the_doubt(programme):
    """200 mm on the 3rd: from then on both bounds are one."""
    found = programme(
        Settings(), weather=weather(range(1, 8), {3: 200}), meters=METER, meter_readings=NO_WATER
    )
    rows = found.rows(
        "SELECT round(depletion_driest_mm - depletion_wettest_mm, 9), deep_percolation_driest_mm FROM root_zone_days ORDER BY day"
    )
    assert [apart for apart, _ in rows[2:]] == [0, 0, 0, 0, 0]
    assert rows[2][1] > 100


def test_a_crop_of_unknown_roots_has_no_balance_and_loses_nothing_else(programme):
    """Without root depth and depletion fraction: no row of the balance, its need as before."""
    bare = CROPS.replace("| 1            | 0.5                | 1", "|              |                    | ")
    found = programme(crops=bare, meters=METER, meter_readings=NO_WATER)
    assert found.rows("SELECT count(*) FROM root_zone_days") == [(0,)]
    ((net, other),) = found.rows("SELECT net_need_m3, other_net_need_m3 FROM site_need_days LIMIT 1")
    assert net > 0
    assert other is None


def test_a_season_without_weather_has_no_balance_and_loses_nothing_else(programme):
    """No weather row at all: no balance, the water still counted."""
    found = programme(weather="day\n", meters=METER, meter_readings=readings(("W1", 1, 0), ("W1", 8, 140)))
    assert found.rows("SELECT count(*) FROM root_zone_days") == [(0,)]
    assert found.rows("SELECT round(sum(water_m3), 6) FROM site_days") == [(140,)]


def test_a_day_without_weather_leaves_the_need_in_doubt(programme):
    """Of the 4th nothing is known: it may have rained the soil full, or the crop may have drunk 9 mm."""
    without = [day for day in range(1, 8) if day != 4]
    found = programme(weather=weather(without), meters=METER, meter_readings=NO_WATER)
    rows = found.rows(
        """SELECT ks_driest IS NULL, depletion_driest_mm - depletion_wettest_mm, etc_mm
           FROM root_zone_days ORDER BY day"""
    )
    assert [unknown for unknown, *_ in rows] == [False, False, False, True, False, False, False]
    drunk = sum(etc for *_, etc in rows[:3])
    apart = [0, 0, 0, *[drunk + 9] * 4]
    assert [between for _, between, _ in rows] == pytest.approx(apart)


def test_the_net_need_goes_by_what_the_roots_hold_where_it_is_set_so(programme):
    """35 mm of rain: the block's store keeps 25 of 28 mm, half of 80 mm under the roots keep 35."""
    rained = weather(range(1, 20), {1: 35})
    plain, rooted = (
        programme(Settings(need_by_root_zone=by_roots), weather=rained, meters=METER, meter_readings=NO_WATER)
        for by_roots in (False, True)
    )
    (by_store,), (by_roots,) = (p.figures("2026-03-01", "2026-03-19") for p in (plain, rooted))
    assert (by_store["effective_rain_mm"], by_roots["effective_rain_mm"]) == (25, 35)
    assert by_store["other_net_need_mm"] == by_roots["net_need_mm"]
    assert by_roots["other_net_need_mm"] == by_store["net_need_mm"]


def test_a_block_that_names_no_soil_has_the_programmes(programme):
    """Sand by the setting: 80 mm in a metre of roots."""
    bare = BLOCKS.replace("| sand", "| ")
    found = programme(Settings(default_soil="sand"), blocks=bare, meters=METER, meter_readings=NO_WATER)
    assert found.rows("SELECT DISTINCT round(taw_mm, 6) FROM root_zone_days") == [(SAND_MM,)]


def test_a_fallow_block_takes_no_share_of_the_water(programme):
    """Two blocks, one in fallow: the other gets all of it."""
    fallow = f"{PLANTINGS}\nS1 | B2 | fallow | 2026-03-01"
    found = programme(
        blocks=TWO_BLOCKS,
        plantings=fallow,
        meters=METER,
        meter_readings=readings(("W1", 1, 0), ("W1", 8, 140)),
    )
    query = "SELECT DISTINCT block_id, round(irrigation_mm, 9), blocks_on_water FROM root_zone_days"
    assert found.rows(query) == [("B1", 1, 1)]


def test_a_dry_planting_loses_yield_by_its_response(programme):
    """Ky 1, 19 days without water in a soil that holds 80 mm: what was not drunk is lost, in like share."""
    dry = programme(
        weather=weather(range(1, 31)), meters=METER, meter_readings=readings(("W1", 1, 0), ("W1", 31, 0))
    )
    (row,) = planting_water(dry, date(2026, 3, 1), date(2026, 3, 31)).to_pylist()
    assert row["days"] == row["irrigation_days"] == 30
    assert 0 < row["stress_days_least"] == row["stress_days_most"] < 30
    assert row["yield_loss_least"] == pytest.approx(1 - row["etc_adjusted_most_mm"] / row["etc_mm"])
    assert row["yield_loss_least"] == row["yield_loss_most"] > 0
    assert row["percolation_least_mm"] == row["percolation_most_mm"] == 0


def test_a_silent_meter_makes_the_loss_a_range(programme):
    """Nobody read the meter: from nothing lost to what a dry soil loses, and no most of percolation."""
    silent = programme(weather=weather(range(1, 31)))
    (row,) = planting_water(silent, date(2026, 3, 1), date(2026, 3, 31)).to_pylist()
    assert row["irrigation_days"] == row["stress_days_least"] == row["yield_loss_least"] == 0
    assert row["yield_loss_most"] > 0.2
    assert (row["irrigation_mm"], row["percolation_most_mm"]) == (None, None)
