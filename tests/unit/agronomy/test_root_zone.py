"""The daily balance of the root zone."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from pipeline.agronomy.root_zone import root_zone_balance
from pipeline.agronomy.soil_water import depletion_fraction
from pipeline.agronomy.yield_response import relative_yield_loss, yield_loss

DAYS, FIELDS = 14, 3
DEPTHS = st.floats(0, 120)
WATER = st.one_of(st.just(0.0), DEPTHS)


def table(elements: st.SearchStrategy[float]) -> st.SearchStrategy[np.ndarray]:
    """A value for each day and field."""
    return arrays(float, (DAYS, FIELDS), elements=elements)


def row(elements: st.SearchStrategy[float]) -> st.SearchStrategy[np.ndarray]:
    """A value for each field."""
    return arrays(float, FIELDS, elements=elements)


def column(*values: float | None) -> np.ndarray:
    """One field, day by day."""
    return np.array([[np.nan if value is None else value] for value in values], dtype=float)


GROWING_TAW = arrays(float, (DAYS, FIELDS), elements=st.floats(0, 15)).map(lambda mm: 8.0 + mm.cumsum(axis=0))


@given(
    table(st.floats(0, 12)),
    table(WATER),
    table(WATER),
    GROWING_TAW,
    row(st.floats(0, 1)),
    row(st.floats(0, 1)),
)
def test_no_water_is_lost_or_made(etc_mm, rain_mm, irrigation_mm, taw_mm, start_share, subsoil):
    """Of any season: what came, what was there and what the roots found is what was drawn, ran through and is left."""
    start_mm = start_share * taw_mm[0]
    fraction = depletion_fraction(0.4, etc_mm)
    balance = root_zone_balance(
        etc_mm, rain_mm, irrigation_mm, taw_mm, fraction, start_mm, subsoil_depletion_share=subsoil
    )
    for course in (balance.wettest, balance.driest):
        came = (rain_mm + irrigation_mm + course.layer_water_mm).sum(axis=0) + taw_mm[0] - start_mm
        went = (course.etc_adjusted_mm + course.deep_percolation_mm).sum(axis=0)
        left = taw_mm[-1] - course.depletion_mm[-1]
        assert went + left == pytest.approx(came, abs=1e-6)
        assert np.all((course.depletion_mm >= 0) & (course.depletion_mm <= taw_mm))
        assert np.all(course.etc_adjusted_mm <= etc_mm + 1e-12)
    assert np.all(balance.spread_mm == 0)


@given(
    table(st.floats(0, 12)),
    table(WATER),
    table(WATER),
    GROWING_TAW,
    table(st.booleans()),
    table(st.booleans()),
    table(st.integers(0, 6)),
    st.booleans(),
)
def test_whatever_happened_lies_within_the_bounds(
    etc_mm, rain_mm, irrigation_mm, taw_mm, no_rain_gauge, silent_meter, no_need, unknown_start
):
    """Blot out any readings: the true course stays between the wettest and the driest."""
    start_mm = taw_mm[0] / 3
    known = root_zone_balance(
        etc_mm, rain_mm, irrigation_mm, taw_mm, depletion_fraction(0.4, etc_mm), start_mm
    )
    need_mm = np.where(no_need == 0, np.nan, etc_mm)
    blotted = root_zone_balance(
        need_mm,
        np.where(no_rain_gauge, np.nan, rain_mm),
        np.where(silent_meter, np.nan, irrigation_mm),
        taw_mm,
        depletion_fraction(0.4, need_mm),
        np.nan if unknown_start else start_mm,
        unknown_etc_at_most_mm=12.0,
        subsoil_depletion_share=np.nan if unknown_start else None,
    )
    true, wet, dry = known.driest, blotted.wettest, blotted.driest
    assert np.all(wet.depletion_mm <= true.depletion_mm + 1e-9)
    assert np.all(true.depletion_mm <= dry.depletion_mm + 1e-9)
    told = no_need > 0
    assert np.all((wet.ks >= true.ks - 1e-9)[told])
    assert np.all((true.ks >= dry.ks - 1e-9)[told])
    assert np.all(np.isnan(dry.etc_adjusted_mm) == ~told)
    taken_mm, needed_mm = (np.where(told, mm, 0.0).sum(axis=0) for mm in (true.etc_adjusted_mm, etc_mm))
    lost, within = relative_yield_loss(taken_mm, needed_mm, 1.1), yield_loss(blotted, need_mm, 1.1)
    counted = needed_mm > 0
    assert np.all((within.least <= lost + 1e-9)[counted])
    assert np.all((lost <= within.most + 1e-9)[counted])


def test_a_silent_meter_parts_the_bounds_and_a_soaking_closes_them():
    """From the day of the gap the field may be full, or as dry as without water."""
    balance = root_zone_balance(
        column(5, 5, 5, 5), column(0, 0, 0, 60), column(5, None, 5, 5), 80.0, 0.5, 20.0
    )
    assert balance.wettest.depletion_mm.ravel().tolist() == [20, 5, 5, 5]
    assert balance.driest.depletion_mm.ravel().tolist() == [20, 25, 25, 5]
    assert np.isnan(balance.wettest.deep_percolation_mm.ravel()).tolist() == [False, True, False, False]


def test_an_unknown_start_is_anything():
    """Between field capacity and wilting point, until water fills it for certain."""
    balance = root_zone_balance(column(5, 5), column(0, 80), 0.0, 80.0, 0.5, np.nan)
    assert balance.spread_mm.ravel().tolist() == [75, 0]


def test_a_day_of_unknown_need_may_have_dried_the_soil():
    """Not at all, or by the most that a crop takes; without that most, to the wilting point."""
    for most_mm, driest_mm in ((8.0, 38.0), (np.inf, 80.0)):
        balance = root_zone_balance(
            column(None), column(0), 0.0, 80.0, 0.5, 30.0, unknown_etc_at_most_mm=most_mm
        )
        assert (balance.wettest.depletion_mm, balance.driest.depletion_mm) == (30, driest_mm)
        assert np.isnan([balance.wettest.ks, balance.driest.etc_adjusted_mm]).all()


def test_roots_find_soil_as_dry_as_the_root_zone_was_at_the_start():
    """A quarter depleted at planting: of 20 mm that they grow into, 15 mm are there."""
    course = root_zone_balance(column(0, 0), column(0, 0), 0.0, column(40, 60), 0.5, 10.0).driest
    assert course.depletion_mm.ravel().tolist() == [10, 15]
    assert course.layer_water_mm.ravel().tolist() == [0, 15]


def test_a_planting_follows_another_in_the_same_field():
    """Between them nothing is known or asked for, and the second starts anew."""
    taw_mm = column(None, 80, 80, None, 50, 50)
    course = root_zone_balance(np.full((6, 1), 5.0), 0.0, 0.0, taw_mm, 0.5, 10.0).wettest
    assert course.depletion_mm.ravel() == pytest.approx([np.nan, 15, 20, np.nan, 15, 20], nan_ok=True)


def test_stress_spares_what_the_soil_evaporates():
    """At Ks 0.5 a crop of 6 mm takes 3 mm; where 2 mm of it evaporate, 4 mm."""
    dry = {"taw_mm": 80.0, "depletion_fraction": 0.5, "start_depletion_mm": 60.0}
    alone = root_zone_balance(column(6), column(0), 0.0, **dry).driest
    apart = root_zone_balance(column(6), column(0), 0.0, **dry, evaporation_mm=2.0).driest
    assert (alone.ks, alone.etc_adjusted_mm, apart.etc_adjusted_mm) == (0.5, 3, 4)


def test_roots_do_not_shrink():
    """The mistake is the caller's."""
    with pytest.raises(ValueError, match="shrinks"):
        root_zone_balance(column(5, 5), column(0, 0), 0.0, column(80, 60), 0.5, 0.0)


