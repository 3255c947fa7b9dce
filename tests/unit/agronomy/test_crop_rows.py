"""Rows of FAO-56 Table 11 by month of planting."""

import pytest

from pipeline.agronomy.crop_rows import crop_rows, row_for, row_name
from pipeline.agronomy.crops import built_in_crops, crops_by_region


def test_a_rows_name_is_its_own():
    """No two rows of a crop have the same name, so that a name leads to one row."""
    assert sum(map(len, crop_rows().values())) == len(crops_by_region())


@pytest.mark.parametrize("name", sorted(built_in_crops()))
def test_every_month_has_a_row(name):
    """Any crop, month and side of the equator gives one of the crop's own rows."""
    for month in range(1, 13):
        for south in (True, False):
            assert row_name(row_for(name, month, south=south)) in crop_rows()[name]


def test_a_month_of_the_table_leads_to_its_row():
    """Sweet maize of the Philippines in March, of the Mediterranean in May (as near as another: the default)."""
    assert row_for("maize_sweet", 3, south=False).region == "philippines"
    assert row_for("maize_sweet", 5, south=False).region == "mediterranean"


def test_december_lies_beside_january():
    """Cantaloupe and others planted in January: a month before or after it is as near, round the year."""
    january = row_for("tomato", 1, south=False)
    assert "jan" in january.planting
    assert row_for("tomato", 12, south=False) == january
