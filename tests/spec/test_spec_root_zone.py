"""The water in the root zone, from weather, readings and plantings."""

from datetime import date

import pytest

from pipeline.config import Settings
from pipeline.measures.planting_groups import planting_groups
from pipeline.measures.planting_water import planting_water, verdict, without_balance

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
MARCH = (date(2026, 3, 1), date(2026, 3, 31))
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


def test_a_planting_tells_its_soil_and_whose_it_is(programme):
    """Sand, as the block has it; without a word the programme's."""
    bare = BLOCKS.replace("| sand", "| ")
    told = [
        planting_water(programme(blocks=blocks, meters=METER, meter_readings=NO_WATER), *MARCH).to_pylist()[0]
        for blocks in (BLOCKS, bare)
    ]
    assert [(row["soil"], row["soil_told"]) for row in told] == [
        ("sand", True),
        (Settings().default_soil, False),
    ]


def test_water_lost_below_the_roots_is_told_in_m3_too(programme):
    """200 mm of rain on 1 ha: each mm that runs through is 10 m³."""
    found = programme(weather=weather(range(1, 8), {3: 200}), meters=METER, meter_readings=NO_WATER)
    (row,) = planting_water(found, *MARCH).to_pylist()
    assert row["percolation_least_m3"] == pytest.approx(10 * row["percolation_least_mm"])
    assert row["percolation_most_m3"] == row["percolation_least_m3"] > 1000


def test_the_last_day_that_a_meter_speaks_for_is_told(programme):
    """Read on the 1st and the 4th: the 3rd."""
    found = programme(meters=METER, meter_readings=readings(("W1", 1, 0), ("W1", 4, 0)))
    (row,) = planting_water(found, *MARCH).to_pylist()
    assert (row["irrigation_days"], row["irrigation_known_on"]) == (3, date(2026, 3, 3))


def test_plantings_of_a_crop_and_a_day_on_one_meter_are_one_group(programme):
    """Sorrel on two blocks of one meter: one course, over both; it is that of each."""
    found = programme(
        blocks=TWO_BLOCKS, plantings=TWO_PLANTINGS, meters=METER, meter_readings=readings(("W1", 1, 0), ("W1", 8, 140)),
    )  # fmt: skip
    days = planting_groups(found, *MARCH).days.to_pylist()
    assert [(day["own_block"], day["blocks"], day["planted_ha"]) for day in days] == [(None, ["B1", "B2"], 2)] * 7  # fmt: skip
    of_b1 = found.rows("SELECT depletion_driest_mm FROM root_zone_days WHERE block_id = 'B1' ORDER BY day")
    assert [day["depletion_driest_mm"] for day in days] == pytest.approx([driest for (driest,) in of_b1])


def test_a_group_is_the_mean_over_its_area(programme):
    """3 ha of sand (80 mm) and 1 ha of clay (160 mm) on one meter: 100 mm."""
    blocks = """
        site_id | block_id | area_ha | application_efficiency | soil
        S1      | B1       | 3       | 0.5                    | sand
        S1      | B2       | 1       | 0.5                    | clay
    """
    found = programme(blocks=blocks, plantings=TWO_PLANTINGS, meters=METER, meter_readings=NO_WATER)
    (clay,) = found.rows("SELECT DISTINCT round(taw_mm, 6) FROM root_zone_days WHERE block_id = 'B2'")
    days = planting_groups(found, *MARCH).days.to_pylist()
    assert {round(day["taw_mm"], 6) for day in days} == {(3 * SAND_MM + clay[0]) / 4}


def test_a_block_with_a_meter_is_a_group_by_itself(programme):
    """The meter of B1 parts it from B2, which has what is left to itself."""
    found = programme(
        blocks=TWO_BLOCKS,
        plantings=TWO_PLANTINGS,
        meters="meter_id|site_id|block_id\nW1|S1|\nM1|S1|B1",
        meter_readings=readings(("W1", 1, 0), ("W1", 8, 140), ("M1", 1, 0), ("M1", 8, 105)),
    )
    days = planting_groups(found, *MARCH).days.to_pylist()
    assert {(day["own_block"], round(day["irrigation_mm"], 9)) for day in days} == {("B1", 0.75), ("B2", 0.25)}  # fmt: skip


