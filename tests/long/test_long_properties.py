"""Every property test of the ordinary run, with thousands of cases and many seeds."""

import subprocess
import sys

import pytest


@pytest.mark.parametrize("seed", range(10))
def test_every_property_holds_for_thousands_of_cases(seed: int) -> None:
    """The properties hold whatever the seed."""
    command = [sys.executable, "-m", "pytest", "-q", "-m", "hypothesis", "tests"]
    profile = ["--hypothesis-profile=long", f"--hypothesis-seed={seed}", "-p", "no:cacheprovider"]
    done = subprocess.run(command + profile, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout[-5000:]
