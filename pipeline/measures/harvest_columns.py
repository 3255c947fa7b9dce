"""The tables of harvests: their columns, with what each means."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Column:
    """A column of a table of harvests."""

    name: str
    unit: str
    meaning: str

    @property
    def decimals(self) -> int | None:
        """To which it is written; None: not rounded."""
        return DECIMALS.get(self.unit)


# by unit; a figure of `indicators` has the decimals that it has there
DECIMALS = {"kg": 1, "kg/ha": 1, "kg/m³": 3, "m³": 1, "ha": 4, "–": 4, "currency": 2}

COMPARED = ("below", "within", "above")
UNCOMPARED = ("no_planting", "no_range", "no_area", "no_need")  # why a planting isn't compared
UNRATED = ("no_planting", "no_meter", "few_readings", "no_water")  # why nothing is said per m³ of irrigation
UNCOSTED = ("no_planting", "no_need", "no_response", "beyond")  # why nobody can say what dryness cost
LEAST_COVERAGE = 0.8  # as figures_harvests.sql has it; a test holds them together
HOW_KNOWN = ("weighed", "buyer_slip", "recall")

_SHARES = tuple(
    Column(f"{how}_share", "–", f"of the kilograms: {how}; what is left, nobody said how")
    for how in HOW_KNOWN
)
_MONEY = (
    Column("harvest_value", "currency", "of the kilograms that have a price"),
    Column("priced_share", "–", "of the kilograms that have a price"),
)
_LOST = (
    Column("lost_kg_least", "kg", "that dryness is thought to have cost: the harvest over 1 less the loss, less the harvest"),
    Column("lost_kg_most", "kg", "and at most"),
    Column("lost_value_least", "currency", "of these, at the harvest's own mean price"),
    Column("lost_value_most", "currency", "and at most"),
)  # fmt: skip

PLANTING_COLUMNS = (
    Column("site_id", "", "the site"),
    Column("block_id", "", "the block, in the site"),
    Column("crop", "", "as it was written"),
    Column("planted_on", "", "the block's latest planting of the crop; empty: none is on record before the harvest"),
    Column("half_year", "", "of planting: April to September, or October to March, as ISO 8601 months"),
    Column("first_harvest_on", "", "local day"),
    Column("last_harvest_on", "", "local day; it lies in the period"),
    Column("harvests", "", "on record"),
    Column("harvest_kg", "kg", "of all of them"),
    *_SHARES,
    *_MONEY,
    Column("planted_ha", "ha", "that it stood on"),
    Column("harvest_kg_per_ha", "kg/ha", "over that area"),
    Column("days", "d", "from planting to the last harvest, both included"),
    Column("shares_block", "", "whether another crop stood on the block meanwhile"),
    Column("own_meter", "", "whether the block has a meter of its own; else its water is the site's, shared by planted area"),
    Column("water_m3", "m³", "of irrigation in these days, as far as it is known"),
    Column("water_coverage", "–", "share of these days' time for which it is known"),
    Column("effective_rain_m3", "m³", "that the block's crops drew, over the planted area"),
    Column("etc_m3", "m³", "that the crop would take with enough water, as far as it is known"),
    Column("etc_coverage", "–", "share of the days for which it is known"),
    Column("water_productivity_kg_m3", "kg/m³", "harvest per m³ of irrigation; empty below a coverage of 0.8"),
    Column("et_productivity_kg_m3", "kg/m³", "harvest per m³ that the crop would take; empty below a coverage of 0.8"),
    Column("product", "", "fresh or dry: as the published range has it"),
    Column("published_least_kg_m3", "kg/m³", "per m³ of evapotranspiration; empty: no range is published"),
    Column("published_most_kg_m3", "kg/m³", "and at most"),
    Column("published_in", "", "the range's source"),
    Column("published_how_known", "", "quoted, or memory: still to be compared with the printed page"),
    Column("compared", "", "et_productivity_kg_m3 against the range: " + ", ".join(COMPARED)),
    Column("uncompared_why", "", "why it isn't: " + ", ".join(UNCOMPARED)),
    Column("unrated_why", "", "why there is no harvest per m³ of irrigation: " + ", ".join(UNRATED)),
    Column("yield_loss_least", "–", "share of the yield that dryness is thought to have cost, by FAO-33"),
    Column("yield_loss_most", "–", "and at most"),
    Column("uncosted_why", "", "why nobody can say what that is: " + ", ".join(UNCOSTED) + " (more than half of the need may be unmet: FAO-33 says nothing of that)"),
    *_LOST,
)  # fmt: skip
GROUP_COLUMNS = (
    Column("plantings", "", "whose last harvest lies in the period"),
    Column("harvest_kg", "kg", "of them, and of harvests without a planting"),
    Column("unplanted_kg", "kg", "of harvests without a planting"),
    *_SHARES,
    *_MONEY,
    Column("planted_ha", "ha", "of the plantings whose area is known"),
    Column("harvest_kg_per_ha", "kg/ha", "of these"),
    Column("rated_plantings", "", "whose irrigation is known for a coverage of 0.8"),
    Column("water_productivity_kg_m3", "kg/m³", "their harvest per m³ of irrigation; of a site the figure of that name"),
    Column("et_plantings", "", "whose need is known for a coverage of 0.8"),
    Column("et_productivity_kg_m3", "kg/m³", "their harvest per m³ that the crop would take"),
    Column("compared_plantings", "", "that are compared with a published range"),
    Column("below_plantings", "", "of them, below it"),
    Column("within_plantings", "", "within it"),
    Column("above_plantings", "", "above it"),
    Column("costed_plantings", "", "of which can be said what dryness is thought to have cost"),
    Column("costed_kg", "kg", "that these gave"),
    *_LOST,
)  # fmt: skip
