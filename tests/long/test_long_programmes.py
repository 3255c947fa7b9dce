"""Other programmes than the demo's own: what is measured stays near what truly happened."""

from pathlib import Path

import pytest

from tests.benchmarks.truth import compare


@pytest.mark.parametrize("paper_only", [True, False])
@pytest.mark.parametrize("seed", range(2, 8))
def test_figures_of_any_programme_stay_near_the_truth(tmp_path: Path, seed: int, *, paper_only: bool) -> None:
    """Half of the covered months are within a twentieth of the water that truly flowed, for each instrument."""
    found = compare(tmp_path, paper_only=paper_only, seed=seed)
    assert found
    for kind in found:
        assert kind["water_median_error"] is None or kind["water_median_error"] < 0.05, kind
        assert kind["energy_median_error"] is None or kind["energy_median_error"] < 0.05, kind
        assert kind["need_median_error"] is None or kind["need_median_error"] < 0.1, kind
