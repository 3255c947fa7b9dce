"""The figures: the only list of their names, units, definitions and decimals.

Screens, tables, documentation and targets take them from here; `figures.sql` computes them.
"""

from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from pipeline.config import Settings


class Grouping(StrEnum):
    """How the figure of several sites comes from theirs."""

    SUM = "sum"  # amounts: they also sum over months
    AREA = "area"  # sums over sites, not over months
    RATIO = "ratio"  # sum of the numerators over sum of the denominators, never a mean of ratios
    MEDIAN = "median"  # over all jobs
    MAX = "max"


@dataclass(frozen=True)
class Indicator:
    """One figure.

    Attributes
    ----------
    name
        Its column.
    unit
        As printed; "currency" stands for the programme's.
    definition
        One sentence; `{name}` stands for the setting of that name.
    decimals
        To which a published value is rounded.
    grouping
        How several sites are put together.
    """

    name: str
    unit: str
    definition: str
    decimals: int
    grouping: Grouping

    def defined(self, settings: Settings) -> str:
        """Return the definition with the programme's settings in it.

        Examples
        --------
        >>> BY_NAME["weather_distance_km"].defined(Settings(station_low_trust_km=15))[-38:]
        'beyond 15 km the need is of low trust.'
        """
        return self.definition.format_map(settings.texts())


_SUM, _AREA, _RATIO, _MAX = Grouping.SUM, Grouping.AREA, Grouping.RATIO, Grouping.MAX

INDICATORS: tuple[Indicator, ...] = (
    Indicator("area_ha", "ha", "Area of the blocks that were planted at some time in the period.", 3, _AREA),
    Indicator("water_m3", "m³", "Water through the source meter over the covered time.", 1, _SUM),
    Indicator("water_coverage", "–", "Share of the service days on which the water is known.", 4, _RATIO),
    Indicator("water_m3_per_ha", "m³/ha", "Water pumped over the planted area; 10 m³/ha is 1 mm.", 1, _RATIO),
    Indicator("water_to_blocks_m3", "m³", "Water through block meters.", 1, _SUM),
    Indicator(
        "longest_interval_days",
        "d",
        "Longest valid meter interval; one above {longest_month_interval_days} days feeds no month.",
        1,
        _MAX,
    ),
    Indicator("energy_kwh", "kWh", "Energy through the energy meter over the covered time.", 1, _SUM),
    Indicator("energy_coverage", "–", "Share of the service days on which the energy is known.", 4, _RATIO),
    Indicator(
        "energy_kwh_per_m3",
        "kWh/m³",
        "Energy over water in the time that both cover; the meter carries the pump alone.",
        4,
        _RATIO,
    ),
    Indicator(
        "lift_efficiency",
        "–",
        "Hydraulic energy over electrical energy; 2.724 Wh lifts 1 m³ by 1 m.",
        4,
        _RATIO,
    ),
    Indicator(
        "uptime", "–", "Share of the known service time in which the site could deliver water.", 4, _RATIO
    ),
    Indicator("uptime_unknown", "–", "Share of the service time that is unknown.", 4, _RATIO),
    Indicator("uptime_low", "–", "Uptime with the unknown time counted as down.", 4, _RATIO),
    Indicator("uptime_high", "–", "Uptime with the unknown time counted as up.", 4, _RATIO),
    Indicator(
        "report_to_water_days",
        "d",
        "Median from report to restoring of the jobs that stopped the water, restored in the period.",
        2,
        Grouping.MEDIAN,
    ),
    Indicator("outages", "", "Outages that began in the period.", 2, _SUM),
    Indicator("outages_open", "", "Outages that were open when the period began.", 2, _AREA),
    Indicator("mean_up_h", "h", "Operating time over the outages that began; service hours.", 1, _RATIO),
    Indicator(
        "mean_down_h",
        "h",
        "Mean length of the outages that ended in the period; service hours, whole length.",
        1,
        _RATIO,
    ),
    Indicator("need_m3", "m³", "Gross crop water need over the days on which it is known.", 1, _SUM),
    Indicator("net_need_mm", "mm", "Crop need less effective rain, mean over the planted area.", 1, _RATIO),
    Indicator(
        "effective_rain_mm",
        "mm",
        "Rain that the crops drew from the blocks' stores, mean over the planted area.",
        1,
        _RATIO,
    ),
    Indicator(
        "other_net_need_mm",
        "mm",
        "Net need by the rule of rain that is not in force: by what the roots can hold, or by the block's store.",
        1,
        _RATIO,
    ),
    Indicator(
        "cropping_coverage",
        "–",
        "Share of block area × covered days with a crop or fallow on record.",
        4,
        _RATIO,
    ),
    Indicator(
        "relative_irrigation_supply",
        "–",
        "Water over gross need, in the time for which both are known (Perry 1996).",
        3,
        _RATIO,
    ),
    Indicator(
        "supply_coverage", "–", "Share of the service days for which water and need are known.", 4, _RATIO
    ),
    Indicator("om_cost", "currency", "Cost of the jobs reported in the period.", 2, _SUM),
    Indicator("om_cost_per_m3", "currency/m³", "Cost of the jobs over the water.", 4, _RATIO),
    Indicator("om_cost_per_ha", "currency/ha", "Cost of the jobs over the planted area.", 2, _RATIO),
    Indicator(
        "served_ha",
        "ha",
        "Mean over the months with need of the area that can be judged and got at least {served_supply} of its need.",
        3,
        _AREA,
    ),
    Indicator(
        "unjudged_ha",
        "ha",
        "Mean over the months with need of the area whose water is known for less than {judged_coverage} of the month.",
        3,
        _AREA,
    ),
    Indicator(
        "weather_distance_km",
        "km",
        "Farthest that the nearest station used was on any day; beyond {station_low_trust_km} km the need is of low trust.",
        1,
        _MAX,
    ),
    Indicator("harvest_kg", "kg", "Harvested in the period.", 1, _SUM),
    Indicator("harvest_value", "currency", "Harvests in the period at the price they fetched.", 2, _SUM),
    Indicator(
        "water_productivity_kg_m3",
        "kg/m³",
        "Whole harvest of the plantings last harvested in the period, over their blocks' water since planting.",
        3,
        _RATIO,
    ),
)

TARGET_FIGURES: tuple[Indicator, ...] = (
    Indicator("trainings_held", "", "Farmer trainings at the agreement's sites in the period.", 0, _SUM),
    Indicator("training_attendances", "", "Women and men who attended, each time counted.", 0, _SUM),
    Indicator("women_share_of_attendances", "–", "Women over women and men who attended.", 4, _RATIO),
    Indicator("sites_in_service", "", "Sites in service on the period's last day.", 0, _AREA),
    Indicator("households", "", "Households that irrigate at the sites in service.", 0, _AREA),
)

BY_NAME = MappingProxyType({figure.name: figure for figure in (*INDICATORS, *TARGET_FIGURES)})
