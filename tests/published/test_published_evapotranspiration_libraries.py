"""The generated year that two libraries are asked about too; what they find is in the list of examples."""

from tests.published.examples.year import DAYS, ours_mm


def test_the_year_spans_what_happens():
    """From grey days to hot dry ones, or the comparison would show little."""
    assert len(DAYS) == 365
    assert ours_mm().min() < 2.5
    assert ours_mm().max() > 6.5
