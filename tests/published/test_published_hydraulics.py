"""Energy that lifts water, from meters to figures, against arithmetic that anybody can repeat."""

import pytest

WEEK = ("2026-01-10", "2026-01-16")
STANDARD_GRAVITY_MS2 = 9.80665  # 3rd CGPM (1901), CR 70
SITES = """
    site_id | name | latitude | longitude | commissioned_on | total_dynamic_head_m
    lifted  | a    | 0        | 0         | 2026-01-10      | 100
    unknown | b    | 0        | 0         | 2026-01-10      |
"""
WATER_M3, HEAD_M, ENERGY_KWH = 10_000, 100, 4000


@pytest.fixture(scope="module")
def programme(load):
    """A week's readings of a water and an energy meter at each site."""
    meters, readings = [], []
    for site in ("lifted", "unknown"):
        for quantity, amount in (("water", WATER_M3), ("energy", ENERGY_KWH)):
            meter = f"{quantity} of {site}"
            meters.append(f"{meter}|{site}|{quantity}")
            readings += [f"{meter}|2026-01-10 00:00|0", f"{meter}|2026-01-17 00:00|{amount}"]
    return load(
        sites=SITES,
        meters="meter_id|site_id|quantity\n" + "\n".join(meters),
        meter_readings="meter_id|read_at|value\n" + "\n".join(readings),
    )


@pytest.fixture(scope="module")
def lifting_kwh(programme):
    """What lifting the water alone takes, as the figures have it."""
    return programme.site("lifted", *WEEK)["lift_efficiency"] * ENERGY_KWH


def test_a_cubic_metre_by_a_metre(lifting_kwh):
    """2.724 Wh."""
    # ρ·g·h / 3.6e6 at standard gravity; at 9.81 m/s² it is 2.725 Wh
    assert 1000 * lifting_kwh / (WATER_M3 * HEAD_M) == pytest.approx(2.724, abs=0.0005)


def test_pump_constant(lifting_kwh):
    """m³/h times m over 367.098 is kW."""
    # 3.6e6 / (1000 × 9.80665); recomputed, handbooks print 367
    assert WATER_M3 * HEAD_M / lifting_kwh == pytest.approx(367.098, abs=0.03)


def test_water_weighs_what_it_weighs_at_four_degrees(lifting_kwh):
    """1000 kg/m³ is taken: warm water of 20 to 30 °C is lighter by 0.44 % at most."""
    # IAPWS-IF97 (1997): 998.21, 997.05 and 995.65 kg/m³ at 20, 25 and 30 °C; recomputed, not printed
    density_kg_m3 = lifting_kwh * 3.6e6 / (WATER_M3 * HEAD_M * STANDARD_GRAVITY_MS2)
    for warm_kg_m3 in (998.21, 997.05, 995.65):
        assert 0 <= density_kg_m3 / warm_kg_m3 - 1 < 0.0044


def test_without_a_head_nobody_knows_the_efficiency(programme):
    """The energy of a cubic metre is known all the same."""
    # physics: 4000 kWh over 10,000 m³
    figures = programme.site("unknown", *WEEK)
    assert (figures["lift_efficiency"], figures["energy_kwh_per_m3"]) == (None, 0.4)
