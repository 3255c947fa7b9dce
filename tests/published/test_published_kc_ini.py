"""The crop coefficient of the initial stage, against what FAO-56 prints.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import numpy as np
import pytest

from pipeline.agronomy.kc_ini import (
    between_light_and_heavy,
    kc_ini,
    kc_ini_heavy,
    kc_ini_light,
    wettings,
)
from pipeline.agronomy.soils import soils


def test_interval_between_rains():
    """4 rains in a month come about every week, 15 or 17 every 2 days."""
    # FAO-56, Example 23, p. 116: 20 and 300 mm a month, 5 and 20 mm a rain; 50 mm and 3 mm make 17 rains
    # and the same interval, but 17 rains with dry days between them take more than a month
    rains_mm = np.zeros((30, 2))
    rains_mm[::8, 0] = 5
    rains_mm[::2, 1] = 20
    counted = wettings(rains_mm, 4.0)
    assert counted.events.tolist() == [4, 15]
    assert counted.interval_days.round().tolist() == [7, 2]
    assert counted.depth_mm.tolist() == [5, 20]


def test_light_wettings_every_other_day():
    """Silt loam under a centre pivot: Kc 0.85 off the figure, 3.4 mm a day; 0.89 by the equation."""
    # FAO-56, Example 24, p. 116
    assert 4 * between_light_and_heavy(0.85, 1.15, 10) == pytest.approx(3.4)
    assert kc_ini_light(4, 2) == pytest.approx(0.85, abs=0.04)


def test_between_light_and_heavy_wettings():
    """Small vegetables on a coarse soil: 20 mm twice a week."""
    # FAO-56, Example 25, p. 119: 0.55 and 0.70 off the figures, so 0.60 and 3.0 mm a day
    assert between_light_and_heavy(0.55, 0.70, 20) == pytest.approx(0.60)
    assert kc_ini_light(5, 3.5) == pytest.approx(0.55, abs=0.02)
    assert kc_ini_heavy(5, 3.5, coarse=True) == pytest.approx(0.70, abs=0.06)
    assert 5 * kc_ini(5, 3.5, 20, coarse=True) == pytest.approx(3.0, abs=0.1)


def test_the_same_by_the_equations():
    """TEW and REW of both figures, and Kc of the heavy one."""
    # FAO-56, Example 7-1, p. 268. It prints 0.57 for the light one, which its own line does not give:
    # (10 − 7.3 exp(−2.39)) / 17.5 is 0.53
    assert kc_ini_heavy(5, 3.5, coarse=True) == pytest.approx(0.75, abs=0.005)
    assert kc_ini_light(5, 3.5) == pytest.approx((10 - 7.317 * np.exp(-2.3815)) / 17.5, abs=0.001)


def test_partial_wetting():
    """A trickle system that wets 0.4: 30 mm where it wets, Kc 1.05 there, 0.42 over the field, 1.7 mm a day."""
    # FAO-56, Example 26, p. 120, eq. 59 to 61
    wet = between_light_and_heavy(0.85, 1.15, 12 / 0.4)
    assert (wet, 0.4 * wet) == pytest.approx((1.05, 0.42))
    assert kc_ini_heavy(4, 2, coarse=False) == pytest.approx(1.15, abs=0.005)
    assert kc_ini(4, 2, 12, coarse=False, wetted_share=0.4) == pytest.approx(0.42, abs=0.006)
    assert 4 * kc_ini(4, 2, 12, coarse=False, wetted_share=0.4) == pytest.approx(1.7, abs=0.02)


def test_coarse_soils():
    """Sands and loamy sands."""
    # FAO-56, p. 117
    assert {name for name, soil in soils().items() if soil.is_coarse} == {"sand", "loamy_sand"}
