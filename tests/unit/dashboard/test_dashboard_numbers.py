"""How a number looks: one rule for all of them."""

import doctest

import pytest

from dashboard import numbers
from pipeline.measures.indicators import BY_NAME, INDICATORS


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "unknown"), (0.0, "0 %"), (0.004, "0.4 %"), (0.0004, "0 %"), (0.25, "25 %"), (0.274, "27 %"), (0.275, "28 %"),
        (0.005, "1 %"), (0.996, "99.6 %"), (0.9996, "100 %"), (1.0, "100 %"), (1.004, "100.4 %"), (1.312, "131 %"), (12.5, "1,250 %"),
    ],
)  # fmt: skip
def test_a_share_is_a_whole_percentage_unless_that_would_hide_it(value: float | None, text: str) -> None:
    """99.6 % up isn't always up, and 0.4 % isn't never; everything else needs no decimal."""
    assert numbers.share(value) == text


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (None, 2, "unknown"), (0.0, 3, "0"), (0.16004, 4, "0.160"), (3.28, 3, "3.28"), (18.25, 1, "18.3"), (334.9, 1, "335"),
        (16162056.0, 2, "16,162,056"), (-4.25, 1, "-4.3"), (999.96, 1, "1,000"), (1541.5, 1, "1,542"),
    ],
)  # fmt: skip
def test_a_number_has_three_digits_or_is_whole(value: float | None, decimals: int, text: str) -> None:
    """No figure looks more exact than its meter; half is rounded away from zero."""
    assert numbers.number(value, decimals) == text


@pytest.mark.parametrize("figure", INDICATORS, ids=lambda f: f.name)
def test_every_figure_can_be_shown(figure: object) -> None:
    """Unknown is a word in each, 0 a digit, and a share has its % but no unit behind."""
    assert numbers.figure(None, figure) == "unknown"  # type: ignore[arg-type]
    assert numbers.figure(0.0, figure).startswith("0")  # type: ignore[arg-type]
    assert "–" not in numbers.unit(figure, "MWK")  # type: ignore[arg-type]


def test_counts_are_whole_and_money_has_its_currency() -> None:
    """Three outages are 3, not 3.00; half an outage by an agreement's share is 0.5."""
    assert numbers.figure(3.0, BY_NAME["outages"]) == "3"
    assert numbers.figure(0.5, BY_NAME["outages"]) == "0.5"
    assert numbers.unit(BY_NAME["om_cost_per_m3"], "MWK") == "MWK/m³"


def test_the_examples_hold() -> None:
    """What the docstrings show is what comes out."""
    assert doctest.testmod(numbers).failed == 0
    assert doctest.testmod(numbers).attempted > 1


@pytest.mark.parametrize(
    ("value", "text"),
    [(None, "unknown"), (0.0, "0"), (3405.0, "3,405"), (12345.678, "12,345.678"), (0.0000001, "0.0000001"), (-2.50, "-2.5"), (100.0, "100")],
)  # fmt: skip
def test_what_stands_on_record_keeps_every_digit(value: float | None, text: str) -> None:
    """A counter's value is shown as it was read, not to three digits."""
    assert numbers.exact(value) == text
    assert numbers.exact(986.44, 1) == "986.4"
