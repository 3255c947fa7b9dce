"""Weather that is lacking, or can't be."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.agronomy.evapotranspiration import hargreaves_mm, reference_evapotranspiration_mm
from pipeline.agronomy.radiation import daylight_hours
from pipeline.agronomy.station import fill_station_gaps

A_DAY = {
    "day_of_year": 100,
    "latitude_deg": -13.5,
    "elevation_m": 1100.0,
    "tmin_c": 14.0,
    "tmax_c": 27.0,
    "rh_mean_pct": 65.0,
    "wind_2m_ms": 2.0,
    "solar_mj_m2": 20.0,
}


@pytest.mark.parametrize("lacking", A_DAY)
def test_what_lacks_an_input_is_unknown(lacking):
    """Nothing is put in its place."""
    assert np.isnan(reference_evapotranspiration_mm(**{**A_DAY, lacking: np.nan}))


def test_dew_is_no_need():
    """A still, dark, cold, saturated day evaporates nothing, not less than nothing."""
    night = {
        **A_DAY,
        "tmin_c": -5.0,
        "tmax_c": -4.0,
        "rh_mean_pct": 100.0,
        "wind_2m_ms": 0.0,
        "solar_mj_m2": 0.0,
    }
    assert reference_evapotranspiration_mm(**night) == 0


def test_polar_night_is_unknown_and_polar_day_has_twenty_four_hours():
    """There the share of the clear sky has no meaning."""
    assert np.isnan(reference_evapotranspiration_mm(**{**A_DAY, "latitude_deg": 80.0, "day_of_year": 355}))
    assert daylight_hours([172, 355], 80.0) == pytest.approx([24.0, 0.0])


def test_temperatures_the_wrong_way_round_give_no_estimate():
    """A highest below the lowest has no range to take a root of."""
    filled = fill_station_gaps(100, -13.5, 20.0, 15.0, 60.0, 2.0, np.nan)
    assert np.isnan(filled.solar_mj_m2).all()
    assert not filled.solar_estimated.any()
    assert np.isnan(hargreaves_mm(35.0, 20.0, 15.0))


def test_measured_weather_is_left_as_it_is():
    """A station that has all is not touched."""
    filled = fill_station_gaps(100, -13.5, 14.0, 27.0, 65.0, 1.2, 20.0)
    assert [filled.rh_mean_pct, filled.wind_2m_ms, filled.solar_mj_m2] == [[65.0], [1.2], [20.0]]
    assert not (filled.rh_estimated | filled.wind_estimated | filled.solar_estimated).any()


def test_a_station_without_both_temperatures_does_not_have_the_day():
    """Its wind alone is of no use."""
    filled = fill_station_gaps(100, -13.5, [np.nan, 14.0], [27.0, np.nan], 65.0, 1.2, 20.0)
    assert np.isnan([filled.rh_mean_pct, filled.wind_2m_ms, filled.solar_mj_m2]).all()


def test_each_gap_is_filled_by_itself():
    """Three days, each lacking something else."""
    filled = fill_station_gaps(
        100, -13.5, 14.0, 27.0, [np.nan, 65.0, 65.0], [1.2, np.nan, 1.2], [20.0, 20.0, np.nan]
    )
    assert filled.rh_estimated.tolist() == [True, False, False]
    assert filled.wind_estimated.tolist() == [False, True, False]
    assert filled.solar_estimated.tolist() == [False, False, True]


@given(
    st.floats(-10, 30),
    st.floats(0, 20),
    st.floats(1, 100),
    st.floats(0, 12),
    st.floats(0, 35),
    st.integers(1, 366),
)
def test_any_possible_weather_gives_a_possible_depth(tmin_c, spread_c, rh_pct, wind_ms, solar, day):
    """Between nothing and 30 mm."""
    inputs = {
        **A_DAY,
        "day_of_year": day,
        "tmin_c": tmin_c,
        "tmax_c": tmin_c + spread_c,
        "rh_mean_pct": rh_pct,
        "wind_2m_ms": wind_ms,
        "solar_mj_m2": solar,
    }
    assert 0 <= reference_evapotranspiration_mm(**inputs) < 30
