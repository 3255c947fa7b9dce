"""Harvests against the water that their plantings got."""

from datetime import date

import pytest

from pipeline.config import Settings
from pipeline.measures.harvest import harvest
from pipeline.measures.planting_water import planting_water

SITE = "site_id | commissioned_on | pump_rated_flow_m3h\nS1 | 2026-03-01 | 50"
CROPS = """
    crop   | kc_ini | kc_mid | kc_end | ini_days | dev_days | mid_days | late_days | root_depth_m | depletion_fraction | yield_response
    maize  | 1      | 1      | 1      | 0        | 0        | 90       | 0         | 1            | 0.5                | 1
    sorrel | 1      | 1      | 1      | 0        | 0        | 90       | 0         | 1            | 0.5                |
"""
BLOCKS = "site_id | block_id | area_ha | application_efficiency | soil\nS1 | B1 | 1 | 0.5 | sand"
TWO_BLOCKS = f"{BLOCKS}\nS1 | B2 | 3 | 0.5 | sand"
PLANTING = "site_id | block_id | crop | planted_on | area_ha\nS1 | B1 | maize | 2026-03-01 |"
HARVEST = "site_id | block_id | crop | harvested_on | harvest_kg | price_per_kg | how_known\n"
WEATHER = "day | rain_mm\n" + "\n".join(f"2026-03-{day:02d} | 0" for day in range(1, 11))
METER = "meter_id|site_id\nW1|S1"
LOST = ("lost_kg_least", "lost_kg_most", "lost_value_least", "lost_value_most")


def readings(*steps):
    lines = "\n".join(f"{meter} | 2026-03-{day:02d} 00:00 | {value}" for meter, day, value in steps)
    return f"meter_id | read_at | value\n{lines}"


TEN_DAYS = readings(("W1", 1, 0), ("W1", 11, 1000))  # 100 m³ a day


@pytest.fixture
def programme(measure):
    """One hectare of maize over ten days, 100 m³ a day; the tables given stand in place of these."""

    def of(**given):
        plain = {"sites": SITE, "crops": CROPS, "blocks": BLOCKS, "plantings": PLANTING, "weather": WEATHER}
        return measure(**plain | {"meters": METER, "meter_readings": TEN_DAYS} | given)

    return of


def rows(found, by="planting", to_day=10):
    return harvest(found, date(2026, 3, 1), date(2026, 3, to_day), by=by).to_pylist()


def test_all_harvests_of_a_planting_are_one_row(programme):
    """30 and 70 kg on the 5th and 10th: 100 kg from 1,000 m³; the larger part weighed, the smaller recalled."""
    found = programme(
        harvests=f"{HARVEST}S1|B1|maize|2026-03-05|30|2|recall\nS1|B1|maize|2026-03-10|70|2|weighed"
    )
    (row,) = rows(found)
    assert (str(row["first_harvest_on"]), str(row["last_harvest_on"])) == ("2026-03-05", "2026-03-10")
    assert (row["harvests"], row["harvest_kg"], row["harvest_value"], row["priced_share"]) == (2, 100, 200, 1)
    assert (row["weighed_share"], row["buyer_slip_share"], row["recall_share"]) == (0.7, 0, 0.3)
    assert (row["planted_ha"], row["harvest_kg_per_ha"], row["days"]) == (1, 100, 10)
    assert (row["water_m3"], row["water_coverage"], row["water_productivity_kg_m3"]) == (1000, 1, 0.1)


def test_a_planting_counts_in_the_period_of_its_last_harvest(programme):
    """Picked on the 5th and the 10th: nothing ends before the 10th."""
    found = programme(harvests=f"{HARVEST}S1|B1|maize|2026-03-05|30||\nS1|B1|maize|2026-03-10|70||")
    assert rows(found, to_day=9) == []
    assert len(rows(found)) == 1


