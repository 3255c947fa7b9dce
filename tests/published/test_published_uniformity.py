"""Rates of application and what the ground takes of them; cans are in the list of examples."""

import pytest

from pipeline.agronomy.application import (
    application_rate_mm_h,
    rate_beyond_intake_mm_h,
    spacing_wetted_share,
)
from pipeline.agronomy.soils import soils
from pipeline.agronomy.uniformity import christiansen_from_low_quarter
from pipeline.config import Settings


def test_what_counts_as_uneven_is_the_same_by_both_uniformities():
    """A low quarter of 0.6 goes with a coefficient of 0.75."""
    # Keller, Bliesner (1990): CU = 1 - 0.63 (1 - DU); from memory, recomputed
    settings = Settings()
    assert christiansen_from_low_quarter(settings.even_low_quarter) == pytest.approx(settings.even_christiansen, abs=0.005)  # fmt: skip


def test_rate_of_a_lateral():
    """1.2 m³/h along 60 m, 3 m apart."""
    # I = Q / (Sl Sm); recomputed
    assert application_rate_mm_h(1.2, 60, 3) == pytest.approx(6.6667, abs=0.001)


def test_clay_does_not_take_in_what_loam_does():
    """6.67 mm/h is beyond 5 mm/h; a loam takes in at least 10 mm/h."""
    # basic intake rates of FAO Irrigation Water Management Training Manual 5, annex 2, as others quote them
    clay, loam = soils()["clay"], soils()["loam"]
    assert rate_beyond_intake_mm_h(6.67, clay.basic_intake_max_mm_h) == pytest.approx(1.67)
    assert rate_beyond_intake_mm_h(6.67, loam.basic_intake_min_mm_h) == 0


def test_throw_covers_half_the_spacing():
    """1.5 m to each side at 3 m leaves no dry strip."""
    # common practice, no source
    assert spacing_wetted_share([1.5, 1.2], 3.0) == pytest.approx([1, 0.8])
