"""The crop coefficient along the season."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.agronomy.crop_coefficient import crop_coefficient

STAGES = st.integers(0, 90)
KC = st.floats(0.1, 1.3)


def season(days, ini=10, dev=10, mid=10, late=10):
    """Coefficients 0.4, 1.2, 0.6 in four stages."""
    return crop_coefficient(days, 0.4, 1.2, 0.6, ini, dev, mid, late)


def test_the_day_of_planting_is_the_first():
    """Day 0 has no crop; day 1 has."""
    assert season([0, 1]) == pytest.approx([np.nan, 0.4], nan_ok=True)


def test_nothing_stands_after_the_last_stage():
    """Day 40 is the last, with the coefficient of the end."""
    assert season([40, 41]) == pytest.approx([0.6, np.nan], nan_ok=True)


def test_the_curve_rises_and_falls_along_straight_lines():
    """Half way through a stage it is half way."""
    assert season([15, 20, 25, 35]) == pytest.approx([0.8, 1.2, 1.2, 0.9])


def test_a_stage_of_no_days_is_left_out():
    """Without development the middle follows at once; without a late stage it ends in the middle."""
    assert season([10, 11], dev=0) == pytest.approx([0.4, 1.2])
    assert season([30, 31], late=0) == pytest.approx([1.2, np.nan], nan_ok=True)


def test_an_unknown_coefficient_stays_unknown():
    """A crop without Kc has no need that anybody knows."""
    assert np.isnan(crop_coefficient(15, 0.4, np.nan, 0.6, 10, 10, 10, 10))


def test_each_planting_has_its_own_crop():
    """One call, many blocks."""
    kc = crop_coefficient([5, 50], [0.4, 0.6], [1.2, 1.1], [0.6, 0.8], [10, 30], [10, 40], 40, 30)
    assert kc == pytest.approx([0.4, 0.85])


@given(KC, KC, KC, STAGES, STAGES, STAGES, STAGES)
def test_the_coefficient_stays_between_those_of_its_stages(
    ini, mid, end, ini_days, dev_days, mid_days, late_days
):
    """On each day of the season it is known and within their range."""
    total = ini_days + dev_days + mid_days + late_days
    kc = crop_coefficient(np.arange(1, total + 1), ini, mid, end, ini_days, dev_days, mid_days, late_days)
    assert np.all((kc >= min(ini, mid, end) - 1e-12) & (kc <= max(ini, mid, end) + 1e-12))
