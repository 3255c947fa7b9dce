"""A kill or a full disk at any step of a load loses nothing; loading again ends with the same store."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

KILLED, TOLD, DONE = 9, 3, 0


@pytest.fixture(scope="module")
def attempts(stocked_folder, tmp_path_factory):
    """Every kind of step of a load, with how a kill and a full disk there ended."""
    if not hasattr(os, "fork"):
        pytest.skip("attempts are forks")
    scratch = tmp_path_factory.mktemp("steps")
    file = scratch / "meter_readings_next.csv"
    rows = "W1,2026-03-01 07:00,101\nW1,2026-03-04 07:00,190\nW9,2026-03-05 07:00,2\n"
    file.write_text("meter_id,read_at,value\n" + rows)
    script = Path(__file__).with_name("break_at_each_step.py")
    root = Path(__file__).parents[3]
    done = subprocess.run(
        [sys.executable, script, stocked_folder / "store", file, scratch],
        capture_output=True,
        text=True,
        check=False,
        env=os.environ | {"PYTHONPATH": str(root)},
    )
    assert done.returncode == 0, done.stderr
    return [tuple(row) for row in json.loads(done.stdout)]


def test_every_kind_of_step_was_met(attempts):
    """Archive, small tables, parts, the version, the ledger and the sweep."""
    steps = {step for _, step, _, _ in attempts}
    assert steps >= {
        "open archive",
        "fsync archive",
        "rename archive",
        "copyfile base",
        "fsync base",
        "rename parts",
        "open versions",
        "fsync versions",
        "rename versions",
        "open ledger.jsonl",
        "fsync ledger.jsonl",
    }


def test_a_kill_at_any_step_and_then_the_load_again_end_with_the_same_store(attempts):
    """What is read in between is the store as it was or as it shall be, and the check finds nothing."""
    killed = {step: (tried, again) for mode, step, tried, again in attempts if mode == "kill"}
    assert killed == dict.fromkeys(killed, (KILLED, DONE))


def test_a_full_disk_at_any_step_is_told_and_loses_nothing(attempts):
    """The sentence says that there is no space and what to do; the load again ends with the same store."""
    full = {step: (tried, again) for mode, step, tried, again in attempts if mode == "full"}
    assert full == dict.fromkeys(full, (TOLD, DONE))
