"""Kc that goes by the climate day by day, beside FAO-56's, which goes by a stage's means."""

import numpy as np
import pytest

from pipeline.agronomy.crop_coefficient import (
    climate_departure,
    climate_share,
    crop_coefficient,
    kc_end_in_climate,
    kc_mid_in_climate,
)
from pipeline.agronomy.humidity import lowest_humidity_pct

STAGES = (10, 10, 20, 10)
DAYS = np.arange(1, 51)


def test_the_mean_of_a_stage_is_that_of_its_mean_climate():
    """Twenty days of the middle: adjusted each day or by their means, Kc is the same in the mean."""
    draw = np.random.default_rng(3)
    wind_ms, humidity_pct = draw.uniform(1, 6, 20), draw.uniform(20, 80, 20)
    share = climate_share(np.arange(21, 41), 0.6, *STAGES, 1.2)
    daily = 1.15 + share * climate_departure(wind_ms, humidity_pct)
    by_means = kc_mid_in_climate(1.15, wind_ms.mean(), humidity_pct.mean(), 1.2)
    assert daily.mean() == pytest.approx(by_means)


@pytest.mark.parametrize("kc_end", [0.35, 0.60])
def test_the_curve_through_adjusted_coefficients_is_the_tabulated_one_and_the_share(kc_end):
    """In a steady climate both ways give the same on every day, from planting to harvest."""
    climate = (4.0, 30.0)
    tabulated = crop_coefficient(DAYS, 0.3, 1.2, kc_end, *STAGES)
    share = climate_share(DAYS, kc_end, *STAGES, 2.0)
    middle, end = kc_mid_in_climate(1.2, *climate, 2.0), kc_end_in_climate(kc_end, *climate, 2.0)
    adjusted = crop_coefficient(DAYS, 0.3, middle, end, *STAGES)
    assert tabulated + share * climate_departure(*climate) == pytest.approx(adjusted)


def test_a_crop_without_a_height_has_no_share():
    """Unknown, not zero and not one."""
    assert np.isnan(climate_share(25, 0.6, *STAGES, np.nan))


def test_lowest_humidity_stops_at_saturation():
    """A hygrometer that reads 103 % on a day of one temperature: 100 %."""
    assert lowest_humidity_pct(20, 20, 103) == 100
    assert np.isnan(lowest_humidity_pct(20, np.nan, 60))
