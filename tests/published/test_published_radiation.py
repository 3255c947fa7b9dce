"""Radiation of a day, against what FAO-56 prints.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import numpy as np
import pytest

from pipeline.agronomy.evapotranspiration import MJ_TO_MM
from pipeline.agronomy.radiation import (
    black_body_mj_m2,
    clear_sky_mj_m2,
    daylight_hours,
    declination_rad,
    extraterrestrial_mj_m2,
    inverse_distance,
    net_longwave_mj_m2,
    net_shortwave_mj_m2,
    solar_from_sunshine_mj_m2,
    solar_from_temperature_range_mj_m2,
    sunset_hour_angle_rad,
)

RIO_DE_JANEIRO_DEG = -(22 + 54 / 60)
BANGKOK_DEG = 13 + 44 / 60
LYON_DEG = 45 + 43 / 60


def test_latitude_is_in_degrees_and_negative_in_the_south():
    """13°44' N is 0.24 rad, 22°54' S is −0.40 rad: the hour of sunset gives each back."""
    # FAO-56, Example 7, p. 46, eq. 22, turned round by eq. 25 on the longest day of the north
    longest = 172
    latitudes_deg = [BANGKOK_DEG, RIO_DE_JANEIRO_DEG]
    latitudes_rad = np.arctan(
        -np.cos(sunset_hour_angle_rad(longest, latitudes_deg)) / np.tan(declination_rad(longest))
    )
    assert latitudes_rad == pytest.approx([0.24, -0.40], abs=0.0006)


def test_radiation_outside_the_air_in_the_south():
    """On 3 September at 20° S the sun sets at 1.527 rad; 32.2 MJ/m² arrive, worth 13.1 mm."""
    # FAO-56, Example 8, p. 47, eq. 21 to 25
    outside = extraterrestrial_mj_m2(246, -20)
    assert inverse_distance(246) == pytest.approx(0.985, abs=0.0005)
    assert declination_rad(246) == pytest.approx(0.120, abs=0.0005)
    assert sunset_hour_angle_rad(246, -20) == pytest.approx(1.527, abs=0.0005)
    assert outside == pytest.approx(32.2, abs=0.05)
    assert outside * MJ_TO_MM == pytest.approx(13.1, abs=0.05)


def test_radiation_at_the_equator_has_two_maxima():
    """Around the year it rises and falls twice."""
    # FAO-56 eq. 21; recomputed, not printed (its Table 2.6 was not read)
    outside = extraterrestrial_mj_m2([15, 80, 172, 258, 349], 0)
    assert outside == pytest.approx([36.16, 37.82, 33.37, 37.23, 35.61], abs=0.01)


def test_the_day_at_the_equator_has_twelve_hours():
    """On each day of the year."""
    # FAO-56 eq. 34: at latitude 0 the hour angle of the sunset is π/2
    assert daylight_hours(np.arange(1, 366), 0) == pytest.approx(12.0)


def test_radiation_from_hours_of_sunshine():
    """Rio de Janeiro with 220 h of sunshine in May gets 14.5 MJ/m² a day."""
    # FAO-56, Example 10, p. 50, eq. 35
    outside = extraterrestrial_mj_m2(135, RIO_DE_JANEIRO_DEG)
    hours = daylight_hours(135, RIO_DE_JANEIRO_DEG)
    assert solar_from_sunshine_mj_m2(outside, 220 / 31, hours) == pytest.approx(14.5, abs=0.06)


def test_net_radiation_from_short_and_long_waves():
    """Of 14.5 MJ/m² Rio de Janeiro keeps 11.1, sends back 3.5: 7.6 remain."""
    # FAO-56, Examples 11 and 12, p. 52 to 53, eq. 36 to 40 (the printed latitude -22.70 is a misprint)
    clear_sky = clear_sky_mj_m2(extraterrestrial_mj_m2(135, RIO_DE_JANEIRO_DEG), 0)
    kept = net_shortwave_mj_m2(14.45)
    sent = net_longwave_mj_m2(19.1, 25.1, 2.1, 14.45 / clear_sky)
    assert clear_sky == pytest.approx(18.8, abs=0.06)
    assert kept == pytest.approx(11.1, abs=0.06)
    assert sent == pytest.approx(3.5, abs=0.06)
    assert kept - sent == pytest.approx(7.6, abs=0.06)


def test_radiation_from_the_range_of_temperature_inland():
    """Lyon in July: 40.6 MJ/m² outside, 22.3 at the ground."""
    # FAO-56, Example 15, p. 61, eq. 50
    assert extraterrestrial_mj_m2(196, LYON_DEG) == pytest.approx(40.6, abs=0.06)
    assert solar_from_temperature_range_mj_m2(196, LYON_DEG, 14.8, 26.6) == pytest.approx(22.3, abs=0.06)


def test_net_radiation_from_the_range_of_temperature_on_a_coast():
    """Bangkok in April keeps 16.9 MJ/m², sends back 3.0: 13.9 remain."""
    # FAO-56, Example 16, p. 62
    solar = solar_from_temperature_range_mj_m2(105, BANGKOK_DEG, 25.6, 34.8, krs=0.19)
    clear_sky = clear_sky_mj_m2(extraterrestrial_mj_m2(105, BANGKOK_DEG), 0)
    kept, sent = net_shortwave_mj_m2(solar), net_longwave_mj_m2(25.6, 34.8, 2.85, solar / clear_sky)
    assert kept == pytest.approx(16.9, abs=0.06)
    assert sent == pytest.approx(3.0, abs=0.06)
    assert kept - sent == pytest.approx(13.9, abs=0.06)


def test_black_body_table():
    """The printed table at 20, 25 and 30 °C, which takes 273.16 for the zero point."""
    # FAO-56, Annex 2, Table 2.8, p. 221
    assert black_body_mj_m2([20, 25, 30]) == pytest.approx([36.21, 38.75, 41.41], abs=0.006)


def test_radiation_to_depth_of_water():
    """1 MJ/m² evaporates 0.408 mm; 1 mm takes 2.45 MJ/m²."""
    # FAO-56, Table 3, p. 45
    assert pytest.approx(0.408, abs=0.0005) == MJ_TO_MM
    assert pytest.approx(2.45, abs=0.005) == 1 / MJ_TO_MM
