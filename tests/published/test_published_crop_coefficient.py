"""Crop coefficients of a day and in a climate, against what FAO-56 says; figures are in the examples.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import pytest

from pipeline.agronomy.crop_coefficient import crop_coefficient, kc_end_in_climate, kc_mid_in_climate
from tests.published.examples.crops import DRY_BEANS, decade_kc


def test_a_decade_in_which_the_curve_bends_is_averaged():
    """Days 21 to 30 have 0.20 in the mean, although their middle day has 0.15."""
    # FAO-56, p. 132
    assert decade_kc()[2] == pytest.approx(0.20, abs=0.013)
    assert crop_coefficient(25, **DRY_BEANS) == pytest.approx(0.15)


@pytest.mark.parametrize(
    ("at_limit", "beyond"),
    [
        # FAO-56, p. 123: 1 to 6 m/s, 20 to 80 %, 0.1 to 10 m
        ((1.0, 45.0, 2.0), (0.2, 45.0, 2.0)),
        ((6.0, 45.0, 2.0), (9.0, 45.0, 2.0)),
        ((2.0, 20.0, 2.0), (2.0, 5.0, 2.0)),
        ((2.0, 80.0, 2.0), (2.0, 95.0, 2.0)),
        ((3.0, 45.0, 0.1), (3.0, 45.0, 0.02)),
        ((3.0, 45.0, 10.0), (3.0, 45.0, 25.0)),
    ],
)
def test_the_adjustment_stops_at_its_limits(at_limit, beyond):
    """Beyond the limits of the equation the limit counts."""
    assert kc_mid_in_climate(1.0, *beyond) == kc_mid_in_climate(1.0, *at_limit)


def test_a_low_coefficient_at_the_end_is_not_adjusted():
    """0.35 stays 0.35 in any climate; 0.60 does not stay."""
    # FAO-56, p. 127, eq. 65
    assert kc_end_in_climate(0.35, [1.0, 5.0], [70, 25], 2.0) == pytest.approx([0.35, 0.35], abs=0)
    assert kc_end_in_climate(0.60, 5.0, 25, 2.0) > 0.60