def test_a_group_of_which_one_blocks_irrigation_is_unknown_has_none(programme):
    """Nobody told how B2 is watered: what reaches its roots is unknown, and so what reaches both."""
    bare = TWO_BLOCKS.replace("S1 | B2 | 1 | 0.5", "S1 | B2 | 1 |") + "\n"
    found = programme(
        blocks=bare.replace("soil\n", "soil | irrigation_method\n")
        .replace("| sand\n", "| sand | other\n"),
        plantings=TWO_PLANTINGS, meters=METER, meter_readings=readings(("W1", 1, 0), ("W1", 8, 140)),
    )  # fmt: skip
    days = planting_groups(found, *MARCH).days.to_pylist()
    assert {day["irrigation_mm"] for day in days} == {None}


def test_a_groups_week_ends_as_its_last_day(programme):
    """The 1st of March 2026 is a Sunday: a week of one day, then six days of the next."""
    found = programme(meters=METER, meter_readings=readings(("W1", 1, 0), ("W1", 4, 60)))
    days, weeks = (table.to_pylist() for table in planting_groups(found, *MARCH))
    assert [(week["week_from"].day, week["week_to"].day, week["days"]) for week in weeks] == [(1, 1, 1), (2, 7, 6)]  # fmt: skip
    assert [week["irrigation_days"] for week in weeks] == [1, 2]
    assert [round(week["irrigation_mm"], 9) for week in weeks] == [1, 2]
    assert weeks[1]["depletion_driest_mm"] == days[-1]["depletion_driest_mm"]


def test_a_week_counts_the_days_of_stress_of_the_planting(programme):
    """A group of one planting: its weeks' days of stress add up to the planting's."""
    dry = programme(weather=weather(range(1, 31)), meters=METER, meter_readings=readings(("W1", 1, 0), ("W1", 12, 0)))  # fmt: skip
    (row,) = planting_water(dry, *MARCH).to_pylist()
    weeks = planting_groups(dry, *MARCH).weeks.to_pylist()
    for bound in ("stress_days_least", "stress_days_most"):
        assert sum(week[bound] for week in weeks) == row[bound]
    assert row["stress_days_least"] < row["stress_days_most"]


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ({"crops": CROPS.replace("| 1            | 0.5                | 1", "|              |                    | ")}, "roots"),
        ({"crops": "crop"}, "crop"),
        ({"sites": SITE.replace("2026-03-01", "2026-04-01")}, "service"),
        ({"weather": "day\n"}, "weather"),
    ],
)  # fmt: skip
def test_a_planting_without_a_balance_is_told_with_what_is_missing(programme, given, why):
    """No row of planting_water, and one here with the reason; with all told it is the other way round."""
    found = programme(meters=METER, meter_readings=NO_WATER, **given)
    assert planting_water(found, *MARCH).num_rows == 0
    (row,) = without_balance(found, *MARCH).to_pylist()
    assert (row["block_id"], row["crop"], row["why"]) == ("B1", "sorrel", why)
    whole = programme(meters=METER, meter_readings=NO_WATER)
    assert (planting_water(whole, *MARCH).num_rows, without_balance(whole, *MARCH).num_rows) == (1, 0)


def test_what_can_be_said_of_a_planting_follows_its_bounds(programme):
    """30 days without water: surely. Nobody read the meter: nobody can say. Rain enough on each day: spared."""
    dry = programme(weather=weather(range(1, 31)), meters=METER, meter_readings=readings(("W1", 1, 0), ("W1", 31, 0)))  # fmt: skip
    silent = programme(weather=weather(range(1, 31)))
    wet = programme(weather=weather(range(1, 31), dict.fromkeys(range(1, 31), 20)))
    found = [planting_water(of, *MARCH).to_pylist()[0] for of in (dry, silent, wet)]
    assert [verdict(row, 0.7) for row in found] == ["lacked", "unseen", "spared"]
    assert verdict(found[1], 0.0) == "perhaps"


def test_the_need_by_the_other_rule_of_rain_speaks_for_all_of_the_days_or_for_none(programme):
    """From the 5th of seven days on a crop stands whose roots nobody knows: four days compare with no seven."""
    rootless = f"{CROPS.rstrip()}\n    dock | 1 | 1 | 1 | 0 | 0 | 90 | 0 | | | "
    planted = f"{PLANTINGS}\nS1 | B1 | dock | 2026-03-05"
    (week,) = programme(crops=rootless, plantings=planted).figures("2026-03-01", "2026-03-07")
    (before,) = programme(crops=rootless, plantings=planted).figures("2026-03-01", "2026-03-04")
    assert week["net_need_mm"] > before["net_need_mm"]
    assert (week["other_net_need_mm"], before["other_net_need_mm"]) == (None, before["net_need_mm"])
