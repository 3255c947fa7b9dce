"""Loads killed at any moment, and loads in any order, end with the same store."""

import random
import subprocess
import sys
from pathlib import Path

import pytest

from tests.build.test_demo_to_figures import deliveries, figures_of, first, load_all, sunrill

__all__ = ["deliveries", "first"]  # fixtures


@pytest.mark.parametrize("seed", range(30))
def test_a_load_killed_at_any_moment_and_done_again_gives_the_same_figures(
    deliveries: list[Path], first: tuple[Path, bytes], tmp_path: Path, seed: int
) -> None:
    """Each delivery's load is killed once, somewhere, and then done again."""
    moments = random.Random(seed)  # noqa: S311 - a moment, no secret
    store = tmp_path / "store"
    sunrill("settings", "timezone", "Africa/Blantyre", "--store", store)
    for delivery in deliveries:
        arguments = ["load", "--store", str(store), "--arrived-on", delivery.name, str(delivery)]
        loading = subprocess.Popen([sys.executable, "-m", "pipeline.cli", *arguments], stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL)  # fmt: skip
        try:
            loading.wait(moments.uniform(0.3, 5))
        except subprocess.TimeoutExpired:
            loading.kill()
            loading.wait()
        sunrill(*arguments)
    assert figures_of(store, tmp_path) == first[1]
    sunrill("check", "--store", store)


@pytest.mark.parametrize("seed", range(100, 130))
def test_a_deliverys_files_in_any_order_give_the_same_figures(
    deliveries: list[Path], first: tuple[Path, bytes], tmp_path: Path, seed: int
) -> None:
    """Thirty more orders than the ordinary run tries."""
    load_all(deliveries, tmp_path / "store", shuffle=seed)
    assert figures_of(tmp_path / "store", tmp_path) == first[1]
