"""A simulated counter comes back within its resolution, whatever ran through it."""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.measures.registers import Register, judge

LIGHT_H = 12.0  # a day


@dataclass(frozen=True)
class Counter:
    """A counter as its reader sees it, and the amounts that truly ran through it between readings."""

    register: Register
    true_amounts: np.ndarray


def counter(daily, days_between, rated, start, resolution, digits):
    """Read a counter at dusk every few days; it shows whole steps of its resolution and rolls over."""
    total = start + np.concatenate([[0.0], np.cumsum(daily)])
    read = np.arange(0, len(total), days_between)
    shown = np.floor(total[read] / resolution + 1e-6) * resolution
    if digits is not None:
        shown = np.mod(shown, 10.0**digits)
    register = Register(
        at_s=read * 86400.0,
        value=shown,
        run_h=read * LIGHT_H,
        limit_per_h=1.25 * rated,
        modulus=None if digits is None else 10.0**digits,
        resolution=max(resolution, 1.0),
    )
    return Counter(register, np.diff(total[read]))


rated_flows = st.sampled_from([2.0, 8.0, 20.0, 60.0])
resolutions = st.sampled_from([0.001, 0.1, 1.0, 10.0])
readings_apart = st.sampled_from([1, 7, 14])
shares = st.lists(st.floats(0, 1), min_size=15, max_size=120)


@settings(max_examples=60, deadline=None)
@given(shares, readings_apart, rated_flows, st.floats(0, 90000), resolutions)
def test_every_interval_of_an_honest_counter_comes_back_within_its_resolution(
    shares, apart, rated, start, resolution
):
    """Any flow up to the rated one over the whole day; no digit rolls over."""
    seen = counter(np.array(shares) * rated * LIGHT_H, apart, rated, start, resolution, None)
    steps = judge(seen.register)
    assert [(step.start, step.end) for step in steps] == [(i, i + 1) for i in range(len(steps))]
    assert len(steps) == len(seen.true_amounts)
    amounts = np.array([step.amount for step in steps])
    assert np.abs(amounts - seen.true_amounts).max() <= resolution * (1 + 1e-6)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0.7, 1.3), min_size=40, max_size=150),
    readings_apart,
    rated_flows,
    st.floats(0, 1),
    st.sampled_from([0.001, 0.1, 1.0]),
)
def test_a_register_that_rolls_over_loses_nothing(ebb, apart, rated, begun, resolution):
    """Steady use, a third either way; the digits hold a few intervals, so it goes round several times."""
    usual = 0.4 * rated * LIGHT_H
    digits = int(np.ceil(np.log10(usual * apart * 5)))
    seen = counter(np.array(ebb) * usual, apart, rated, begun * 10.0**digits, resolution, digits)
    steps = judge(seen.register)
    assert {step.verdict for step in steps} <= {"ordinary", "rollover"}
    amounts = np.array([step.amount for step in steps])
    assert np.abs(amounts - seen.true_amounts).max() <= resolution * (1 + 1e-6)


@settings(max_examples=60, deadline=None)
@given(shares, readings_apart, rated_flows, st.floats(0, 1), resolutions, st.sampled_from([4, 5, 6]))
def test_what_counts_is_never_wrong(shares, apart, rated, begun, resolution, digits):
    """Use as wild as it may be, rollovers included: an amount that is given is the true one."""
    daily = np.array(shares) * rated * LIGHT_H
    seen = counter(daily, apart, rated, begun * 10.0**digits, resolution, digits)
    for step in judge(seen.register):
        if not np.isnan(step.amount):
            true = seen.true_amounts[step.start : step.end].sum()
            assert step.amount == pytest.approx(true, abs=resolution * (1 + 1e-6))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0.3, 1), min_size=15, max_size=60),
    st.data(),
    st.sampled_from(["ten times", "litres", "low", "high"]),
)
def test_one_error_of_the_hand_spoils_only_its_own_reading(shares, data, error):
    """One reading in the middle is wrong: the sum over the others stays true, within a unit."""
    seen = counter(np.array(shares) * 80, 1, 8.0, 30000.0, 1.0, None)
    wrong = data.draw(st.integers(2, len(shares) - 2))
    value = seen.register.value.copy()
    spoil = {"ten times": value[wrong] * 10, "litres": value[wrong] * 1000, "low": value[wrong] / 10}
    value[wrong] = np.floor(spoil.get(error, value[wrong] + 50000))
    register = Register(
        seen.register.at_s, value, seen.register.run_h, seen.register.limit_per_h, resolution=1.0
    )
    steps = judge(register)
    assert np.nansum([step.amount for step in steps]) == pytest.approx(seen.true_amounts.sum(), abs=1.001)
    assert [step.end for step in steps if np.isnan(step.amount)] == [wrong]
