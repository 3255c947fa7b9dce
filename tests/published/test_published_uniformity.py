"""Uniformity of application, from cans and flows that others published."""

import numpy as np
import pytest

from pipeline.agronomy.application import (
    application_rate_mm_h,
    rate_beyond_intake_mm_h,
    spacing_wetted_share,
)
from pipeline.agronomy.soils import soils
from pipeline.agronomy.uniformity import (
    application_efficiency_low_quarter,
    christiansen_from_low_quarter,
    christiansen_uniformity,
    distribution_uniformity_low_half,
    distribution_uniformity_low_quarter,
    potential_efficiency_low_quarter,
)
from pipeline.config import Settings

# Merriam, Keller (1978), Farm irrigation system evaluation, Form II-1, p. 29 and 41 to 44 [in/h]
IN_PER_H = [0.23, 0.31, 0.24, 0.24, 0.28, 0.31, 0.27, 0.22, 0.26, 0.31, 0.31, 0.25, 0.20, 0.22, 0.32]
M3H_PER_GPM, M_PER_FT, MM_PER_IN = 0.227125, 0.3048, 25.4


def percent(caught: list[float]) -> list[float]:
    """Christiansen's coefficient, low quarter and low half."""
    three = (
        christiansen_uniformity,
        distribution_uniformity_low_quarter,
        distribution_uniformity_low_half,
    )
    return [100 * float(measure(caught)) for measure in three]


@pytest.fixture
def delivered_in_h():
    """4.6 gallons a minute on 30 by 50 feet."""
    rate_mm_h = application_rate_mm_h(4.6 * M3H_PER_GPM, 30 * M_PER_FT, 50 * M_PER_FT)
    return rate_mm_h / MM_PER_IN


def test_coefficient_of_a_textbook():
    """Five cans of 8 to 12 mm: 92 %."""
    # A. M. Michael, Irrigation: theory and practice, as others quote it
    assert christiansen_uniformity([8, 10, 12, 10, 10]) == pytest.approx(0.92)


def test_an_evaluation_of_sprinklers():
    """Fifteen cans: 87, 82 and 88 %."""
    # Merriam, Keller (1978); the R package spreval has the low half
    assert percent(IN_PER_H) == pytest.approx([87, 82, 88], abs=0.5)


def test_rate_of_a_sprinkler(delivered_in_h):
    """0.295 inches an hour."""
    # Merriam, Keller (1978), 96.3 q / (S1 S2), where 96.3 stands for 96.25
    assert delivered_in_h == pytest.approx(0.29532, abs=0.0002)


def test_efficiency_of_the_low_quarter(delivered_in_h):
    """At best 74 %; 63 % where 23.5 hours bring more than the 4.4 inches that are missing."""
    # Merriam, Keller (1978), p. 43 and 44
    assert 100 * potential_efficiency_low_quarter(IN_PER_H, delivered_in_h) == pytest.approx(74, abs=0.5)
    for hours, printed in ((23.5, 63), (11.5, 74)):
        caught, applied = np.multiply(IN_PER_H, hours), delivered_in_h * hours
        assert 100 * application_efficiency_low_quarter(caught, applied, 4.4) == pytest.approx(
            printed, abs=0.5
        )


def test_a_solid_set_field():
    """Sixteen cans: 75, 55 and 76 %."""
    # Evans, Barker, Smith, Sheffield (1997), NC Cooperative Extension AG-553-1, work sheet 1, p. 13
    caught_in = [
        0.57,
        0.69,
        0.83,
        0.65,
        0.61,
        0.38,
        0.27,
        0.64,
        0.51,
        0.26,
        0.36,
        0.52,
        0.79,
        0.65,
        0.61,
        0.86,
    ]
    assert percent(caught_in) == pytest.approx([75, 55, 76], abs=0.5)


def test_fifteen_cans_have_four_in_the_low_quarter_and_eight_in_the_low_half():
    """The nearest number, a half upwards."""
    # examples of the R package spreval (2022), man pages of CU, DU and DU.lh; recomputed, not printed
    caught_ml = [47, 42, 45, 24, 13, 26, 33, 34, 27, 30, 40, 44, 32, 12, 12]
    assert percent(caught_ml) == pytest.approx([69.1396, 49.6204, 71.5835], abs=0.001)


def test_coefficient_from_the_low_quarter():
    """75 % of the low quarter is about 84 %."""
    # Keller, Bliesner (1990), Sprinkle and trickle irrigation; from memory, recomputed
    assert christiansen_from_low_quarter(0.75) == pytest.approx(0.8425)


def test_what_counts_as_uneven_is_the_same_by_both_uniformities():
    """A low quarter of 0.6 goes with a coefficient of 0.75."""
    # Keller, Bliesner (1990): CU = 1 - 0.63 (1 - DU); from memory, recomputed
    settings = Settings()
    assert christiansen_from_low_quarter(settings.even_low_quarter) == pytest.approx(settings.even_christiansen, abs=0.005)  # fmt: skip


def test_emission_uniformity_of_drippers():
    """A low quarter of 3.6 l/h in a mean of 4.0 l/h: 90 %."""
    # Keller, Karmeli (1974), Trickle irrigation design; ASAE EP458; from memory, recomputed
    flows_lh = 5 * [3.6] + 15 * [62 / 15]
    assert distribution_uniformity_low_quarter(flows_lh) == pytest.approx(0.90)


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
