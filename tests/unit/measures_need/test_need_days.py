"""Crop need from small tables of weather, blocks and plantings."""

import numpy as np
import pytest

from pipeline.config import Settings
from pipeline.measures.need import compute
from pipeline.measures.results import RESULTS

SITE = """
    site_id | name | latitude | longitude | elevation_m | commissioned_on
    S1      | One  | -13.5    | 33.8      | 1100        | 2026-03-01
"""
BLOCK = """
    site_id | block_id | area_ha | irrigation_method
    S1      | B1       | 1       | furrow
"""
FLAT_CROP = """
    crop   | kc_ini | kc_mid | kc_end | ini_days | dev_days | mid_days | late_days
    sorrel | 1      | 1      | 1      | 10       | 0        | 0        | 0
"""
WEATHER_HEAD = "station_id | latitude | longitude | elevation_m | day | tmin_c | tmax_c | rain_mm\n"


def weather(days, rain_mm=0.0, station="W1", latitude=-13.5, elevation=1100, tmin=15, tmax=27):
    rows = [
        f"{station}|{latitude}|33.8|{elevation}|2026-03-{day:02d}|{tmin}|{tmax}|{rain_mm}" for day in days
    ]
    return WEATHER_HEAD + "\n".join(rows)


def needs(reader):
    compute(reader.connection, Settings())
    return reader


def test_a_days_need_is_kc_times_et0_over_efficiency(given):
    """Kc 1 on 1 ha under furrows (0.60): ET₀ / 0.60 × 10 m³."""
    planted = "site_id|block_id|crop|planted_on\nS1|B1|sorrel|2026-03-01"
    reader = needs(given(sites=SITE, blocks=BLOCK, crops=FLAT_CROP, plantings=planted, weather=weather([1])))
    ((et0, need),) = reader.rows("SELECT et0_mm, need_m3 FROM site_weather JOIN site_need_days USING (day)")
    assert 3 < et0 < 7
    assert need == pytest.approx(et0 / 0.60 * 10)


def test_a_crop_stands_to_the_end_of_its_last_stage(given):
    """Ten days from day 1: the tenth is known, the eleventh has no crop on record."""
    planted = "site_id|block_id|crop|planted_on\nS1|B1|sorrel|2026-03-01"
    reader = needs(
        given(sites=SITE, blocks=BLOCK, crops=FLAT_CROP, plantings=planted, weather=weather([10, 11]))
    )
    assert reader.rows("SELECT day(day), known FROM site_need_days WHERE day >= '2026-03-10'") == [
        (10, True),
        (11, False),
    ]


def test_a_crop_whose_stages_have_no_day_is_unknown(given):
    """All four stages 0, planted and cleared later: its need is not known, and no 0."""
    crop = FLAT_CROP.replace("| 10       |", "| 0        |")
    planted = "site_id|block_id|crop|planted_on|cleared_on\nS1|B1|sorrel|2026-03-01|2026-03-20"
    reader = needs(given(sites=SITE, blocks=BLOCK, crops=crop, plantings=planted, weather=weather([5])))
    assert reader.rows("SELECT known, need_m3 FROM site_need_days WHERE day = '2026-03-05'") == [
        (False, None)
    ]


def test_an_area_of_crops_above_the_block_counts_in_proportion(given):
    """1.5 and 0.5 ha on a block of 1 ha: 0.75 and 0.25; 1.05 ha is left as told."""
    planted = """site_id|block_id|crop|planted_on|area_ha
        S1|B1|sorrel|2026-03-01|1.5
        S1|B1|sorrel|2026-02-28|0.5
        S1|B2|sorrel|2026-03-01|1.05"""
    blocks = BLOCK + "    S1 | B2 | 1 | drip"
    reader = needs(given(sites=SITE, blocks=blocks, crops=FLAT_CROP, plantings=planted, weather=weather([1])))
    assert reader.rows("SELECT block_id, planted_ha FROM block_days ORDER BY ALL") == [
        ("B1", 1.0),
        ("B2", 1.05),
    ]


