"""A day of the dual crop coefficient that the print has wrong; all others are in the list of examples.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import pytest

from tests.published.examples.evaporation import EXAMPLE_35_ET0_MM, OFF_DAY, example_35_etc_mm


def test_the_third_day_is_what_its_own_coefficients_make():
    """It prints Kc 1.04, so 4.0 mm, where its Kcb 0.32 and Ke 0.62 make 0.94, so 3.7 mm."""
    # FAO-56, Example 35, p. 154 and 155
    assert example_35_etc_mm()[OFF_DAY] == pytest.approx(EXAMPLE_35_ET0_MM[OFF_DAY] * (0.32 + 0.62), abs=0.15)
