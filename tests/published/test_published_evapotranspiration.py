"""Reference evapotranspiration, against the worked examples of FAO-56.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import numpy as np
import pytest

from pipeline.agronomy.evapotranspiration import (
    HOURLY_AERODYNAMIC,
    hargreaves_mm,
    penman_monteith_mm,
    reference_evapotranspiration_mm,
    soil_heat_mj_m2,
    wind_at_2m_ms,
)
from pipeline.agronomy.humidity import (
    actual_vapour_pressure_kpa,
    mean_saturation_vapour_pressure_kpa,
    pressure_kpa,
    psychrometric_constant_kpa_c,
    saturation_vapour_pressure_kpa,
)
from pipeline.agronomy.radiation import (
    clear_sky_mj_m2,
    daylight_hours,
    extraterrestrial_mj_m2,
    net_longwave_mj_m2,
    net_shortwave_mj_m2,
    solar_from_sunshine_mj_m2,
)
from pipeline.agronomy.station import fill_station_gaps
from pipeline.agronomy.sun import daylight

BANGKOK_DEG = 13 + 44 / 60
LYON_DEG = 45 + 43 / 60

# FAO-56, Figure 18, p. 69: Cabinda (5.33° S, 20 m), the printed climate of each month
CABINDA = np.array(
    [
        # tmin_c tmax_c rh wind_km_day sunshine_h solar et0
        [22.8, 29.6, 81, 78, 4.0, 15.7, 3.4],
        [22.7, 30.3, 82, 69, 4.6, 16.9, 3.7],
        [23.0, 30.6, 80, 78, 5.1, 17.4, 3.8],
        [23.0, 30.2, 82, 69, 5.0, 16.4, 3.5],
        [22.0, 28.6, 84, 69, 3.8, 13.5, 2.9],
        [19.2, 26.5, 81, 69, 3.3, 12.2, 2.6],
        [17.6, 25.1, 78, 78, 3.2, 12.3, 2.6],
        [18.6, 25.3, 78, 78, 2.6, 12.4, 2.6],
        [20.5, 26.5, 78, 104, 2.0, 12.4, 2.8],
        [22.5, 28.0, 79, 130, 2.2, 12.9, 3.1],
        [23.0, 28.7, 80, 104, 3.2, 14.4, 3.3],
        [23.0, 29.1, 82, 95, 3.8, 15.2, 3.4],
    ]
)
MID_MONTH = np.floor(30.4 * np.arange(1, 13) - 15)


def test_wind_at_2_m_from_other_heights():
    """The printed factors from 1 to 10 m."""
    # FAO-56, Annex 2, Table 2.9, p. 222
    printed = [1.178, 1.0, 0.921, 0.838, 0.748]
    assert wind_at_2m_ms(1.0, [1, 2, 3, 5, 10]) == pytest.approx(printed, abs=0.0015)


def test_soil_heat_of_a_month():
    """From 14.1 °C in March to 18.8 °C in May, April puts 0.33 MJ/m² a day into the soil."""
    # FAO-56, Example 13, p. 55, eq. 43
    assert soil_heat_mj_m2((18.8 - 14.1) / 2) == pytest.approx(0.33, abs=0.005)


def test_a_day_from_measured_weather():
    """Uccle on 6 July, step by step: 3.88 mm."""
    # FAO-56, Example 18, p. 72 to 73
    wind = wind_at_2m_ms(10 / 3.6, 10)
    saturation = mean_saturation_vapour_pressure_kpa(12.3, 21.5)
    ends = actual_vapour_pressure_kpa(saturation_vapour_pressure_kpa([12.3, 21.5]), [84, 63])
    vapour = ends.mean()
    outside, hours = extraterrestrial_mj_m2(187, 50.8), daylight_hours(187, 50.8)
    solar = solar_from_sunshine_mj_m2(outside, 9.25, hours)
    clear_sky = clear_sky_mj_m2(outside, 100)
    sent = net_longwave_mj_m2(12.3, 21.5, vapour, solar / clear_sky)
    assert wind == pytest.approx(2.078, abs=0.001)
    assert [saturation, vapour] == pytest.approx([1.997, 1.409], abs=0.001)
    assert [outside, solar, clear_sky] == pytest.approx([41.09, 22.07, 30.90], abs=0.01)
    assert hours == pytest.approx(16.1, abs=0.05)
    assert [net_shortwave_mj_m2(solar), sent] == pytest.approx([17.0, 3.71], abs=0.011)
    assert net_shortwave_mj_m2(solar) - sent == pytest.approx(13.28, abs=0.01)
    depth_mm = reference_evapotranspiration_mm(
        187, 50.8, 100, 12.3, 21.5, 100 * vapour / saturation, wind, solar
    )
    assert depth_mm == pytest.approx(3.88, abs=0.01)


def test_a_month_from_measured_weather():
    """Bangkok in April, whose soil takes 0.14 MJ/m²: 5.72 mm a day."""
    # FAO-56, Example 17, p. 70 to 71
    outside, hours = extraterrestrial_mj_m2(105, BANGKOK_DEG), daylight_hours(105, BANGKOK_DEG)
    solar = solar_from_sunshine_mj_m2(outside, 8.5, hours)
    clear_sky = clear_sky_mj_m2(outside, 2)
    kept, sent = net_shortwave_mj_m2(solar), net_longwave_mj_m2(25.6, 34.8, 2.85, solar / clear_sky)
    net = kept - sent
    assert [kept, sent] == pytest.approx([17.44, 3.11], abs=0.011)
    assert [outside, solar, clear_sky, net] == pytest.approx([38.06, 22.65, 28.54, 14.33], abs=0.011)
    assert hours == pytest.approx(12.31, abs=0.01)
    depth_mm = penman_monteith_mm(
        mean_c=30.2,
        net_radiation_mj_m2=net - soil_heat_mj_m2(30.2 - 29.2),
        wind_2m_ms=2.0,
        vapour_deficit_kpa=mean_saturation_vapour_pressure_kpa(25.6, 34.8) - 2.85,
        psychrometric_kpa_c=psychrometric_constant_kpa_c(pressure_kpa(2)),
    )
    assert depth_mm == pytest.approx(5.72, abs=0.01)


def test_a_day_from_temperatures_alone():
    """Lyon in July with nothing but two temperatures: 4.56 mm at 2 m/s; 4.2 and 4.8 at 1 and 3 m/s."""
    # FAO-56, Example 20, p. 77 to 78
    wind = np.array([np.nan, 1.0, 3.0])
    filled = fill_station_gaps(196, LYON_DEG, 14.8, 26.6, np.nan, wind, np.nan)
    depth_mm = reference_evapotranspiration_mm(
        196, LYON_DEG, 200, 14.8, 26.6, filled.rh_mean_pct, filled.wind_2m_ms, filled.solar_mj_m2
    )
    assert depth_mm == pytest.approx([4.56, 4.2, 4.8], abs=0.05)
    assert filled.wind_estimated.tolist() == [True, False, False]


def test_hargreaves_lies_a_tenth_above():
    """The same day in Lyon by Hargreaves: 5.0 mm, never to be called FAO-56."""
    # FAO-56, eq. 52, p. 64, and Example 20, last line, p. 78
    assert hargreaves_mm(extraterrestrial_mj_m2(196, LYON_DEG), 14.8, 26.6) == pytest.approx(5.0, abs=0.05)


def test_an_hour_of_the_night():
    """N'Diaye from 2 to 3 h: 0.1 MJ/m² go out, half of it from the soil, and 0.00 mm evaporate."""
    # FAO-56, Example 19, p. 75 to 76, eq. 53; soil heat is half of the net radiation at night, eq. 46
    # 1 October, 16°13' N, 16°15' W, whose clock is that of 15° W: no sun, so nothing from outside the air
    sun = daylight(16 + 13 / 60, -(16 + 15 / 60), np.datetime64("1998-10-01"))
    assert sun.from_s > np.datetime64("1998-10-01T04:00", "s").astype(float)
    vapour = actual_vapour_pressure_kpa(saturation_vapour_pressure_kpa(28), 90)
    net = -net_longwave_mj_m2(28, 28, vapour, 0.8) / 24
    depth_mm = penman_monteith_mm(
        mean_c=28,
        net_radiation_mj_m2=net - 0.5 * net,
        wind_2m_ms=1.9,
        vapour_deficit_kpa=saturation_vapour_pressure_kpa(28) - vapour,
        psychrometric_kpa_c=psychrometric_constant_kpa_c(pressure_kpa(8)),
        aerodynamic=HOURLY_AERODYNAMIC,
    )
    assert net == pytest.approx(-0.1, abs=0.005)
    assert depth_mm == pytest.approx(0.0, abs=0.005)


def test_radiation_of_a_year_near_the_equator():
    """Cabinda, twelve months: within 0.12 MJ/m² of the printed program output."""
    # FAO-56, Figure 18, p. 69
    outside, hours = extraterrestrial_mj_m2(MID_MONTH, -5.33), daylight_hours(MID_MONTH, -5.33)
    assert solar_from_sunshine_mj_m2(outside, CABINDA[:, 4], hours) == pytest.approx(CABINDA[:, 5], abs=0.12)


def test_evapotranspiration_of_a_year_near_the_equator():
    """Cabinda, twelve months: within 0.2 mm (the print rounds its inputs, and has its own rule for vapour)."""
    # FAO-56, Figure 18, p. 69
    tmin_c, tmax_c, rh_pct, wind_km_day, _, solar, printed = CABINDA.T
    depth_mm = reference_evapotranspiration_mm(
        MID_MONTH, -5.33, 20, tmin_c, tmax_c, rh_pct, wind_km_day / 86.4, solar
    )
    assert depth_mm == pytest.approx(printed, abs=0.2)
