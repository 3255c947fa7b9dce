"""The built-in crops: FAO-56 Tables 11, 12 and 22, and the yield response of Table 24.

`crops.csv` holds one row for each crop and region of Table 11, and names the rows
of the printed tables that its values come from. Its `how_known` says `printed`
where the row was compared with the printed tables, and `transcription` where it
comes from the open data of pyfao56 1.4.3 (public domain), which keeps the middle
where FAO-56 prints a range; `note` then holds the range. The seasonal yield
response (Doorenbos, Kassam 1979, FAO-33) has a `how_known` of its own.

The default region is the first with a row for the tropics, else for tropical
Africa, else for the Mediterranean, else the first of the table.
"""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

# a perennial whose year nobody wrote down is in its first; a crop with a fresh and
# a dry harvest is the first of the two in Table 12
OTHER_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "aubergine": "eggplant",
        "banana": "banana_first_year",
        "bananas": "banana_first_year",
        "bean": "beans_dry",
        "beans": "beans_dry",
        "beet": "beetroot",
        "bell_pepper": "pepper_bell",
        "broad_beans": "broad_bean",
        "cabbages": "cabbage",
        "carrots": "carrot",
        "cassava": "cassava_year_1",
        "corn": "maize",
        "courgette": "zucchini",
        "cowpeas": "cowpea",
        "cucumbers": "cucumber",
        "dry_beans": "beans_dry",
        "faba_bean": "broad_bean",
        "green_beans": "beans_green",
        "green_gram": "cowpea",
        "green_maize": "maize_sweet",
        "groundnuts": "groundnut",
        "irish_potato": "potato",
        "lentils": "lentil",
        "melon": "sweet_melon",
        "onion": "onion_dry",
        "onions": "onion_dry",
        "orange": "citrus",
        "paddy": "rice",
        "pea": "peas_fresh",
        "peanut": "groundnut",
        "peanuts": "groundnut",
        "peas": "peas_fresh",
        "pepper": "pepper_bell",
        "peppers": "pepper_bell",
        "potatoes": "potato",
        "pumpkins": "pumpkin",
        "soya": "soybean",
        "soya_bean": "soybean",
        "soybeans": "soybean",
        "spring_onion": "onion_green",
        "sugarcane": "sugarcane_first_year",
        "sweet_corn": "maize_sweet",
        "sweet_pepper": "pepper_bell",
        "sweet_potatoes": "sweet_potato",
        "tomatoes": "tomato",
        "watermelons": "watermelon",
    }
)

FALLOW = "fallow"  # what stands in a crop's place where nothing grows


@dataclass(frozen=True)
class Crop:
    """A crop as FAO-56 tabulates it for one region.

    Attributes
    ----------
    crop, region, planting
        Name; region and months of planting of Table 11.
    is_default
        Whether the crop's days come from this region unless told otherwise.
    kc_ini, kc_mid, kc_end
        Crop coefficients of Table 12, for a sub-humid climate. [-]
    ini_days, dev_days, mid_days, late_days
        Lengths of the stages, Table 11. [d]
    root_depth_min_m, root_depth_max_m
        Greatest rooting depth, Table 22: the smaller for scheduling irrigation. [m]
    depletion_fraction
        Share of the available water that can be used without stress, at 5 mm/d. [-]
    height_m
        Greatest height, Table 12. [m]
    yield_response
        Seasonal Ky, None where none is printed. [-]
    """

    crop: str
    region: str
    planting: str
    is_default: bool
    kc_ini: float
    kc_mid: float
    kc_end: float
    ini_days: int
    dev_days: int
    mid_days: int
    late_days: int
    root_depth_min_m: float
    root_depth_max_m: float
    depletion_fraction: float
    height_m: float
    yield_response: float | None

    @property
    def season_days(self) -> int:
        """Days from planting to the end of the last stage."""
        return self.ini_days + self.dev_days + self.mid_days + self.late_days


@cache
def crops_by_region() -> tuple[Crop, ...]:
    """Every crop in every region of Table 11.

    Examples
    --------
    >>> sorted(crop.region for crop in crops_by_region() if crop.crop == "soybean")
    ['central usa', 'japan', 'tropics']
    """
    table = files("pipeline.agronomy").joinpath("crops.csv").read_text(encoding="utf-8")
    return tuple(_crop(row) for row in csv.DictReader(table.splitlines()))


@cache
def built_in_crops() -> Mapping[str, Crop]:
    """Built-in crops by name, each with the days of its default region.

    Examples
    --------
    >>> built_in_crops()["tomato"].season_days
    145
    """
    return MappingProxyType({crop.crop: crop for crop in crops_by_region() if crop.is_default})


def crop_name(written: str) -> str | None:
    """Name in the built-in list for what somebody wrote, None where the list has no such crop.

    Case, spaces and hyphens don't matter; a few names of everyday use are known.

    Examples
    --------
    >>> crop_name("Sweet Potato"), crop_name("onions"), crop_name("fallow")
    ('sweet_potato', 'onion_dry', None)
    """
    plain = plain_name(written)
    name = OTHER_NAMES.get(plain, plain)
    return name if name in built_in_crops() else None


def plain_name(written: str) -> str:
    """Return what somebody wrote for a crop without case, spaces and hyphens.

    Examples
    --------
    >>> plain_name("Sweet  potato")
    'sweet_potato'
    """
    return "_".join(written.casefold().replace("-", " ").replace("_", " ").split())


def _crop(row: Mapping[str, str]) -> Crop:
    return Crop(
        crop=row["crop"],
        region=row["region"],
        planting=row["planting"],
        is_default=row["default"] == "yes",
        kc_ini=float(row["kc_ini"]),
        kc_mid=float(row["kc_mid"]),
        kc_end=float(row["kc_end"]),
        ini_days=int(row["ini_days"]),
        dev_days=int(row["dev_days"]),
        mid_days=int(row["mid_days"]),
        late_days=int(row["late_days"]),
        root_depth_min_m=float(row["root_depth_min_m"]),
        root_depth_max_m=float(row["root_depth_max_m"]),
        depletion_fraction=float(row["depletion_fraction"]),
        height_m=float(row["height_m"]),
        yield_response=float(row["yield_response"]) if row["yield_response"] else None,
    )
