"""Published rules for effective rain."""

import numpy as np
import pytest

from pipeline.agronomy.effective_rain import RainStore, effective_rain_mm
from pipeline.agronomy.effective_rain_published import (
    dependable_mm,
    storage_factor,
    texas_daily_mm,
    tr21_mm,
    training_manual_mm,
    usda_scs_mm,
)


def test_usda_scs_rule():
    """From 0 to 400 mm a month."""
    # Smith (1992), FAO Paper 46, USDA-SCS option; from memory, recomputed (a web page prints 72 at 100 mm)
    rain_mm = [0, 25, 50, 100, 150, 200, 250, 300, 400]
    assert usda_scs_mm(rain_mm) == pytest.approx([0, 24, 46, 84, 114, 136, 150, 155, 165])


def test_training_manual_rule():
    """Never below 0, and steeper above 75 mm."""
    # Brouwer, Heibloem (1986), FAO Training Manual 3, part I; from memory, recomputed
    rain_mm = [10, 20, 50, 75, 100, 150, 200, 250]
    assert training_manual_mm(rain_mm) == pytest.approx([0, 2, 20, 35, 55, 95, 135, 175])


def test_dependable_rain_rule():
    """Never below 0, and steeper above 70 mm."""
    # FAO/AGLW in Smith (1992), FAO Paper 46, dependable rain; from memory, recomputed
    rain_mm = [10, 20, 50, 70, 100, 150, 200]
    assert dependable_mm(rain_mm) == pytest.approx([0, 2, 20, 32, 56, 96, 136])


@pytest.mark.parametrize(
    ("rule", "bend_mm", "there_mm"),
    [(usda_scs_mm, 250, 150), (training_manual_mm, 75, 35), (dependable_mm, 70, 32)],
)
def test_a_rule_does_not_jump_where_it_bends(rule, bend_mm, there_mm):
    """Both branches meet."""
    # arithmetic on the three rules above
    assert rule([bend_mm, bend_mm + 1e-9]) == pytest.approx([there_mm, there_mm])


def test_storage_factor_is_one_at_three_inches():
    """At 75 mm, as the mm form has it, and at 3 inches as printed."""
    # USDA-SCS (1970), Technical Release 21, as quoted by NRCS NEH 623 ch. 2
    assert storage_factor(3 * 25.4) == pytest.approx(1.000674, abs=1e-6)


def test_tr21_takes_inches():
    """100 mm of rain and 150 mm of need make 73.3 mm."""
    # USDA-SCS (1970), TR-21; recomputed, not printed: 0.70917 stands outside the power
    assert tr21_mm(100, 150, 75) == pytest.approx(73.3, abs=0.1)


def test_tr21_is_capped_at_rain_and_need():
    """No more than fell, no more than the crop takes."""
    # USDA-SCS (1970), TR-21, says so beside its equation
    assert np.all(tr21_mm([5, 300], [400, 60], 75) <= [5, 60])


def test_texas_rule_of_a_day():
    """The first 2.54 mm are lost, then all counts to 25.4, two thirds to 50.8, none above."""
    # Texas A&M AgriLife, TexasET Network, effective rainfall (web page)
    assert texas_daily_mm([2, 25.4, 50.8, 80]) == pytest.approx([0, 22.86, 39.793, 39.793], abs=0.001)


def test_a_fixed_percentage():
    """80 % of 100 mm is 80 mm, where the store has room for it and the crop takes it."""
    # Smith (1992), FAO Paper 46, fixed percentage; from memory, recomputed
    roomy = RainStore(effective_share=0.80, least_rain_mm=0.0, capacity_mm=1000.0)
    assert effective_rain_mm([[100.0]], [[500.0]], rain_store=roomy).drawn_mm.item() == pytest.approx(80.0)
