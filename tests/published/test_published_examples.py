"""Every figure of the list of what others print: ours lies as near as the list says."""

import pytest

from tests.published.examples import EXAMPLES, Example


def called(example: Example) -> str:
    """What a failing test is called."""
    return f"{example.source}: {example.what}"


@pytest.mark.parametrize("example", EXAMPLES, ids=called)
def test_ours_is_what_is_printed(example):
    """Each value, within the list's tolerance."""
    assert example.computed() == pytest.approx(example.expected(), abs=example.tolerance, rel=0)


def test_no_figure_is_in_the_list_twice():
    """A line is told from another by its source and its words."""
    names = [called(example) for example in EXAMPLES]
    assert len(set(names)) == len(names)


def test_a_difference_is_told_of_values_that_are_there():
    """Every computed value stands beside a printed one, and none is unknown."""
    for example in EXAMPLES:
        assert example.computed().shape == example.expected().shape, called(example)
        assert example.difference() <= example.tolerance + 1e-12, called(example)
