"""The built-in crops, against rows of FAO-56 read from the print.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56:
Tables 11 (p. 104 to 108), 12 (p. 110 to 113), 22 (p. 163 to 165) and 24 (p. 181).
"""

import pytest

from pipeline.agronomy.crops import built_in_crops
from tests.published.examples.crops import CROP_TABLES, built_in_row
from tests.published.examples.soil_water import YIELD_RESPONSE


@pytest.mark.parametrize("name", CROP_TABLES)
def test_crop_is_as_printed(name):
    """Lengths and their total, coefficients, height, root depth and depletion fraction."""
    assert built_in_row(name) == CROP_TABLES[name]


@pytest.mark.parametrize("name", YIELD_RESPONSE)
def test_yield_response_is_as_printed(name):
    """The seasonal factor Ky."""
    assert built_in_crops()[name].yield_response == YIELD_RESPONSE[name]
