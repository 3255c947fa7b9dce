"""Published water productivity: harvest per m³ that a crop evaporated, by crop.

`water_productivity.csv` holds a row a crop and source. A crop's first row is the one that harvests are
compared with; one without a row has no range. Its `how_known` says `quoted` where the value was read in a
text that prints it (cotton: p. 121 of the review, which quotes FAO-33 beside its own), and `memory` where it
is still to be compared with the printed page.

The ranges are per m³ of evapotranspiration, never per m³ pumped, and hold for the product at the
moisture that is named with it.

References
----------
Doorenbos, J., Kassam, A. H. (1979). Yield response to water. FAO Irrigation and Drainage Paper 33: "water
utilization efficiency for harvested yield", Ey, of each crop.
Zwart, S. J., Bastiaanssen, W. G. M. (2004). Review of measured crop water productivity values for
irrigated wheat, rice, cotton and maize. Agricultural Water Management 69, 115–133.
"""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from pipeline.agronomy.crops import crop_name


@dataclass(frozen=True)
class PublishedRange:
    """What others found a crop to give per m³ of evapotranspiration.

    Attributes
    ----------
    crop
        Name in the built-in list.
    product
        fresh or dry: as it is weighed.
    moisture_least, moisture_most
        Water in the product, None where the source names none. [-]
    least_kg_m3, most_kg_m3
        The range. [kg/m³]
    source
        Which of the references.
    how_known
        quoted or memory.
    part
        Of the plant, that is weighed.
    """

    crop: str
    product: str
    moisture_least: float | None
    moisture_most: float | None
    least_kg_m3: float
    most_kg_m3: float
    source: str
    how_known: str
    part: str


@cache
def published_ranges() -> Mapping[str, tuple[PublishedRange, ...]]:
    """Every range by the built-in crop's name, the one that counts first.

    Examples
    --------
    >>> [(of.source, of.least_kg_m3, of.most_kg_m3) for of in published_ranges()["cotton"]]
    [('FAO-33', 0.4, 0.6), ('Zwart & Bastiaanssen 2004', 0.41, 0.95)]
    """
    text = files("pipeline.agronomy").joinpath("water_productivity.csv").read_text(encoding="utf-8")
    found: dict[str, tuple[PublishedRange, ...]] = {}
    for row in csv.DictReader(text.splitlines()):
        found[row["crop"]] = (*found.get(row["crop"], ()), _range(row))
    return MappingProxyType(found)


def published_range(written: str) -> PublishedRange | None:
    """Return the range that counts for a crop as somebody wrote it; None: nobody has printed one.

    Examples
    --------
    >>> published_range("Onions").most_kg_m3, published_range("leaf mustard")
    (10.0, None)
    """
    name = crop_name(written)
    ranges = () if name is None else published_ranges().get(name, ())
    return ranges[0] if ranges else None


def _range(row: Mapping[str, str]) -> PublishedRange:
    return PublishedRange(
        crop=row["crop"],
        product=row["product"],
        moisture_least=float(row["moisture_least"]) if row["moisture_least"] else None,
        moisture_most=float(row["moisture_most"]) if row["moisture_most"] else None,
        least_kg_m3=float(row["least_kg_m3"]),
        most_kg_m3=float(row["most_kg_m3"]),
        source=row["source"],
        how_known=row["how_known"],
        part=row["part"],
    )
