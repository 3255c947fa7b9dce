"""Efficiency of a lift where something is lacking."""

import numpy as np
import pytest

from pipeline.agronomy.hydraulics import lift_efficiency


@pytest.mark.parametrize(
    ("water", "head", "energy"), [(np.nan, 30, 3), (13, np.nan, 3), (13, 30, np.nan), (13, 30, 0)]
)
def test_efficiency_without_its_parts_is_unknown(water, head, energy):
    """Without water, head or energy on record there is none; no energy is no efficiency either."""
    assert np.isnan(lift_efficiency(water, head, energy))


def test_energy_without_water_is_an_efficiency_of_nothing():
    """A dry pump that ran has 0, which is known."""
    assert lift_efficiency(0, 30, 3) == 0
