"""What the worked examples of FAO-56 take for granted; their figures are in the list of examples.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import numpy as np
import pytest

from pipeline.agronomy.station import fill_station_gaps
from pipeline.agronomy.sun import daylight
from tests.published.examples.radiation import LYON_DEG


def test_wind_without_a_record_is_an_estimate():
    """Where nobody measured it, 2 m/s stand for it, and it says so."""
    # FAO-56, Example 20, p. 77 to 78
    wind = np.array([np.nan, 1.0, 3.0])
    filled = fill_station_gaps(196, LYON_DEG, 14.8, 26.6, np.nan, wind, np.nan)
    assert filled.wind_2m_ms == pytest.approx([2.0, 1.0, 3.0])
    assert filled.wind_estimated.tolist() == [True, False, False]


def test_no_sun_in_the_hour_of_the_night():
    """At N'Diaye it rises after 4 h, so nothing comes from outside the air from 2 to 3 h."""
    # FAO-56, Example 19, p. 75 to 76: 1 October, 16°13' N, 16°15' W, whose clock is that of 15° W
    sun = daylight(16 + 13 / 60, -(16 + 15 / 60), np.datetime64("1998-10-01"))
    assert sun.from_s > np.datetime64("1998-10-01T04:00", "s").astype(float)
