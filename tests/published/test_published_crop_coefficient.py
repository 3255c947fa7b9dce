"""Crop coefficients of a day and in a climate, against what FAO-56 prints.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import numpy as np
import pytest

from pipeline.agronomy.crop_coefficient import crop_coefficient, kc_end_in_climate, kc_mid_in_climate

# FAO-56, Box 15, p. 130: dry beans, Kc 0.15, 1.19, 0.35 in stages of 25, 25, 30 and 20 days
DRY_BEANS = {
    "kc_ini": 0.15,
    "kc_mid": 1.19,
    "kc_end": 0.35,
    "ini_days": 25,
    "dev_days": 25,
    "mid_days": 30,
    "late_days": 20,
}
# FAO-56, Figure 36, p. 132: reference evapotranspiration of the ten decades [mm/d]
DECADE_ET0_MM = [3.0, 3.4, 4.0, 4.2, 4.5, 5.1, 5.6, 6.0, 5.5, 5.2]


def decade_kc() -> np.ndarray:
    """Mean coefficient of each ten days of the season."""
    return crop_coefficient(np.arange(1, 101), **DRY_BEANS).reshape(10, 10).mean(axis=1)


def test_coefficient_on_a_day():
    """Days 20, 40, 70 and 95 of dry beans."""
    # FAO-56, Example 28, p. 133, eq. 66
    printed = [0.15, 0.77, 1.19, 0.56]
    assert crop_coefficient([20, 40, 70, 95], **DRY_BEANS) == pytest.approx(printed, abs=0.006)


def test_a_decade_in_which_the_curve_bends_is_averaged():
    """Days 21 to 30 have 0.20 in the mean, although their middle day has 0.15."""
    # FAO-56, p. 132
    assert decade_kc()[2] == pytest.approx(0.20, abs=0.013)
    assert crop_coefficient(25, **DRY_BEANS) == pytest.approx(0.15)


def test_coefficients_by_decades_over_a_season():
    """All ten, as printed with two digits."""
    # FAO-56, Figure 36, p. 132; days as whole numbers lie up to 0.03 from the print's read-off curve
    printed = [0.15, 0.15, 0.20, 0.57, 0.98, 1.19, 1.19, 1.19, 0.98, 0.56]
    assert decade_kc() == pytest.approx(printed, abs=0.03)


def test_need_of_a_season():
    """The season of dry beans takes 368 mm."""
    # FAO-56, Figure 36, p. 132: ETc by decades; the sum is ours
    assert 10 * (decade_kc() * DECADE_ET0_MM).sum() == pytest.approx(368, abs=3)


def test_coefficient_of_the_mid_season_in_two_climates():
    """Maize of 2 m: 1.07 where it is humid and calm, 1.30 where it is arid and windy."""
    # FAO-56, Example 27, p. 125, eq. 62
    assert kc_mid_in_climate(1.20, [1.3, 4.6], [75, 44], 2.0) == pytest.approx([1.07, 1.30], abs=0.005)


def test_coefficient_of_dry_beans_in_their_climate():
    """1.15 becomes 1.19 at 2.2 m/s and 30 %."""
    # FAO-56, Box 15, p. 130
    assert kc_mid_in_climate(1.15, 2.2, 30, 0.4) == pytest.approx(1.19, abs=0.005)


def test_coefficient_of_tomatoes_in_their_climate():
    """1.20 becomes 1.22 at 1.1 m/s and 30 %."""
    # FAO-56, Example 40, p. 185
    assert kc_mid_in_climate(1.20, 1.1, 30, 0.75) == pytest.approx(1.22, abs=0.006)


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
