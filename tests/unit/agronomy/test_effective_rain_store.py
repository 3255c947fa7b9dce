"""The daily store of rain under a block."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from pipeline.agronomy.effective_rain import RainStore, effective_rain_mm

DAYS = 12
DEPTHS = st.one_of(st.just(np.nan), st.floats(0, 120))


def column(*values: float | None) -> np.ndarray:
    """One block, day by day."""
    return np.array([[np.nan if value is None else value] for value in values], dtype=float)


def test_four_fifths_of_the_rain_enter_and_the_crop_draws_first_from_the_store():
    """10 mm leave 8: the crop that takes 5 a day gets 5, then 3, then nothing."""
    result = effective_rain_mm(column(10, 0, 0), column(5, 5, 5))
    assert result.drawn_mm.ravel().tolist() == [5, 3, 0]
    assert result.store_mm.ravel().tolist() == [3, 0, 0]


def test_rain_below_two_millimetres_enters_nothing():
    """1.9 mm are lost, 2.0 mm count."""
    assert effective_rain_mm(column(1.9, 2.0), column(5, 5)).drawn_mm.ravel() == pytest.approx([0, 1.6])


def test_the_store_holds_twenty_five_millimetres():
    """100 mm in a night fill it, and the rest runs off."""
    assert effective_rain_mm(column(100, 0), column(0, 30)).drawn_mm.ravel().tolist() == [0, 25]


def test_the_day_s_rain_enters_before_the_crop_draws():
    """A full store loses the new rain, although the crop makes room on the same day."""
    result = effective_rain_mm(column(100, 10, 0), column(0, 5, 0))
    assert result.store_mm.ravel().tolist() == [25, 20, 20]


def test_a_block_in_fallow_fills():
    """Rain of a week without a crop serves the crop that follows."""
    assert effective_rain_mm(column(20, 0), column(None, 6)).drawn_mm.ravel().tolist() == [0, 6]


def test_a_day_of_unknown_rain_draws_an_unknown_amount_and_keeps_the_store():
    """The day after goes on with what was there."""
    result = effective_rain_mm(column(10, None, 0), column(5, 5, 5))
    assert result.drawn_mm.ravel() == pytest.approx([5, np.nan, 3], nan_ok=True)
    assert result.store_mm.ravel().tolist() == [3, 3, 0]


def test_the_store_is_empty_on_the_day_of_commissioning():
    """Rain before it counts for nothing, rain of that day does."""
    result = effective_rain_mm(column(50, 10, 0), column(5, 5, 5), commissioned_row=[1])
    assert result.drawn_mm.ravel() == pytest.approx([np.nan, 5, 3], nan_ok=True)


def test_each_block_has_a_store_of_its_own():
    """Two blocks under one rain, one of them thirstier."""
    result = effective_rain_mm([[20, 20], [0, 0], [0, 0]], [[8, 2], [8, 2], [8, 2]])
    assert result.drawn_mm.tolist() == [[8, 2], [8, 2], [0, 2]]


def test_another_rule_is_a_setting():
    """All rain counts, and the store holds 10 mm."""
    rule = RainStore(effective_share=1.0, least_rain_mm=0.0, capacity_mm=10.0)
    assert effective_rain_mm(column(1, 30, 0), column(0, 0, 20), rain_store=rule).store_mm.max() == 10


@given(arrays(float, (DAYS, 3), elements=DEPTHS), arrays(float, (DAYS, 3), elements=DEPTHS))
def test_no_water_comes_from_nowhere(rain_mm, etc_mm):
    """What was drawn never exceeds the need, nor what entered by then; the store stays within its walls."""
    result = effective_rain_mm(rain_mm, etc_mm)
    drawn = np.nan_to_num(result.drawn_mm)
    entered = np.nan_to_num(rain_mm) * 0.8
    assert np.all(drawn <= np.nan_to_num(etc_mm))
    assert np.all(drawn.cumsum(axis=0) + result.store_mm <= entered.cumsum(axis=0) + 1e-9)
    assert np.all((result.store_mm >= 0) & (result.store_mm <= 25))
    assert np.array_equal(np.isnan(result.drawn_mm), np.isnan(rain_mm))


@given(
    arrays(float, (DAYS, 2), elements=DEPTHS),
    arrays(float, (DAYS, 2), elements=DEPTHS),
    st.integers(1, DAYS - 1),
)
def test_what_comes_later_changes_nothing(rain_mm, etc_mm, cut):
    """The days up to a day are the same without those after it."""
    whole, part = effective_rain_mm(rain_mm, etc_mm), effective_rain_mm(rain_mm[:cut], etc_mm[:cut])
    assert np.array_equal(whole.drawn_mm[:cut], part.drawn_mm, equal_nan=True)
