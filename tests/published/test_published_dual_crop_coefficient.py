"""Transpiration and evaporation apart, against what FAO-56 prints.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

import numpy as np
import pytest

from pipeline.agronomy.dual_crop_coefficient import (
    covered_share,
    evaporation_coefficient,
    exposed_wetted_share,
    kc_max,
    surface_layer,
    total_evaporable_water_mm,
)


def days(values: list[float]) -> np.ndarray:
    """One field, day by day."""
    return np.array(values, dtype=float)[:, np.newaxis]


def test_ten_days_of_bare_loam_after_a_heavy_rain():
    """Two days dry it freely, the others ever slower."""
    # FAO-56, Example 31, p. 146; day 3 prints ETc 5.2, and 0.16 mm on day 9 for 0.15
    layer = surface_layer(np.full((10, 1), 4.5), 0.0, 0.0, 0.15, 1.20, 0.0, 1.0, 20.0, 9.0, 0.0)
    printed_kr = [1, 1, 0.96, 0.55, 0.31, 0.18, 0.10, 0.06, 0.03, 0.02]
    printed_mm = [4.73, 4.73, 4.53, 2.59, 1.47, 0.84, 0.48, 0.27, 0.16, 0.09]
    printed_end_mm = [4.73, 9.45, 13.98, 16.57, 18.04, 18.88, 19.36, 19.64, 19.79, 19.88]
    printed_etc_mm = [5.4, 5.4, 5.2, 3.3, 2.1, 1.5, 1.2, 0.9, 0.8, 0.8]
    assert layer.kr.ravel() == pytest.approx(printed_kr, abs=0.006)
    assert layer.evaporation_mm.ravel() == pytest.approx(printed_mm, abs=0.01)
    assert layer.depletion_mm.ravel() == pytest.approx(printed_end_mm, abs=0.01)
    assert (0.15 + layer.ke.ravel()) * 4.5 == pytest.approx(printed_etc_mm, abs=0.06)


@pytest.mark.parametrize(
    ("system", "wetted", "under_canopy", "few", "ke", "kc"),
    [
        # FAO-56, Examples 32 to 34, p. 150 and 151
        ("sprinkler", 1.0, False, 0.47, 0.40, 1.30),
        ("every other furrow", 0.3, False, 0.30, 0.39, 1.29),
        ("drippers under the crop", 0.3, True, 0.19, 0.25, 1.15),
    ],
)
def test_cotton_that_has_just_been_irrigated(system, wetted, under_canopy, few, ke, kc):
    """Kcb 0.9, 1 m high, in a dry and windy place."""
    greatest = kc_max(0.9, 3.0, 20.0, 1.0)
    cover = covered_share(0.9, greatest, 1.0, 0.15)
    share = exposed_wetted_share(cover, wetted, emitters_under_canopy=under_canopy)
    seen = evaporation_coefficient(1.0, greatest, 0.9, share)
    assert (greatest, cover, share) == pytest.approx((1.30, 0.53, few), abs=0.006), system
    assert (seen, 0.9 + seen) == pytest.approx((ke, kc), abs=0.006), system


# FAO-56, Example 35, p. 154 and 155: a sandy loam, irrigated on day 1 over 0.8 of it, a rain on day 6
ET0_MM = [4.5, 5.0, 3.9, 4.2, 4.8, 2.7, 5.8, 5.1, 4.7, 5.2]
KCB = np.array([0.30, 0.31, 0.32, 0.33, 0.34, 0.36, 0.37, 0.38, 0.39, 0.40])
EXPOSED = np.array([0.92, 0.91, 0.91, 0.90, 0.89, 0.89, 0.88, 0.87, 0.87, 0.86])


@pytest.fixture(scope="module")
def example_35():
    """The ten days, from a dry surface."""
    tew_mm = total_evaporable_water_mm(0.23, 0.10)
    greatest = kc_max(0.30, 1.6, 35, 0.3)
    assert (tew_mm, greatest) == pytest.approx((18, 1.21), abs=0.005)
    return surface_layer(
        et0_mm=days(ET0_MM),
        rain_mm=days([0, 0, 0, 0, 0, 6, 0, 0, 0, 0]),
        irrigation_mm=days([40] + 9 * [0]),
        kcb=days(KCB),
        greatest_kc=greatest,
        covered=days(1 - EXPOSED),
        irrigation_wets_share=0.8,
        tew_mm=tew_mm,
        rew_mm=8.0,
        start_depletion_mm=tew_mm,
    )


def test_ten_days_of_a_drying_surface(example_35):
    """Wetted share, depletion and percolation, day by day."""
    printed_few = [0.80, 0.80, 0.80, 0.80, 0.80, 0.89, 0.88, 0.87, 0.87, 0.86]
    printed_end_mm = [5, 11, 14, 16, 17, 13, 16, 17, 18, 18]
    printed_mm = [4.1, 4.5, 2.8, 1.5, 0.8, 1.7, 2.6, 0.9, 0.4, 0.2]
    assert example_35.exposed_wetted_share.ravel() == pytest.approx(printed_few)
    assert example_35.percolation_mm.ravel() == pytest.approx([32] + 9 * [0])
    assert example_35.depletion_mm.ravel() == pytest.approx(printed_end_mm, abs=0.7)
    # day 3 prints 2.8 mm, 3.9 × 0.62 is 2.4
    assert np.delete(example_35.evaporation_mm, 2) == pytest.approx(np.delete(printed_mm, 2), abs=0.15)


def test_ten_days_of_crop_and_soil(example_35):
    """Kr, Ke and ETc, day by day; the print goes on from rounded depletions."""
    printed_kr = [1, 1, 0.70, 0.40, 0.20, 0.75, 0.53, 0.20, 0.09, 0.05]
    printed_ke = [0.91, 0.90, 0.62, 0.35, 0.18, 0.64, 0.45, 0.17, 0.08, 0.04]
    printed_etc_mm = [5.5, 6.1, 4.0, 2.9, 2.5, 2.7, 4.7, 2.8, 2.2, 2.3]
    assert example_35.kr.ravel() == pytest.approx(printed_kr, abs=0.05)
    assert example_35.ke.ravel() == pytest.approx(printed_ke, abs=0.04)
    # day 3 prints Kc 1.04, where its Kcb and Ke make 0.94, so 3.7 mm; Example 38 prints Ke 0.72 for it
    etc_mm = (KCB + example_35.ke.ravel()) * ET0_MM
    assert np.delete(etc_mm, 2) == pytest.approx(np.delete(printed_etc_mm, 2), abs=0.15)
    assert etc_mm[2] == pytest.approx(3.9 * (0.32 + 0.62), abs=0.15)
