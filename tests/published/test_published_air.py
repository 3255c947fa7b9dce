"""Pressure and vapour of the air, against what FAO-56 prints.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import pytest

from pipeline.agronomy.humidity import (
    actual_vapour_pressure_kpa,
    humidity_from_temperature_pct,
    mean_saturation_vapour_pressure_kpa,
    pressure_kpa,
    psychrometric_constant_kpa_c,
    saturation_slope_kpa_c,
    saturation_vapour_pressure_kpa,
    vapour_pressure_from_wet_bulb_kpa,
)


def test_pressure_at_an_elevation():
    """At 1800 m the air presses with 81.8 kPa."""
    # FAO-56, Example 2, p. 32, eq. 7
    assert pressure_kpa(1800) == pytest.approx(81.8, abs=0.05)


def test_pressure_at_the_height_of_the_psychrometer():
    """At 1200 m it is 87.9 kPa."""
    # FAO-56, Example 4, p. 38, eq. 7
    assert pressure_kpa(1200) == pytest.approx(87.9, abs=0.05)


def test_psychrometric_constant_of_a_pressure():
    """At 81.8 kPa γ is 0.054 kPa/°C."""
    # FAO-56, Example 2, p. 32, eq. 8
    assert psychrometric_constant_kpa_c(81.8) == pytest.approx(0.054, abs=0.0005)


def test_saturation_pressure_of_two_temperatures_and_its_mean():
    """24.5 and 15 °C give 3.075 and 1.705 kPa, in the mean 2.39."""
    # FAO-56, Example 3, p. 36, eq. 11 and 12
    assert saturation_vapour_pressure_kpa([24.5, 15.0]) == pytest.approx([3.075, 1.705], abs=0.001)
    assert mean_saturation_vapour_pressure_kpa(15.0, 24.5) == pytest.approx(2.39, abs=0.001)


def test_saturation_pressure_is_not_taken_at_the_mean_temperature():
    """At the mean of 19.75 °C it would be 2.30 kPa: too low."""
    # FAO-56, Example 3, note, p. 36
    at_mean = saturation_vapour_pressure_kpa(19.75)
    assert at_mean == pytest.approx(2.30, abs=0.005)
    assert mean_saturation_vapour_pressure_kpa(15.0, 24.5) > at_mean + 0.08


def test_saturation_pressure_table():
    """The printed table from 1 to 48.5 °C."""
    # FAO-56, Annex 2, Table 2.3, p. 215
    air_c = [1, 10, 20, 25, 30, 35, 40, 45, 48.5]
    printed = [0.657, 1.228, 2.338, 3.168, 4.243, 5.623, 7.376, 9.582, 11.447]
    assert saturation_vapour_pressure_kpa(air_c) == pytest.approx(printed, abs=0.0011)


def test_slope_table():
    """The printed table of the slope from 10 to 40 °C."""
    # FAO-56, Annex 2, Table 2.4, p. 216
    printed = [0.082, 0.145, 0.189, 0.243, 0.311, 0.393]
    assert saturation_slope_kpa_c([10, 20, 25, 30, 35, 40]) == pytest.approx(printed, abs=0.0006)


def test_vapour_from_a_wet_and_a_dry_thermometer():
    """25.6 °C dry and 19.5 °C wet at 1200 m: 1.91 kPa."""
    # FAO-56, Example 4, p. 38, eq. 15 and 16, a ventilated psychrometer
    vapour = vapour_pressure_from_wet_bulb_kpa(25.6, 19.5, pressure_kpa(1200))
    assert vapour == pytest.approx(1.91, abs=0.005)


def test_saturation_pressure_lies_by_that_of_water():
    """At 20, 25 and 30 °C the short formula is within 0.01 kPa of the steam tables."""
    # IAPWS-IF97 (1997), saturation pressure; recomputed, not printed
    assert saturation_vapour_pressure_kpa([20, 25, 30]) == pytest.approx([2.339, 3.170, 4.247], abs=0.01)


def test_vapour_of_a_day_from_two_humidities():
    """82 % at 18 °C and 54 % at 25 °C are 1.70 kPa in the mean, and 0.91 kPa are lacking."""
    # FAO-56, Examples 5 and 6, p. 39, eq. 17: the printed working forgets to halve, the result does not
    ends = actual_vapour_pressure_kpa(saturation_vapour_pressure_kpa([18.0, 25.0]), [82.0, 54.0])
    assert ends.mean() == pytest.approx(1.70, abs=0.005)
    assert mean_saturation_vapour_pressure_kpa(18.0, 25.0) - ends.mean() == pytest.approx(0.91, abs=0.006)


def test_humidity_from_the_lowest_temperature_is_its_saturation():
    """Without a hygrometer, Lyon in July holds 1.68 kPa: the saturation at 14.8 °C."""
    # FAO-56, Example 20, p. 77, eq. 48
    humidity = humidity_from_temperature_pct(14.8, 26.6)
    vapour = actual_vapour_pressure_kpa(mean_saturation_vapour_pressure_kpa(14.8, 26.6), humidity)
    assert vapour == pytest.approx(1.68, abs=0.005)
