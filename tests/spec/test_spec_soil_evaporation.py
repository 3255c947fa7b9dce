"""The dual crop coefficient in the balance of the root zone."""

import pytest

from pipeline.config import Settings

DUAL = Settings(dual_crop_coefficient=True, start_depletion_share=0.0)
SITE = "site_id | latitude | commissioned_on | pump_rated_flow_m3h\nS1 | -13.5 | 2026-04-01 | 50"
PLANTINGS = "site_id | block_id | crop | planted_on\nS1 | B1 | tomato | 2026-04-01"
METER = "meter_id|site_id\nW1|S1"
DAYS = "SELECT etc_mm / et0_mm FROM root_zone_days JOIN site_weather USING (site_id, day) ORDER BY day"


def weather(rain=None):
    rows = [f"-13.5 | 2026-04-{day:02d} | {(rain or {}).get(day, 0)}" for day in range(1, 11)]
    return "latitude | day | rain_mm\n" + "\n".join(rows)


def block(method):
    return f"site_id | block_id | area_ha | irrigation_method | soil\nS1 | B1 | 1 | {method} | loam"


@pytest.fixture
def ratios(measure):
    """What crop and soil take over ET0 on each of ten days, m³ a day of water through the meter."""

    def of(method="sprinkler", m3_a_day=0, rain=None, settings=DUAL, *, readings=True, **given):
        read = (
            f"meter_id | read_at | value\nW1 | 2026-04-01 00:00 | 0\nW1 | 2026-04-11 00:00 | {m3_a_day * 10}"
        )
        plain = {"sites": SITE, "blocks": block(method), "plantings": PLANTINGS, "weather": weather(rain)}
        plain |= {"meters": METER, "meter_readings": read} if readings else {}
        return [ratio for (ratio,) in measure(settings, **plain | given).rows(DAYS)]

    return of


def test_a_dry_surface_leaves_the_basal_coefficient(ratios):
    """No water on a surface that is dry at planting: Kcb ini of tomato, 0.15 (FAO-56 Table 17)."""
    assert ratios() == pytest.approx([0.15] * 10)


def test_a_heavy_rain_lets_the_bare_soil_evaporate_and_dry(ratios):
    """30 mm on the 3rd: near the most that wet soil takes at once, less and less from then on."""
    found = ratios(rain={3: 30})
    assert found[1] == pytest.approx(0.15)
    assert 1.0 < found[2] <= 1.3
    assert found[2] > found[6] > found[9] > 0.15


def test_drippers_wet_a_third_of_the_soil(ratios):
    """The same water every day: under sprinklers more is lost beside the plants than under drippers."""
    assert ratios("drip", m3_a_day=50)[5] < ratios("sprinkler", m3_a_day=50)[5]


def test_the_programmes_own_crop_goes_by_its_single_coefficient(ratios):
    """Own values have no basal ones: Kc 0.6 as it stands."""
    own = """
        crop   | kc_ini | kc_mid | kc_end | ini_days | dev_days | mid_days | late_days | root_depth_m | depletion_fraction
        tomato | 0.6    | 1.1    | 0.8    | 30       | 40       | 45       | 30        | 0.7          | 0.4
    """
    assert ratios(crops=own) == pytest.approx([0.6] * 10)


def test_without_a_meters_word_the_single_coefficient_stands_in(ratios):
    """Nobody knows how wet the surface was: Kc ini of tomato, 0.6 (FAO-56 Table 12)."""
    assert ratios(readings=False) == pytest.approx([0.6] * 10)


def test_after_a_silent_meter_nobody_knows_how_wet_the_surface_is(measure):
    """Read on the 1st, 3rd, 6th and 11th, the 4th and 5th in doubt: single until 40 mm of rain on the 9th wet it through."""
    readings = "meter_id|read_at|value\nW1|2026-04-01 00:00|0\nW1|2026-04-04 00:00|0\nW2|2026-04-06 00:00|0\nW2|2026-04-11 00:00|0"
    found = measure(
        DUAL,
        sites=SITE,
        blocks=block("sprinkler"),
        plantings=PLANTINGS,
        weather=weather({9: 40}),
        meters="meter_id|site_id|installed_on|removed_on\nW1|S1|2026-04-01|2026-04-05\nW2|S1|2026-04-05|",
        meter_readings=readings,
    )
    ratios = [ratio for (ratio,) in found.rows(DAYS)]
    assert ratios[:3] == pytest.approx([0.15] * 3)
    assert ratios[3:8] == pytest.approx([0.6] * 5)
    assert ratios[8] > 1.0
    assert 0.15 < ratios[9] != pytest.approx(0.6)


def test_by_default_the_single_coefficient_holds(ratios):
    """The option is off until somebody sets it."""
    assert ratios(settings=Settings()) == pytest.approx([0.6] * 10)
