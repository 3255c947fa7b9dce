"""Figures against numbers that others printed or that follow from their definitions."""

from datetime import date

import pytest

from pipeline.measures.figures import indicators

SITES = "site_id|name|latitude|longitude|commissioned_on\nA|a|-13|33|2025-01-01\nB|b|-13|33|2025-01-01"
DAY_HEAD = "site_id|day|water_m3|water_cover|service_h|up_h|down_h|unknown_h\n"
NEED_HEAD = "site_id|day|known|need_m3|net_need_m3|effective_rain_m3|planted_ha|cropping_share\n"
FROM, TO = date(2026, 1, 1), date(2026, 3, 31)


def figures(reader, **how):
    return indicators(reader, FROM, TO, **how).to_pylist()


def test_relative_irrigation_supply_is_water_over_net_of_rain_need(given):
    """600 mm on a need of 800 less 300 mm of rain: 1.2.

    Perry (1996); Molden, Sakthivadivel, Perry, de Fraiture, Kloezen (1998), IWMI Research Report 20:
    relative irrigation supply = irrigation supply / irrigation demand. The numbers follow from the
    definition; no printed example.
    """
    reader = given(
        sites=SITES,
        site_days=DAY_HEAD + "A|2026-01-01|6000|1||||",
        site_need_days=NEED_HEAD + "A|2026-01-01|true|5000|5000|3000|1|1",
    )
    row = figures(reader)[0]
    assert row["relative_irrigation_supply"] == 1.2
    assert (row["net_need_mm"], row["effective_rain_mm"]) == (500, 300)


def test_relative_irrigation_supply_of_a_season_is_a_ratio_of_sums(given):
    """Months of 100, 0 and 50 on 50, 0 and 100: 1.0, not the mean of ratios, 1.25. Arithmetic."""
    reader = given(
        sites=SITES,
        site_days=DAY_HEAD + "A|2026-01-01|100|1||||\nA|2026-02-01|0|1||||\nA|2026-03-01|50|1||||",
        site_need_days=NEED_HEAD
        + "A|2026-01-01|true|50|50|0|1|1\nA|2026-02-01|true|0|0|0|1|1\nA|2026-03-01|true|100|100|0|1|1",
    )
    assert figures(reader)[0]["relative_irrigation_supply"] == 1.0
    months = [row["relative_irrigation_supply"] for row in figures(reader, by_month=True)[:3]]
    assert months == [2.0, None, 0.5]


def test_uptime_of_two_sites_is_pooled_time(given):
    """1000 h with 100 down and 100 h with 50 down: 0.8636, not the mean of sites, 0.7. Arithmetic."""
    reader = given(
        sites=SITES,
        site_days=DAY_HEAD + "A|2026-01-01|||1000|900|100|0\nB|2026-01-01|||100|50|50|0",
    )
    assert figures(reader, group="programme")[0]["uptime"] == pytest.approx(0.863636, abs=1e-4)
    assert [row["uptime"] for row in figures(reader)] == [0.9, 0.5]


def test_mean_up_time_and_mean_down_time(given):
    """950 h up, 50 h down, three outages: 316.667 h between failures, 16.667 h to restore.

    ISO 14224:2016 annex C and IEC 60050-192 (from memory): operating time over failures.
    """
    outages = """site_id|from_at|to_at|from_day|to_day|down_h
        A|2026-01-05 08:00|2026-01-06 08:00|2026-01-05|2026-01-06|10
        A|2026-02-05 08:00|2026-02-06 08:00|2026-02-05|2026-02-06|20
        A|2026-03-05 08:00|2026-03-06 08:00|2026-03-05|2026-03-06|20"""
    reader = given(sites=SITES, site_days=DAY_HEAD + "A|2026-01-01|||1000|950|50|0", outages=outages)
    row = figures(reader)[0]
    assert (row["outages"], row["mean_up_h"], row["mean_down_h"]) == (3, 316.7, 16.7)
    assert row["uptime"] == 0.95  # steady-state availability, MUT / (MUT + MDT): IEC 60050-192
    january, february, _ = figures(reader, by_month=True)[:3]
    assert (january["outages"], january["outages_open"], february["outages_open"]) == (1, 0, 0)


def test_an_open_outage_is_open_at_the_start_of_the_next_month(given):
    """It began in January and nobody has ended it: it counts once as begun, then as open."""
    outages = "site_id|from_at|to_at|from_day|to_day|down_h\nA|2026-01-05 08:00||2026-01-05||"
    rows = figures(given(sites=SITES, outages=outages), by_month=True)[:3]
    assert [row["outages"] for row in rows] == [1, 0, 0]
    assert [row["outages_open"] for row in rows] == [0, 1, 1]


def test_energy_per_m3_at_the_definitions_own_head(given):
    """2.724 Wh lifts 1 m³ by 1 m: at 100 m and all energy in the water, 0.2724 kWh/m³ and 1.

    Standard gravity 9.80665 m/s² (3rd CGPM 1901) on 1000 kg/m³.
    """
    reader = given(
        sites=SITES,
        site_days="site_id|day|both_water_m3|both_energy_kwh|both_hydraulic_kwh|both_cover\n"
        "A|2026-01-01|100|27.2407|27.2407|1\nA|2026-01-02|100|27.2407||1",
    )
    row = figures(reader)[0]
    assert (row["energy_kwh_per_m3"], row["lift_efficiency"]) == (0.2724, 1.0)
