"""Which row of FAO-56 Table 11 a planting goes by, where the table has several for its crop."""

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from pipeline.agronomy.crops import Crop, crops_by_region

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
# so near the equator that a month names no season that lies half a year later in the south
BY_THE_EQUATOR = frozenset(
    {"east africa", "indonesia", "low latitudes", "tropics", "tropical regions", "tropics mediterranean"}
)
HALF_A_YEAR = 6
YEAR = 12


@cache
def crop_rows() -> Mapping[str, Mapping[str, Crop]]:
    """Return the rows of each built-in crop by their names, as `row_name` has them."""
    found: dict[str, dict[str, Crop]] = {}
    for crop in crops_by_region():
        found.setdefault(crop.crop, {})[row_name(crop)] = crop
    return MappingProxyType({name: MappingProxyType(rows) for name, rows in found.items()})


def row_name(crop: Crop) -> str:
    """Return what tells a row of Table 11 from the crop's others: its region and months of planting.

    Examples
    --------
    >>> sorted(crop_rows()["soybean"])
    ['central usa, may', 'japan, jun', 'tropics, dec']
    """
    return ", ".join(part for part in (crop.region, crop.planting) if part)


def row_for(name: str, month: int, *, south: bool) -> Crop:
    """Return the row of a built-in crop whose months of planting lie nearest to a month.

    Parameters
    ----------
    name
        In the built-in list.
    month
        Of planting, 1 to 12.
    south
        Whether the field lies south of the equator: the months of a region that does not lie by it are
        then half a year later.

    Returns
    -------
    Crop
        Of rows as near as each other the default one, else the first of the table. A row without months
        is taken where the crop has none with any.

    Examples
    --------
    Tomato planted in April, in autumn and in spring:

    >>> row_for("tomato", 4, south=True).region, row_for("tomato", 4, south=False).region
    ('arid region', 'mediterranean')
    """
    rows = list(crop_rows()[name].values())
    return min(rows, key=lambda row: (_months_apart(row, month, south=south), not row.is_default))


def _months_apart(row: Crop, month: int, *, south: bool) -> int:
    """Months from the nearest month of planting, round the year; more than any where none is printed."""
    shift = HALF_A_YEAR if south and row.region not in BY_THE_EQUATOR else 0
    printed = [MONTHS.index(word[:3]) + 1 + shift for word in row.planting.split() if word[:3] in MONTHS]
    return min(
        (min((month - at) % YEAR, (at - month) % YEAR) for at in printed),
        default=YEAR,
    )