def test_crops_without_an_area_share_what_the_others_leave(given):
    """0.4 ha told, two without: 0.3 ha each; Kc 1, 0.5 and 0.5 weigh to 0.7."""
    crops = FLAT_CROP + "    reed | 0.5 | 0.5 | 0.5 | 10 | 0 | 0 | 0"
    planted = """site_id|block_id|crop|planted_on|area_ha
        S1|B1|sorrel|2026-03-01|0.4
        S1|B1|reed|2026-03-01|
        S1|B1|reed|2026-02-28|"""
    reader = needs(given(sites=SITE, blocks=BLOCK, crops=crops, plantings=planted, weather=weather([1])))
    assert reader.rows("SELECT planted_ha, round(kc, 9) FROM block_days") == [(1.0, 0.7)]


def test_fallow_is_known_and_fills_the_store(given):
    """10 mm in fallow put 8 mm in the store: the crop of the next day draws from it first."""
    planted = """site_id|block_id|crop|planted_on
        S1|B1|fallow|2026-03-01
        S1|B1|sorrel|2026-03-02"""
    rain = weather([1], rain_mm=10) + "\n" + weather([2]).split("\n", 1)[1]
    reader = needs(given(sites=SITE, blocks=BLOCK, crops=FLAT_CROP, plantings=planted, weather=rain))
    rows = reader.rows("SELECT known, need_m3, effective_rain_m3 FROM site_need_days ORDER BY day")
    assert rows[0] == (True, 0, 0)
    assert rows[1][0]
    assert rows[1][1] == 0
    assert rows[1][2] > 30


def test_an_unknown_crop_leaves_the_need_unknown(given):
    """Nobody has values for it: no need, and no share of the area on record."""
    planted = "site_id|block_id|crop|planted_on\nS1|B1|moonflower|2026-03-01"
    reader = needs(given(sites=SITE, blocks=BLOCK, plantings=planted, weather=weather([1])))
    assert reader.rows("SELECT known, need_m3, cropping_share FROM site_need_days") == [(False, None, 0)]


def test_a_block_without_method_or_efficiency_has_no_gross_need(given):
    """The net need is known, the gross need is not."""
    blocks = "site_id|block_id|area_ha\nS1|B1|1"
    planted = "site_id|block_id|crop|planted_on\nS1|B1|sorrel|2026-03-01"
    reader = needs(given(sites=SITE, blocks=blocks, crops=FLAT_CROP, plantings=planted, weather=weather([1])))
    ((known, need, net),) = reader.rows("SELECT known, need_m3, net_need_m3 FROM site_need_days")
    assert (known, need) == (True, None)
    assert net > 0


def test_a_station_within_a_kilometre_speaks_alone(given):
    """At the site's door 20 °C counts, whatever stands 50 km off."""
    text = weather([1], tmin=20) + "\n" + weather([1], station="W2", latitude=-13.05).split("\n", 1)[1]
    reader = needs(given(sites=SITE, weather=text))
    assert reader.rows("SELECT tmin_c, distance_km FROM site_weather") == [(20.0, 0.0)]


def test_stations_count_with_the_inverse_square_of_their_distance(given):
    """10° at about 11 km, 20° at twice that: a weight of 4 to 1 gives 12°."""
    text = (
        weather([1], station="W1", latitude=-13.6, tmin=10)
        + "\n"
        + weather([1], station="W2", latitude=-13.3, tmin=20).split("\n", 1)[1]
    )
    reader = needs(given(sites=SITE, weather=text))
    ((tmin,),) = reader.rows("SELECT tmin_c FROM site_weather")
    assert tmin == pytest.approx(12.0, abs=0.01)


def test_temperature_is_corrected_for_elevation(given):
    """A station 1000 m below the site is 6.5 K warmer than the site."""
    reader = needs(given(sites=SITE, weather=weather([1], latitude=-13.6, elevation=100, tmin=20)))
    ((tmin,),) = reader.rows("SELECT tmin_c FROM site_weather")
    assert tmin == pytest.approx(13.5)


