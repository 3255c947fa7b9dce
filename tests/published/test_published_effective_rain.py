"""How the published rules for effective rain behave; their figures are in the list of examples."""

import numpy as np
import pytest

from pipeline.agronomy.effective_rain_published import (
    dependable_mm,
    tr21_mm,
    training_manual_mm,
    usda_scs_mm,
)


@pytest.mark.parametrize(
    ("rule", "bend_mm", "there_mm"),
    [(usda_scs_mm, 250, 150), (training_manual_mm, 75, 35), (dependable_mm, 70, 32)],
)
def test_a_rule_does_not_jump_where_it_bends(rule, bend_mm, there_mm):
    """Both branches meet."""
    # arithmetic on the three rules above
    assert rule([bend_mm, bend_mm + 1e-9]) == pytest.approx([there_mm, there_mm])


def test_tr21_is_capped_at_rain_and_need():
    """No more than fell, no more than the crop takes."""
    # USDA-SCS (1970), TR-21, says so beside its equation
    assert np.all(tr21_mm([5, 300], [400, 60], 75) <= [5, 60])
