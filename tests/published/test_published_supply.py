"""Relative irrigation supply, from files to figures, against its definition and arithmetic."""

from datetime import date, timedelta

import pytest

FIRST = date(2026, 1, 1)
# water and need of a day's site [m³], the same on each day of the month; the need comes from a crop of Kc 1
# on 1 ha at an efficiency of 1: 1 mm of evapotranspiration is 10 m³
SEASON = {1: (100.0, 5.0), 2: (0.0, 0.0), 3: (50.0, 10.0)}
RAINY = date(2026, 1, 1)


@pytest.fixture(scope="module")
def programme(load, weather):
    """A site through three months, and one on a day of rain."""
    days = [FIRST + timedelta(days=n) for n in range(90)]
    counted, reading = 0.0, []
    for day in [*days, days[-1] + timedelta(days=1)]:
        reading.append(f"W season|{day} 00:00|{counted}")
        counted += SEASON.get(day.month, (0.0, 0.0))[0]
    crop = "1|1|1|31|0|0|0"
    return load(
        sites=f"site_id|name|latitude|longitude|elevation_m|commissioned_on\n"
        f"season|a|0|0|0|{FIRST}\nrain|b|5|0|0|{RAINY}",
        blocks="site_id|block_id|area_ha|application_efficiency\nseason|B1|1|1\nrain|B1|1|1",
        crops=f"crop|kc_ini|kc_mid|kc_end|ini_days|dev_days|mid_days|late_days\nreed|{crop}",
        plantings="site_id|block_id|crop|planted_on|cleared_on\n"
        "season|B1|reed|2026-01-01|2026-02-01\nseason|B1|fallow|2026-02-01|2026-03-01\n"
        f"season|B1|reed|2026-03-01|2026-04-01\nrain|B1|reed|{RAINY}|",
        weather=weather(
            [(day, SEASON[day.month][1] or 4.0) for day in days] + [(RAINY, 8.0, 3.0 / 0.8, 5.0)]
        ),
        meters="meter_id|site_id|quantity\nW season|season|water\nW rain|rain|water",
        meter_readings="meter_id|read_at|value\n"
        + "\n".join(reading)
        + f"\nW rain|{RAINY} 00:00|0\nW rain|{RAINY + timedelta(days=1)} 00:00|60",
    )


def test_irrigation_over_the_need_that_rain_leaves(programme):
    """6 mm of irrigation on a need of 8 less 3 of rain: 1.2."""
    # Perry (1996); Molden, Sakthivadivel, Perry, de Fraiture, Kloezen (1998), IWMI Research Report 20:
    # relative irrigation supply is irrigation supply over irrigation demand. 600, 800 and 300 mm there follow
    # from the definition; no printed example
    figures = programme.site("rain", str(RAINY), str(RAINY))
    assert (figures["net_need_mm"], figures["effective_rain_mm"]) == (5.0, 3.0)
    assert figures["relative_irrigation_supply"] == pytest.approx(1.2, abs=5e-4)


def test_supply_of_a_season_is_a_ratio_of_sums(programme):
    """Daily 100 m³ on 50, none on none, 50 on 100: 1.0 over the season, not the mean of ratios, 1.25."""
    # arithmetic
    season = programme.site("season", "2026-01-01", "2026-03-31")
    assert season["relative_irrigation_supply"] == pytest.approx(1.0, abs=5e-4)
    months = programme.months("season", "2026-01-01", "2026-03-31")
    assert [line["relative_irrigation_supply"] for line in months] == [2.0, None, 0.5]