def test_harvest_per_m3_of_the_crops_own_need(programme):
    """10 m³ for each mm that the crop would take over its hectare; the published range of maize stands beside."""
    found = programme(harvests=f"{HARVEST}S1|B1|maize|2026-03-10|500||")
    ((etc_mm,),) = found.rows("SELECT sum(et0_mm) FROM site_weather")
    (row,) = rows(found)
    assert row["etc_m3"] == pytest.approx(10 * etc_mm, abs=0.1)
    assert row["et_productivity_kg_m3"] == pytest.approx(500 / (10 * etc_mm), abs=5e-4)
    assert (row["published_least_kg_m3"], row["published_most_kg_m3"], row["product"]) == (0.8, 1.6, "dry")
    assert (row["etc_coverage"], row["effective_rain_m3"]) == (1, 0)


@pytest.mark.parametrize(("kg_m3", "compared"), [(0.7, "below"), (1.2, "within"), (1.7, "above")])
def test_a_planting_is_compared_with_the_published_range(programme, kg_m3, compared):
    """Maize, 0.8 to 1.6 kg/m³: at 0.7 below, at 1.2 within, at 1.7 above."""
    found = programme()
    ((etc_mm,),) = found.rows("SELECT sum(et0_mm) FROM site_weather")
    kg = kg_m3 * 10 * etc_mm
    (row,) = rows(programme(harvests=f"{HARVEST}S1|B1|maize|2026-03-10|{kg}||"))
    assert (row["compared"], row["uncompared_why"]) == (compared, None)


def test_a_crop_that_nobody_published_has_no_range(programme):
    """Sorrel: its harvest per m³ is known, and nothing stands beside it."""
    found = programme(
        plantings=PLANTING.replace("maize", "sorrel"), harvests=f"{HARVEST}S1|B1|sorrel|2026-03-10|50||"
    )
    (row,) = rows(found)
    assert row["et_productivity_kg_m3"] > 0
    assert (row["published_least_kg_m3"], row["compared"], row["uncompared_why"]) == (None, None, "no_range")


def test_another_planting_by_another_row_of_its_crop_changes_nothing(programme):
    """Tomato, harvested after ten days of March; one of January goes by another row of the table."""
    table = {
        "crops": "crop",
        "plantings": f"{PLANTING.replace('maize', 'tomato')}\nS1 | B2 | tomato | 2026-01-01 |",
        "blocks": TWO_BLOCKS,
        "harvests": f"{HARVEST}S1|B1|tomato|2026-03-10|500||",
    }
    found = programme(settings=Settings(crop_rows="by_planting"), **table)
    assert {row for (row,) in found.rows("SELECT crop_row FROM planting_spans")} == {"", "arid region, jan"}
    (by_planting,), (by_default,) = rows(found), rows(programme(**table))
    assert by_planting["days"] == 10
    assert by_planting["etc_m3"] == by_default["etc_m3"]
    assert by_planting["etc_coverage"] == 1


def test_a_harvest_without_a_planting_is_a_row_of_its_own(programme):
    """40 kg of a crop of which no planting is on record: counted, and neither rated nor compared nor costed."""
    found = programme(harvests=f"{HARVEST}S1|B1|maize|2026-03-10|100||\nS1|B1|sorrel|2026-03-04|40||")
    planted, other = sorted(rows(found), key=lambda row: row["planted_on"] is None)
    assert (planted["harvest_kg"], other["harvest_kg"], other["planted_on"]) == (100, 40, None)
    whys = {other[f"{name}_why"] for name in ("uncompared", "unrated", "uncosted")}
    assert whys == {"no_planting"}
    assert (other["planted_ha"], other["harvest_kg_per_ha"]) == (None, None)  # nobody knows where it stood
    (site,) = rows(found, by="site")
    assert (site["plantings"], site["harvest_kg"], site["unplanted_kg"]) == (1, 140, 40)
    assert (site["planted_ha"], site["harvest_kg_per_ha"]) == (1, 100)
    assert site["water_productivity_kg_m3"] == 0.1


