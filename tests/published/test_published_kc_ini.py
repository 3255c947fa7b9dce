"""The crop coefficient of the initial stage, against what FAO-56 says of it; figures are in the examples.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import numpy as np
import pytest

from pipeline.agronomy.kc_ini import kc_ini_light
from pipeline.agronomy.soils import soils
from tests.published.examples.crops import rains_of_a_month


def test_light_wettings_by_the_line_of_the_example():
    """0.53, where the example that works the line out prints 0.57."""
    # FAO-56, Example 7-1, p. 268
    assert kc_ini_light(5, 3.5) == pytest.approx((10 - 7.317 * np.exp(-2.3815)) / 17.5, abs=0.001)


def test_depth_of_a_wetting():
    """4 rains of 20 mm a month bring 5 mm each, 15 of 300 mm bring 20 mm."""
    # FAO-56, Example 23, p. 116: 50 mm and 3 mm make 17 rains and the same interval, but 17 rains with
    # dry days between them take more than a month
    assert rains_of_a_month().depth_mm.tolist() == [5, 20]


def test_coarse_soils():
    """Sands and loamy sands."""
    # FAO-56, p. 117
    assert {name for name, soil in soils().items() if soil.is_coarse} == {"sand", "loamy_sand"}
