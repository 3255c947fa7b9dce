"""Water in the root zone, against what FAO-56 says of it; figures are in the examples.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import numpy as np
import pytest

from pipeline.agronomy.root_zone import root_zone_balance
from pipeline.agronomy.soil_water import (
    DEPLETION_FRACTION_LIMITS,
    rain_that_counts_mm,
    root_depth_m,
)
from pipeline.agronomy.soils import soils
from tests.published.examples.evaporation import TABLE_19, table_19_row
from tests.published.examples.soil_water import a_schedule_that_avoids_stress


def test_depletion_fraction_has_limits():
    """It stays between 0.1 and 0.8."""
    # FAO-56, Table 22 footnote 2
    assert DEPLETION_FRACTION_LIMITS == (0.1, 0.8)


def test_a_schedule_that_avoids_stress():
    """Ten days, none of them under stress, and nothing runs through but on the first."""
    # FAO-56, Example 38, p. 172 and 173
    course = a_schedule_that_avoids_stress()
    assert (course.ks == 1).all()
    assert course.deep_percolation_mm[1:].max() == 0


def test_soil_stays_between_field_capacity_and_wilting_point():
    """Neither a flood nor a drought leads beyond."""
    # FAO-56, eq. 86, p. 170
    flood = root_zone_balance(np.full((3, 1), 5.0), 200.0, 0.0, 50.0, 0.5, 50.0).driest
    drought = root_zone_balance(np.full((200, 1), 9.0), 0.0, 0.0, 50.0, 0.5, 0.0).driest
    assert flood.depletion_mm.min() >= 0
    assert drought.depletion_mm.max() <= 50
    assert drought.depletion_mm[-1] == pytest.approx(50)


def test_a_trifle_of_rain_does_not_count():
    """Less than a fifth of ET0."""
    # FAO-56, p. 170
    assert rain_that_counts_mm([0.99, 1.0], 5.0).tolist() == [0, 1]


def test_roots_are_down_when_the_mid_season_starts():
    """Half way at half time; beans of stages of 25 and 25 days grow from 0.2 to 0.8 m."""
    # FAO-56, Annex 8, p. 279, eq. 8-2 and 8-3; its depths in Box 8.1, p. 274
    assert root_depth_m([1, 26, 51, 80], 0.2, 0.8, 25, 25) == pytest.approx([0.2, 0.5, 0.8, 0.8])


@pytest.mark.parametrize("name", TABLE_19)
def test_soil_is_as_printed(name):
    """Every range of the table."""
    assert table_19_row(soils()[name]) == TABLE_19[name]
