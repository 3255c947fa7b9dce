"""The README's list of what is printed is the list that the tests hold."""

import json

import pytest

from tests.benchmarks.checks import groups
from tests.benchmarks.record import RESULTS


def test_the_result_file_is_what_the_list_gives_now():
    """Who changes a line makes the file, and then the README, anew."""
    kept = json.loads((RESULTS / "checks.json").read_text(encoding="utf-8"))["groups"]
    now = groups()
    assert [group["title"] for group in kept] == [group["title"] for group in now]
    for before, after in zip(kept, now, strict=True):
        for old, new in zip(before["lines"], after["lines"], strict=True):
            assert old.pop("largest_difference") == pytest.approx(new.pop("largest_difference"), abs=1e-3)
            assert old == new


def test_what_is_not_to_the_last_digit_is_explained():
    """A line with a figure that does not round to the print has a remark."""
    unexplained = [
        line["what"]
        for group in groups()
        for line in group["lines"]
        if line["to_the_last_digit"] < line["figures"] and not line["remark"]
    ]
    assert unexplained == []
