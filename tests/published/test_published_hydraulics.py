"""Energy that lifts water, against arithmetic that anybody can repeat."""

import pytest

from pipeline.agronomy.hydraulics import KJ_PER_KWH, WATER_KN_M3, lift_efficiency, lifting_energy_kwh


def test_a_cubic_metre_by_a_metre():
    """2.724 Wh."""
    # ρ·g·h / 3.6e6 at standard gravity (3rd CGPM 1901); at 9.81 m/s² it is 2.725 Wh
    assert 1000 * lifting_energy_kwh(1, 1) == pytest.approx(2.724, abs=0.0005)


def test_pump_constant():
    """m³/h times m over 367.098 is kW."""
    # 3.6e6 / (1000 × 9.80665); recomputed, handbooks print 367
    assert pytest.approx(367.098, abs=0.001) == KJ_PER_KWH / WATER_KN_M3


def test_efficiency_from_wire_to_water():
    """3 kW that lift 13 m³/h by 30 m: 0.354."""
    # physics; 0.35425 at 9.81 m/s², a fraction of 3.4e-4 more than at standard gravity
    assert lift_efficiency(13, 30, 3) == pytest.approx(0.35425 * 9.80665 / 9.81, abs=1e-5)


def test_an_impossible_efficiency_shows():
    """The same by 90 m is above 1, and stays so."""
    # physics; 1.06275 at 9.81 m/s²
    assert lift_efficiency(13, 90, 3) == pytest.approx(1.06275 * 9.80665 / 9.81, abs=1e-5)


def test_water_weighs_what_it_weighs_at_four_degrees():
    """1000 kg/m³ is taken: warm water of 20 to 30 °C is lighter by 0.44 % at most."""
    # IAPWS-IF97 (1997): 998.21, 997.05 and 995.65 kg/m³ at 20, 25 and 30 °C; recomputed, not printed
    density_kg_m3 = WATER_KN_M3 / 9.80665 * 1000
    for warm_kg_m3 in (998.21, 997.05, 995.65):
        assert 0 <= density_kg_m3 / warm_kg_m3 - 1 < 0.0044
