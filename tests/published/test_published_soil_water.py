"""Water in the root zone, against what FAO-56 prints.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import numpy as np
import pytest

from pipeline.agronomy.root_zone import root_zone_balance
from pipeline.agronomy.soil_water import (
    DEPLETION_FRACTION_LIMITS,
    depletion_fraction,
    rain_that_counts_mm,
    readily_available_water_mm,
    root_depth_m,
    stress_coefficient,
    total_available_water_mm,
)
from pipeline.agronomy.soils import soils
from pipeline.agronomy.yield_response import relative_yield_loss


def days(values: list[float]) -> np.ndarray:
    """One field, day by day."""
    return np.array(values)[:, np.newaxis]


def test_available_water_of_three_crops_in_three_soils():
    """Onion, tomato and maize in a loamy sand, a silt and a silty clay."""
    # FAO-56, Example 36, p. 166, eq. 82 and 83
    roots_m, fractions = [[0.4], [0.8], [1.2]], [[0.30], [0.40], [0.55]]
    taw_mm = total_available_water_mm([90, 170, 120], roots_m)
    assert taw_mm == pytest.approx(np.array([[36, 68, 48], [72, 136, 96], [108, 204, 144]]))
    raw_mm = readily_available_water_mm(taw_mm, fractions)
    assert raw_mm == pytest.approx(np.array([[11, 20, 14], [29, 54, 38], [59, 112, 79]]), abs=0.51)


def test_depletion_fraction_follows_the_need_of_the_day():
    """0.40 at 5 mm is 0.32 at 7 mm and 0.52 at 2 mm, and it stays between 0.1 and 0.8."""
    # FAO-56, p. 162 and Table 22 footnote 2
    assert depletion_fraction([0.40, 0.40, 0.30, 0.65], [7, 2, 12, 0]) == pytest.approx(
        [0.32, 0.52, 0.1, 0.8]
    )
    assert DEPLETION_FRACTION_LIMITS == (0.1, 0.8)


def test_stress_of_beans_that_dry_out():
    """From none at 44 mm of 110 to all at 110 mm."""
    # FAO-56, Example 39, p. 182, without salt
    printed = [1, 0.91, 0.76, 0.61, 0.45, 0.30, 0.15, 0]
    seen = stress_coefficient([44, 50, 60, 70, 80, 90, 100, 110], 110, 44)
    assert seen == pytest.approx(printed, abs=0.006)


def test_ten_days_without_water():
    """Tomatoes on a silty soil, day by day."""
    # FAO-56, Example 37, p. 168
    course = root_zone_balance(np.full((10, 1), 5.0 * 1.2), 0.0, 0.0, 160.0, 0.40, 55.0).driest
    printed_ks = [1, 1, 0.97, 0.91, 0.85, 0.80, 0.75, 0.70, 0.66, 0.62]
    printed_etc_mm = [6, 6, 5.8, 5.4, 5.1, 4.8, 4.5, 4.2, 3.9, 3.7]
    printed_end_mm = [61, 67, 72.8, 78.3, 83.4, 88.2, 92.6, 96.9, 100.8, 104.5]
    assert course.ks.ravel() == pytest.approx(printed_ks, abs=0.006)
    assert course.etc_adjusted_mm.ravel() == pytest.approx(printed_etc_mm, abs=0.06)
    assert course.depletion_mm.ravel() == pytest.approx(printed_end_mm, abs=0.06)


def test_ten_days_under_a_schedule_that_avoids_stress():
    """Water comes early in the day: 40 mm at first, a rain on day 6, 27 mm on day 10; roots grow into wet soil."""
    # FAO-56, Example 38, p. 172 and 173; printed in whole millimetres, some of them cut off
    course = root_zone_balance(
        etc_mm=days([5.5, 6.1, 4.0, 2.9, 2.5, 2.7, 4.7, 2.8, 2.2, 6.3]),
        rain_mm=days([0, 0, 0, 0, 0, 6, 0, 0, 0, 0]),
        irrigation_mm=days([40, 0, 0, 0, 0, 0, 0, 0, 0, 27]),
        taw_mm=days(130 * np.linspace(0.30, 0.35, 10)),
        depletion_fraction=0.6,
        start_depletion_mm=78 * 0.30,
        subsoil_depletion_share=0.0,
    ).driest
    printed_end_mm = [5, 12, 16, 18, 21, 18, 22, 25, 27, 6]
    assert course.depletion_mm.ravel() == pytest.approx(printed_end_mm, abs=0.8)
    assert course.deep_percolation_mm.ravel() == pytest.approx([17] + 9 * [0], abs=0.5)
    assert (course.ks == 1).all()


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


def test_yield_falls_with_what_was_not_taken_up():
    """A tenth less water: maize loses 12.5 %, cabbage 9.5 %."""
    # FAO-56, eq. 90, p. 176, with Ky 1.25 and 0.95 of Table 24, p. 181; recomputed, not printed
    assert relative_yield_loss(450.0, 500.0, [1.25, 0.95]) == pytest.approx([0.125, 0.095])


# FAO-56, Table 19, p. 144: field capacity, wilting point, between them [m³/m³]; REW, TEW [mm]
TABLE_19 = """
    sand            0.07 0.17  0.02 0.07  0.05 0.11  2  7   6 12
    loamy_sand      0.11 0.19  0.03 0.10  0.06 0.12  4  8   9 14
    sandy_loam      0.18 0.28  0.06 0.16  0.11 0.15  6 10  15 20
    loam            0.20 0.30  0.07 0.17  0.13 0.18  8 10  16 22
    silt_loam       0.22 0.36  0.09 0.21  0.13 0.19  8 11  18 25
    silt            0.28 0.36  0.12 0.22  0.16 0.20  8 11  22 26
    silt_clay_loam  0.30 0.37  0.17 0.24  0.13 0.18  8 11  22 27
    silty_clay      0.30 0.42  0.17 0.29  0.13 0.19  8 12  22 28
    clay            0.32 0.40  0.20 0.24  0.12 0.20  8 12  22 29
"""


@pytest.mark.parametrize("line", TABLE_19.strip().splitlines())
def test_soil_is_as_printed(line):
    """Every range of the table."""
    name, *printed = line.split()
    soil = soils()[name]
    seen = (
        *(soil.theta_fc_min, soil.theta_fc_max, soil.theta_wp_min, soil.theta_wp_max),
        *(soil.available_min, soil.available_max),
        *(soil.readily_evaporable_min_mm, soil.readily_evaporable_max_mm),
        *(soil.total_evaporable_min_mm, soil.total_evaporable_max_mm),
    )
    assert seen == tuple(map(float, printed))
