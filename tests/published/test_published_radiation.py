"""Radiation of a day at the equator; what FAO-56 prints is in the list of examples.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import numpy as np
import pytest

from pipeline.agronomy.radiation import daylight_hours, extraterrestrial_mj_m2


def test_radiation_at_the_equator_has_two_maxima():
    """Around the year it rises and falls twice."""
    # FAO-56 eq. 21; recomputed, not printed (its Table 2.6 was not read)
    outside = extraterrestrial_mj_m2([15, 80, 172, 258, 349], 0)
    assert outside == pytest.approx([36.16, 37.82, 33.37, 37.23, 35.61], abs=0.01)


def test_the_day_at_the_equator_has_twelve_hours():
    """On each day of the year."""
    # FAO-56 eq. 34: at latitude 0 the hour angle of the sunset is π/2
    assert daylight_hours(np.arange(1, 366), 0) == pytest.approx(12.0)