def test_loss_of_yield_is_a_range_and_tells_its_days():
    """Two days of 5 mm, one of unknown need, and a field whose start nobody knows."""
    etc_mm = column(5, 5, None)
    loss = yield_loss(root_zone_balance(etc_mm, column(0, 0, 0), 0.0, 80.0, 0.5, np.nan), etc_mm, 1.1)
    assert (loss.least, loss.most) == pytest.approx((0, 1))
    assert loss.etc_known_share == pytest.approx(2 / 3)


def test_a_crop_without_a_printed_response_has_no_known_loss():
    """Unknown, not none."""
    balance = root_zone_balance(column(5), column(0), 0.0, 80.0, 0.5, 60.0)
    assert np.isnan(yield_loss(balance, column(5), np.nan).most).all()


@given(table(st.floats(0, 12)), table(WATER), st.integers(1, DAYS - 1))
def test_what_comes_later_changes_nothing(etc_mm, water_mm, cut):
    """The days up to a day are the same without those after it."""
    whole = root_zone_balance(etc_mm, water_mm, 0.0, 60.0, 0.5, 20.0).driest.depletion_mm
    part = root_zone_balance(etc_mm[:cut], water_mm[:cut], 0.0, 60.0, 0.5, 20.0).driest.depletion_mm
    assert np.array_equal(whole[:cut], part)
