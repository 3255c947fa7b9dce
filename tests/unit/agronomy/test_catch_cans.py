"""Cans in the field: which count, and how many are enough."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from pipeline.agronomy.application import (
    application_rate_mm_h,
    precipitation_rate_mm_h,
    spacing_wetted_share,
)
from pipeline.agronomy.uniformity import (
    application_efficiency_low_quarter,
    christiansen_uniformity,
    distribution_uniformity_low_quarter,
    evaluate_catch_cans,
)

TWELVE = [6.0, 7.0, 8.0, 10.0, 10.0, 10.0, 10.0, 10.0, 10.0, 12.0, 13.0, 14.0]


def test_a_spilt_can_is_left_out_and_a_dry_one_counts():
    """Unknown is not zero."""
    assert distribution_uniformity_low_quarter([*TWELVE, np.nan]) == pytest.approx(0.7)
    assert distribution_uniformity_low_quarter([*TWELVE, 0.0]) == pytest.approx((0 + 6 + 7) / 3 / (120 / 13))


@pytest.mark.parametrize(
    ("caught", "reasons"),
    [
        ([10.0] * 3, ("too_few_cans", "too_few_cans", "too_few_cans")),
        ([10.0] * 4, ("", "too_few_cans", "too_few_cans")),
        ([10.0] * 8, ("", "", "too_few_cans")),
        ([10.0] * 12, ("", "", "")),
        ([10.0] * 11 + [np.nan], ("", "", "too_few_cans")),
        ([0.0] * 12, ("all_dry", "all_dry", "all_dry")),
    ],
)
def test_too_few_cans_say_so(caught, reasons):
    """Four for the coefficient, eight for the low half, twelve for the low quarter; a figure where there is no reason."""
    seen = evaluate_catch_cans(caught)
    assert (seen.christiansen_reason, seen.low_half_reason, seen.low_quarter_reason) == reasons
    figures = np.array([seen.christiansen, seen.low_half, seen.low_quarter])
    assert np.isnan(figures).tolist() == [reason != "" for reason in reasons]


def test_each_test_has_its_own_cans():
    """A table of tests by cans, some with fewer."""
    seen = evaluate_catch_cans([TWELVE, [*TWELVE[:8], np.nan, np.nan, np.nan, np.nan]])
    assert seen.cans.tolist() == [12, 8]
    assert seen.low_quarter == pytest.approx([0.7, np.nan], nan_ok=True)


@given(arrays(float, st.integers(12, 30), elements=st.floats(0.1, 50)), st.floats(0.1, 10))
def test_uniformity_has_no_unit_and_knows_no_order(caught, factor):
    """In any unit and order the same; low quarter at most low half at most 1."""
    one, other = evaluate_catch_cans(caught), evaluate_catch_cans(np.sort(caught)[::-1] * factor)
    for name in ("christiansen", "low_half", "low_quarter"):
        assert getattr(one, name) == pytest.approx(getattr(other, name))
    assert one.low_quarter <= one.low_half + 1e-9
    assert one.low_half <= 1 + 1e-9
    assert one.christiansen <= 1


def test_unknown_sizes_give_unknown_rates():
    """Nor is a rate made of no time or no area."""
    assert np.isnan(precipitation_rate_mm_h([9, np.nan, 9], [0, 1, np.nan])).all()
    assert np.isnan(application_rate_mm_h([1.2, 1.2, np.nan], [60, 0, 60], [np.nan, 3, 3])).all()
    assert np.isnan(spacing_wetted_share([np.nan, 1.5], [3.0, np.nan])).all()


def test_a_soil_without_room_stores_nothing_and_an_unknown_deficit_is_unknown():
    """Efficiency of the low quarter."""
    assert application_efficiency_low_quarter(TWELVE, 12.0, [0.0, 100.0]).tolist() == [0, 7 / 12]
    assert np.isnan(application_efficiency_low_quarter(TWELVE, 12.0, np.nan))


def test_wild_cans_may_fall_below_nothing():
    """One can has all the water: the deviations exceed the mean."""
    assert christiansen_uniformity([0, 0, 0, 40]) == pytest.approx(-0.5)
