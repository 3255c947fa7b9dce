"""Daylight and the service time in it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.agronomy.sun import daylight

EQUINOX = np.array(["2026-03-20"], dtype="datetime64[D]")


def test_service_is_two_hours_shorter_than_the_day():
    """An hour after sunrise to an hour before sunset."""
    sun = daylight(-13.5, 33.8, EQUINOX)
    service = sun.within(1.0, 1.0)
    assert service.from_s - sun.from_s == pytest.approx(3600)
    assert sun.to_s - service.to_s == pytest.approx(3600)
    assert service.hours == pytest.approx(sun.hours - 2)


def test_where_the_sun_does_not_set_there_is_no_time():
    """In June at 80° N and at 80° S it is unknown, not 0 and not 24 h."""
    midsummer = np.array(["2026-06-21"], dtype="datetime64[D]")
    assert np.isnan(daylight([80.0, -80.0], 33.8, midsummer).hours).all()


def test_a_day_shorter_than_the_margins_has_no_service_time():
    """A day of an hour or so keeps nothing."""
    short = np.array(["2026-12-21"], dtype="datetime64[D]")
    assert 0 < daylight(67.2, 20.0, short).hours[0] < 2
    assert np.isnan(daylight(67.2, 20.0, short).within(1.0, 1.0).hours).all()


def test_sites_and_days_broadcast():
    """Two sites by three days in one call."""
    days = np.arange("2026-03-01", "2026-03-04", dtype="datetime64[D]")
    assert daylight(np.array([[-13.5], [-12.0]]), 33.8, days).hours.shape == (2, 3)


@given(st.floats(-55, 55), st.floats(-180, 180), st.integers(0, 20_000))
def test_the_day_lies_round_noon_of_the_place(latitude, longitude, day):
    """The sun rises before and sets after noon by the sun, which is within 17 minutes of the mean one."""
    sun = daylight(latitude, longitude, np.datetime64(day, "D"))
    mean_noon_s = day * 86400 + 43200 - longitude * 240
    assert sun.from_s < mean_noon_s < sun.to_s
    assert (sun.from_s + sun.to_s) / 2 == pytest.approx(mean_noon_s, abs=17.5 * 60)