def test_no_station_within_a_hundred_kilometres_means_no_need(given):
    """A degree of latitude is about 110.6 km."""
    planted = "site_id|block_id|crop|planted_on\nS1|B1|sorrel|2026-03-01"
    reader = needs(
        given(
            sites=SITE,
            blocks=BLOCK,
            crops=FLAT_CROP,
            plantings=planted,
            weather=weather([1], latitude=-14.5),
        )
    )
    assert reader.rows("SELECT known, need_m3, cropping_share FROM site_need_days") == [(False, None, None)]


def test_a_day_without_both_temperatures_goes_to_the_next_station(given):
    """The near station lacks its tmax on the day: the one farther off stands in."""
    text = (
        WEATHER_HEAD
        + "W1|-13.5|33.8|1100|2026-03-01|15||0\n"
        + weather([1], station="W2", latitude=-13.6, tmin=11).split("\n", 1)[1]
    )
    reader = needs(given(sites=SITE, weather=text))
    ((tmin, distance),) = reader.rows("SELECT tmin_c, distance_km FROM site_weather")
    assert tmin == 11.0
    assert np.isclose(distance, 11.06, atol=0.02)


@pytest.mark.parametrize("name", ["site_weather", "planting_spans", "block_days", "site_need_days"])
def test_a_result_has_its_declared_columns(given, name):
    """What need leaves behind is what the store publishes."""
    reader = needs(given(sites=SITE, blocks=BLOCK, weather=weather([1])))
    columns = {row[0]: row[1] for row in reader.rows(f"DESCRIBE {name}")}
    assert columns == dict(RESULTS[name])


def test_rain_beyond_the_need_leaves_no_negative_need(given):
    """Net need is max(ETc − Pe, 0), and each day is clipped before days are added.

    Definition; the same with months is arithmetic: ETc 60, 120, 130 less Pe 84, 40, 0 is 210, not 186.
    """
    planted = "site_id|block_id|crop|planted_on\nS1|B1|sorrel|2026-03-01"
    rain = weather([1], rain_mm=200) + "\n" + weather([2, 3, 4, 5, 6, 7, 8, 9, 10]).split("\n", 1)[1]
    reader = needs(given(sites=SITE, blocks=BLOCK, crops=FLAT_CROP, plantings=planted, weather=rain))
    rows = reader.rows("SELECT etc_mm, effective_rain_mm, net_need_mm FROM block_days ORDER BY day")
    assert rows[0][2] == 0
    assert all(net >= 0 for *_, net in rows)
    assert sum(drawn for _, drawn, _ in rows) == pytest.approx(25)  # the store held no more
    assert sum(net for *_, net in rows) == pytest.approx(sum(etc for etc, *_ in rows) - 25)


def test_a_cleared_crop_stands_to_the_day_before(given):
    """Cleared on the 3rd: the 2nd is the last day with a crop on record."""
    planted = "site_id|block_id|crop|planted_on|cleared_on\nS1|B1|sorrel|2026-03-01|2026-03-03"
    reader = needs(
        given(sites=SITE, blocks=BLOCK, crops=FLAT_CROP, plantings=planted, weather=weather([1, 2, 3]))
    )
    assert reader.rows("SELECT day(day) FROM site_need_days WHERE known ORDER BY 1") == [(1,), (2,)]


def test_missing_elevations_come_from_the_nearest_place(given):
    """A station without elevation stands as high as its nearest site: nothing to correct."""
    text = weather([1], latitude=-13.6, elevation="", tmin=20)
    reader = needs(given(sites=SITE, weather=text))
    ((tmin,),) = reader.rows("SELECT tmin_c FROM site_weather")
    assert tmin == pytest.approx(20)


def test_a_day_without_a_record_of_rain_has_no_need(given):
    """Rain is not estimated: what the crop drew is unknown, and so is the need."""
    planted = "site_id|block_id|crop|planted_on\nS1|B1|sorrel|2026-03-01"
    reader = needs(
        given(sites=SITE, blocks=BLOCK, crops=FLAT_CROP, plantings=planted, weather=weather([1], rain_mm=""))
    )
    assert reader.rows("SELECT known, need_m3 FROM site_need_days") == [(False, None)]