def test_a_harvest_before_its_planting_belongs_to_none(programme):
    """Harvested on the 4th, planted on the 6th: whatever was harvested stood there before."""
    found = programme(
        plantings=PLANTING.replace("03-01", "03-06"), harvests=f"{HARVEST}S1|B1|maize|2026-03-04|40||"
    )
    (row,) = rows(found)
    assert (row["planted_on"], row["harvest_kg"]) == (None, 40)


def test_an_unknown_price_leaves_the_value_of_the_rest(programme):
    """60 of 100 kg at 5 each: 300 for 60 % of them; without any price there is no value."""
    found = programme(harvests=f"{HARVEST}S1|B1|maize|2026-03-09|60|5|\nS1|B1|maize|2026-03-10|40||")
    (row,) = rows(found)
    assert (row["harvest_value"], row["priced_share"]) == (300, 0.6)
    (row,) = rows(programme(harvests=f"{HARVEST}S1|B1|maize|2026-03-10|40||"))
    assert (row["harvest_value"], row["priced_share"]) == (None, 0)
    assert row["lost_value_most"] is None


def test_below_four_fifths_of_the_days_nothing_is_said_per_m3(programme):
    """Read until the end of the 8th day of ten it is said, until the 7th not; the water known stays."""
    harvests = f"{HARVEST}S1|B1|maize|2026-03-10|100||"
    (row,) = rows(programme(meter_readings=readings(("W1", 1, 0), ("W1", 9, 800)), harvests=harvests))
    assert (row["water_coverage"], row["water_productivity_kg_m3"]) == (0.8, 0.125)
    (row,) = rows(programme(meter_readings=readings(("W1", 1, 0), ("W1", 8, 700)), harvests=harvests))
    assert (row["water_coverage"], row["water_m3"], row["water_productivity_kg_m3"]) == (0.7, 700, None)
    assert row["unrated_why"] == "few_readings"


def test_without_a_meter_the_harvest_is_compared_all_the_same(programme):
    """What the crop would take is known from the weather; what it was given is not."""
    (row,) = rows(programme(meters="meter_id|site_id\n", meter_readings="meter_id|read_at|value\n", harvests=f"{HARVEST}S1|B1|maize|2026-03-10|100||"))  # fmt: skip
    assert (row["water_m3"], row["water_coverage"], row["unrated_why"]) == (None, 0, "no_meter")
    assert row["compared"] == "below"


def test_no_irrigation_is_no_division_by_nothing(programme):
    """A counter that stood for ten days: 0 m³ known, and no harvest per m³."""
    (row,) = rows(programme(meter_readings=readings(("W1", 1, 0), ("W1", 11, 0)), harvests=f"{HARVEST}S1|B1|maize|2026-03-10|100||"))  # fmt: skip
    assert (row["water_m3"], row["water_productivity_kg_m3"], row["unrated_why"]) == (0, None, "no_water")


def test_two_plantings_in_one_block_share_its_water_by_area(programme):
    """A quarter of the hectare maize, the rest sorrel: 250 and 750 of 1,000 m³; the site's figure has each once."""
    found = programme(
        plantings=f"{PLANTING}0.25\nS1 | B1 | sorrel | 2026-03-01 |",
        harvests=f"{HARVEST}S1|B1|maize|2026-03-10|100||\nS1|B1|sorrel|2026-03-10|300||",
    )
    first, second = rows(found)
    assert (first["crop"], first["planted_ha"], first["water_m3"]) == ("maize", 0.25, 250)
    assert (second["crop"], second["planted_ha"], second["water_m3"]) == ("sorrel", 0.75, 750)
    assert first["shares_block"]
    (site,) = rows(found, by="site")
    assert site["water_productivity_kg_m3"] == 0.4


def test_a_neighbour_that_is_not_harvested_keeps_its_water(programme):
    """The sorrel still stands: the maize has its quarter, and the site's figure the whole block's water, as it is defined."""
    found = programme(
        plantings=f"{PLANTING}0.25\nS1 | B1 | sorrel | 2026-03-01 |",
        harvests=f"{HARVEST}S1|B1|maize|2026-03-10|100||",
    )
    (row,) = rows(found)
    assert (row["water_m3"], row["water_productivity_kg_m3"]) == (250, 0.4)
    assert rows(found, by="site")[0]["water_productivity_kg_m3"] == 0.1


