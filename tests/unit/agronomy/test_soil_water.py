"""Water that a soil holds, and its surface."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from pipeline.agronomy.dual_crop_coefficient import surface_layer
from pipeline.agronomy.kc_ini import kc_ini, wettings
from pipeline.agronomy.soil_water import (
    depletion_fraction,
    rain_that_counts_mm,
    root_depth_m,
    stress_coefficient,
    total_available_water_mm,
)
from pipeline.agronomy.soils import soils

DAYS = 12
BARE = {"kcb": 0.15, "greatest_kc": 1.2, "covered": 0.0, "irrigation_wets_share": 0.4, "rew_mm": 8.0}


def column(*values: float | None) -> np.ndarray:
    """One field, day by day."""
    return np.array([[np.nan if value is None else value] for value in values], dtype=float)


def test_what_lacks_an_input_is_unknown():
    """Nothing is put in its place."""
    assert np.isnan(total_available_water_mm(np.nan, 0.4))
    assert np.isnan(depletion_fraction([np.nan, 0.4], [5.0, np.nan])).all()
    assert np.isnan(stress_coefficient([np.nan, 20, 20], [80, np.nan, 80], [40, 40, np.nan])).all()
    lacking = ([np.nan, 4, 4, 4], [2, np.nan, 2, 2], [9, 9, np.nan, 9])
    assert np.isnan(kc_ini(*lacking, coarse=False, wetted_share=[1, 1, 1, np.nan])).all()
    assert np.isnan(rain_that_counts_mm(np.nan, 5.0))


def test_rain_counts_where_the_evapotranspiration_is_unknown():
    """It leaves out a fifth of a day's need at most, and none of it is made up."""
    assert rain_that_counts_mm(12.0, np.nan) == 12


def test_a_crop_that_can_use_all_its_water_suffers_only_when_none_is_left():
    """A depletion fraction of 1 divides by nothing."""
    assert stress_coefficient([0, 79, 80], 80.0, 80.0).tolist() == [1, 1, 0]


def test_roots_of_a_perennial_are_there_and_before_planting_there_are_none():
    """The least depth is the greatest; a crop that starts in its mid-season has all of its roots."""
    assert root_depth_m([0, 1, 300], 0.9, 0.9, 60, 90) == pytest.approx([np.nan, 0.9, 0.9], nan_ok=True)
    assert root_depth_m([1, 2], 0.2, 0.9, 0, 0) == pytest.approx([0.9, 0.9])


@pytest.mark.parametrize("soil", soils().values(), ids=lambda s: s.soil)
def test_a_finer_soil_takes_in_no_more(soil):
    """A range for each class, none beyond that of sand."""
    assert 0 < soil.basic_intake_min_mm_h < soil.basic_intake_max_mm_h
    assert soil.basic_intake_max_mm_h <= soils()["sand"].basic_intake_max_mm_h
    assert soil.available_min <= soil.available_max


# below 2.1 mm/d FAO-56's curve for heavy wettings of a coarse soil runs under that for light ones
@given(st.floats(2.1, 12), st.floats(1, 20), st.floats(1, 80), st.booleans(), st.floats(0.1, 1))
def test_bare_soil_evaporates_at_most_what_the_sky_takes(et0_mm, interval, depth_mm, coarse, share):
    """Nor more when it is wetted more seldom, nor less when it is wetted more deeply."""
    kc = kc_ini(et0_mm, interval, depth_mm, coarse, share)
    assert 0 < kc <= 1.15 * share + 1e-12
    assert kc_ini(et0_mm, interval + 1, depth_mm, coarse, share) <= kc + 1e-12
    assert kc_ini(et0_mm, interval, depth_mm + 1, coarse, share) >= kc - 1e-12


def test_a_dark_day_has_a_coefficient_too():
    """Where little can evaporate, all of it is readily evaporable."""
    kc = kc_ini(0.3, 5.0, 40.0, coarse=[True, False])
    assert np.all((kc > 0) & (kc <= 1.15))


def test_wet_days_that_touch_are_one_wetting():
    """A trifle is none, an unread day leaves the count unknown, a dry stage has no depth, later days don't count."""
    water_mm = [[5, 5, 0, 0], [7, np.nan, 0, 9], [0.5, 0, 0, 0], [6, 0, 0, np.nan]]
    in_stage = [4 * [True], 4 * [True], [True, True, True, False], [True, True, True, False]]
    counted = wettings(water_mm, 4.0, in_stage=in_stage)
    assert counted.events == pytest.approx([2, np.nan, 0, 1], nan_ok=True)
    assert counted.depth_mm == pytest.approx([9, np.nan, np.nan, 9], nan_ok=True)
    assert counted.interval_days == pytest.approx([1.6, np.nan, 8, 2 / 1.5], nan_ok=True)


SOME = st.one_of(st.just(0.0), st.floats(0, 60))


@given(*(arrays(float, (DAYS, 2), elements=SOME) for _ in range(2)), st.floats(0, 20), st.floats(0, 0.9))
def test_the_surface_loses_and_makes_no_water(rain_mm, irrigation_mm, start_mm, covered):
    """Of its wetted part: what came, went, ran through and is left; it never dries beyond what can evaporate."""
    layer = surface_layer(
        np.full((DAYS, 2), 6.0), rain_mm, irrigation_mm, 0.3, 1.2, covered, 1.0, 20.0, 8.0, start_mm
    )
    dried_mm = (layer.evaporation_mm / layer.exposed_wetted_share + layer.percolation_mm).sum(axis=0)
    came_mm = (rain_mm + irrigation_mm).sum(axis=0)
    assert layer.depletion_mm[-1] == pytest.approx(start_mm + dried_mm - came_mm, abs=1e-6)
    assert np.all((layer.depletion_mm >= 0) & (layer.depletion_mm <= 20 + 1e-9))
    assert np.all((layer.ke >= 0) & (layer.ke <= 0.9 + 1e-9))


def test_what_is_wet_is_what_was_wetted_last():
    """By the system, by a rain of more than 3 mm, or still by the wetting before."""
    layer = surface_layer(
        np.full((5, 1), 5.0), column(0, 0, 3, 4, 0), column(0, 20, 0, 0, 0),
        **BARE, tew_mm=20.0, start_depletion_mm=20.0,
    )  # fmt: skip
    assert layer.exposed_wetted_share.ravel() == pytest.approx([1, 0.4, 0.4, 1, 1])


def test_a_surface_that_nobody_knows_is_known_again_when_it_is_soaked():
    """A day without a reading, a shower that may not fill it, a rain that does."""
    layer = surface_layer(
        np.full((4, 1), 5.0), column(0, None, 12, 25), 0.0, **BARE, tew_mm=20.0, start_depletion_mm=0.0
    )
    assert np.isnan(layer.depletion_mm.ravel()).tolist() == [False, True, True, False]
    assert layer.evaporation_mm[3, 0] == pytest.approx((1.2 - 0.15) * 5)