def test_a_block_without_a_meter_has_its_sites_water_by_planted_area(programme):
    """One of four planted hectares: 250 of 1,000 m³."""
    found = programme(
        blocks=TWO_BLOCKS,
        plantings=f"{PLANTING}\nS1 | B2 | maize | 2026-03-01 |",
        harvests=f"{HARVEST}S1|B1|maize|2026-03-10|100||",
    )
    (row,) = rows(found)
    assert (row["water_m3"], row["own_meter"]) == (250, False)


def test_a_blocks_own_meter_comes_first(programme):
    """600 m³ through the block's meter, 1,000 from the source."""
    found = programme(
        blocks=TWO_BLOCKS,
        plantings=f"{PLANTING}\nS1 | B2 | maize | 2026-03-01 |",
        meters="meter_id|site_id|block_id\nW1|S1|\nM1|S1|B1",
        meter_readings=readings(("W1", 1, 0), ("W1", 11, 1000), ("M1", 1, 0), ("M1", 11, 600)),
        harvests=f"{HARVEST}S1|B1|maize|2026-03-10|300||",
    )
    (row,) = rows(found)
    assert (row["water_m3"], row["own_meter"], row["water_productivity_kg_m3"]) == (600, True, 0.5)


def test_an_area_of_nothing_gives_no_yield(programme):
    """0 ha written down: the kilograms stay, everything over an area or the crop's need is unknown."""
    found = programme(plantings=f"{PLANTING}0", harvests=f"{HARVEST}S1|B1|maize|2026-03-10|100||")
    (row,) = rows(found)
    assert (row["harvest_kg"], row["planted_ha"], row["harvest_kg_per_ha"]) == (100, 0, None)
    assert (row["et_productivity_kg_m3"], row["uncompared_why"]) == (None, "no_area")


def test_dryness_cost_what_would_have_made_the_harvest_whole(programme):
    """Of the loss l, harvest ÷ (1 − l) − harvest, at the harvest's price; a range, for nobody knows the soil at planting."""
    found = programme(
        weather="day | rain_mm\n" + "\n".join(f"2026-03-{day:02d} | 0" for day in range(1, 16)),
        meter_readings=readings(("W1", 1, 0), ("W1", 16, 0)),
        harvests=f"{HARVEST}S1|B1|maize|2026-03-15|100|3|",
    )
    (row,) = rows(found, to_day=15)
    assert 0 < row["yield_loss_least"] < row["yield_loss_most"]
    least, most = (100 / (1 - row[f"yield_loss_{bound}"]) - 100 for bound in ("least", "most"))
    assert [row[name] for name in LOST] == pytest.approx([least, most, 3 * least, 3 * most], abs=0.1)
    (stood,) = planting_water(found, date(2026, 3, 1), date(2026, 3, 15)).to_pylist()
    assert [stood[f"yield_loss_{b}"] for b in ("least", "most")] == pytest.approx(
        [row[f"yield_loss_{b}"] for b in ("least", "most")], abs=1e-4
    )


def test_a_well_watered_crop_lost_nothing(programme):
    """A store that nothing was taken from at first, and more water than the crop took."""
    (row,) = rows(programme(harvests=f"{HARVEST}S1|B1|maize|2026-03-10|100|3|"))
    assert row["lost_kg_least"] == 0


def test_where_more_than_half_of_the_need_may_be_unmet_nobody_can_say(programme):
    """Ninety dry days on sand: beyond the line that FAO-33 drew."""
    found = programme(
        weather="day | rain_mm\n" + "\n".join(f"2026-{month:02d}-{day:02d} | 0" for month, days in ((3, 31), (4, 30)) for day in range(1, days + 1)),
        meter_readings="meter_id | read_at | value\nW1 | 2026-03-01 00:00 | 0\nW1 | 2026-05-01 00:00 | 0",
        harvests=f"{HARVEST}S1|B1|maize|2026-04-30|100|3|",
    )  # fmt: skip
    (row,) = harvest(found, date(2026, 4, 1), date(2026, 4, 30)).to_pylist()
    assert (row["uncosted_why"], row["lost_kg_most"]) == ("beyond", None)


def test_a_crop_without_a_yield_response_has_no_cost(programme):
    """Sorrel: nobody printed how its yield answers to dryness."""
    found = programme(
        plantings=PLANTING.replace("maize", "sorrel"), harvests=f"{HARVEST}S1|B1|sorrel|2026-03-10|50||"
    )
    (row,) = rows(found)
    assert (row["uncosted_why"], row["lost_kg_least"], row["yield_loss_least"]) == ("no_response", None, None)


def test_a_group_is_a_ratio_of_sums_over_what_can_be_judged(programme):
    """100 kg from 100 m³ and 900 kg from 300 m³: 2.5 kg/m³, not the mean of 1 and 3; the third has no readings."""
    found = programme(
        sites="site_id | commissioned_on | pump_rated_flow_m3h\n"
        + "\n".join(f"S{n} | 2026-03-01 | 50" for n in (1, 2, 3)),
        blocks="site_id | block_id | area_ha\nS1 | B1 | 1\nS2 | B1 | 1\nS3 | B1 | 1",
        plantings="site_id | block_id | crop | planted_on\n"
        + "\n".join(f"S{n} | B1 | maize | 2026-03-01" for n in (1, 2, 3)),
        meters="meter_id|site_id\nW1|S1\nW2|S2",
        meter_readings=readings(("W1", 1, 0), ("W1", 11, 100), ("W2", 1, 0), ("W2", 11, 300)),
        harvests=f"{HARVEST}S1|B1|maize|2026-03-10|100||\nS2|B1|maize|2026-03-10|900||\nS3|B1|maize|2026-03-10|77||",
    )
    (row,) = rows(found, by="crop")
    assert (row["crop"], row["plantings"], row["rated_plantings"], row["harvest_kg"]) == ("maize", 3, 2, 1077)
    assert row["water_productivity_kg_m3"] == 2.5


@pytest.mark.parametrize(
    ("planted", "half_year"),
    [
        ("2026-03-31", "2025-10/2026-03"), ("2026-04-01", "2026-04/2026-09"),
        ("2026-09-30", "2026-04/2026-09"), ("2026-10-01", "2026-10/2027-03"),
    ],
)  # fmt: skip
def test_a_half_year_of_planting_begins_in_april_or_october(programme, planted, half_year):
    """The last of March and the first of April lie apart, and so do September and October."""
    day = f"{planted[:8]}{planted[8:]}"
    found = programme(
        plantings=f"site_id | block_id | crop | planted_on\nS1 | B1 | maize | {planted}",
        harvests=f"{HARVEST}S1|B1|maize|{day}|100||",
    )
    ((row),) = harvest(found, date(2026, 1, 1), date(2026, 12, 31), by="half_year").to_pylist()
    assert row["half_year"] == half_year


@pytest.mark.parametrize("days", [10, 9, 8, 6])
def test_a_sites_harvest_per_m3_is_the_figure_of_that_name(programme, days):
    """Whatever is read of the ten days, with two blocks, two crops and a shared block."""
    found = programme(
        blocks=TWO_BLOCKS,
        plantings=f"{PLANTING}0.25\nS1|B1|sorrel|2026-03-02|\nS1|B2|maize|2026-03-03|",
        meter_readings=readings(("W1", 1, 0), ("W1", 1 + days, 100 * days)),
        harvests=f"{HARVEST}S1|B1|maize|2026-03-08|100||\nS1|B1|sorrel|2026-03-10|300||\nS1|B2|maize|2026-03-09|700||",
    )
    (figure,) = found.figures("2026-03-01", "2026-03-10")
    (site,) = rows(found, by="site")
    assert site["water_productivity_kg_m3"] == figure["water_productivity_kg_m3"]
    assert (site["harvest_kg"], figure["harvest_kg"]) == (1100, 1100)
