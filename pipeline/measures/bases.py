"""What each figure rests on: tables and columns, settings, sources, and the figure that is its coverage.

The sentences beside them (formula, what makes it empty or of low trust) stand in the catalogue
`explained`; `explained.py` puts both together. Each follows the SQL of this folder.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

Columns = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Basis:
    """What a figure is made of.

    Attributes
    ----------
    needs
        Tables of the contract, each with the columns that are read.
    settings
        Names of the settings that it depends on.
    sources
        Keys of published sources; `none`: common practice.
    rests_on
        The figure that says how much of it is known; empty: none is computed.
    """

    needs: Columns
    settings: tuple[str, ...]
    sources: tuple[str, ...]
    rests_on: str = ""


# settings
COUNTER = ("flow_margin", "own_rate_margin", "neighbour_rate_margin")
STUCK = ("stuck_log_units", "stuck_energy_share")
SOURCE_METER = (*COUNTER, *STUCK, "dead_log_wm2")
LONG = ("longest_month_interval_days",)
LIGHT = ("service_after_sunrise_h", "service_before_sunset_h")
LOG_STATES = (
    "flow_threshold_share", "input_threshold_share", "start_irradiance_wm2", "start_irradiance_percentile",
    "start_irradiance_min_intervals", "tank_full_pct", "long_down_run_h", "clock_off_h", "night_input_share",
)  # fmt: skip
UP = (*LIGHT, "longest_up_interval_h", *LOG_STATES, *SOURCE_METER)
STATIONS = ("station_alone_km", "station_farthest_km")
RAIN = ("effective_rain_share", "effective_rain_least_mm", "effective_rain_store_mm")
STANDS = ("crop_rows",)  # how long a crop does
NEED = (
    *STATIONS, *RAIN, *STANDS, "kc_in_climate", "kc_ini_by_wetting", "wetting_interval_days", "wetting_depth_mm",
    "station_low_trust_km", "need_by_root_zone", "default_soil",
)  # fmt: skip
WATER_TIME = (*SOURCE_METER, *LONG, *LIGHT)
MONEY = ("currency",)

# tables and columns
SERVICE = (("sites", "commissioned_on decommissioned_on timezone"),)
PUMP = (
    ("sites", "latitude longitude pump_rated_flow_m3h pump_rated_power_kw pv_capacity_kwp tank_volume_m3"),
)
READINGS = (
    ("meters", "quantity block_id digits unit carries installed_on removed_on"),
    ("meter_readings", "read_at value"),
)
LOG = (("telemetry", "logged_at flow_m3h input_kw irradiance_wm2"),)
CROPS = (
    ("plantings", "block_id crop planted_on cleared_on area_ha"),
    (
        "crops",
        "ini_days dev_days mid_days late_days kc_ini kc_mid kc_end height_m root_depth_m depletion_fraction",
    ),
    ("blocks", "soil"),
)
STANDING = (
    ("plantings", "block_id crop planted_on cleared_on"),
    ("crops", "ini_days dev_days mid_days late_days"),
)
AREA = (("blocks", "area_ha"), *STANDING)
WEATHER = (
    (
        "weather",
        "day latitude longitude elevation_m tmin_c tmax_c rh_mean_pct wind_2m_ms solar_mj_m2 rain_mm",
    ),
)
PLACE = (("sites", "latitude longitude elevation_m"),)
BLOCKS_NEED = (("blocks", "area_ha"), *CROPS, *WEATHER, *PLACE)
WETTED = (("blocks", "area_ha application_efficiency irrigation_method"), *CROPS, *WEATHER, *PLACE)
METERED = (*READINGS, *LOG, *PUMP, *SERVICE)
JOBS = (("maintenance", "reported_at restored_at water_stopped"),)
LOG_WITH_TANK = (("telemetry", "logged_at flow_m3h input_kw irradiance_wm2 tank_level_pct"),)
TIME = (*LOG_WITH_TANK, *JOBS, ("pauses", "from_on to_on"), *READINGS, *PUMP, *SERVICE)
COST = (("maintenance", "reported_at cost"),)

NONE = ("none",)
SUN = ("meeus1998",)
CROP_SOURCES = ("fao56_et0", "fao56_kc", "rain", "fao56_soil")
PAID = (("agreement_sites", "agreement_id site_id"),)
TRAINED = (("trainings", "site_id held_on women men"), *PAID)


def _merged(columns: Columns) -> Columns:
    """One entry a table, each column once."""
    found: dict[str, dict[str, None]] = {}
    for table, names in columns:
        found.setdefault(table, {}).update(dict.fromkeys(names.split()))
    return tuple((table, " ".join(names)) for table, names in found.items())


def _basis(
    needs: Columns, settings: tuple[str, ...] = (), sources: tuple[str, ...] = NONE, rests_on: str = ""
) -> Basis:
    return Basis(_merged(needs), tuple(dict.fromkeys(settings)), tuple(dict.fromkeys(sources)), rests_on)


_AVAILABLE = ("iec60050_192", *SUN)
_SUPPLY = (*WATER_TIME, *NEED)
_SUPPLY_SOURCES = ("perry1996", *CROP_SOURCES, "fao_tm4")

BASES: Mapping[str, Basis] = MappingProxyType(
    {
        "area_ha": _basis(AREA, STANDS, rests_on="cropping_coverage"),
        "water_m3": _basis(METERED, (*SOURCE_METER, *LONG), rests_on="water_coverage"),
        "water_coverage": _basis(METERED, WATER_TIME),
        "water_m3_per_ha": _basis((*METERED, *AREA), (*SOURCE_METER, *LONG, *STANDS), rests_on="water_coverage"),
        "water_to_blocks_m3": _basis((*READINGS, *PUMP, *SERVICE), (*COUNTER, *LONG)),
        "longest_interval_days": _basis(METERED, (*SOURCE_METER, *LONG), rests_on="water_coverage"),
        "energy_kwh": _basis(METERED, (*SOURCE_METER, *LONG), rests_on="energy_coverage"),
        "energy_coverage": _basis(METERED, WATER_TIME),
        "energy_kwh_per_m3": _basis(METERED, SOURCE_METER, rests_on="energy_coverage"),
        "lift_efficiency": _basis(
            (*METERED, ("sites", "total_dynamic_head_m"), ("surveys", "surveyed_on pumping_water_level_m")),
            (*SOURCE_METER, "survey_level_days"), ("cgpm1901",), "energy_coverage",
        ),
        "uptime": _basis(TIME, UP, _AVAILABLE, "uptime_unknown"),
        "uptime_unknown": _basis(TIME, UP, SUN),
        "uptime_low": _basis(TIME, UP, (*NONE, *SUN), "uptime_unknown"),
        "uptime_high": _basis(TIME, UP, (*NONE, *SUN), "uptime_unknown"),
        "report_to_water_days": _basis(JOBS),
        "outages": _basis(TIME, (*UP, "outage_least_h"), (*NONE, *SUN), "uptime_unknown"),
        "outages_open": _basis(TIME, (*UP, "outage_least_h"), (*NONE, *SUN), "uptime_unknown"),
        "mean_up_h": _basis(TIME, (*UP, "outage_least_h"), ("iso14224", *SUN), "uptime_unknown"),
        "mean_down_h": _basis(TIME, (*UP, "outage_least_h"), ("iso14224", *SUN), "uptime_unknown"),
        "need_m3": _basis((*WETTED, *SERVICE), NEED, (*CROP_SOURCES, "fao_tm4"), "cropping_coverage"),
        "net_need_mm": _basis((*BLOCKS_NEED, *SERVICE), NEED, CROP_SOURCES, "cropping_coverage"),
        "other_net_need_mm": _basis((*BLOCKS_NEED, *SERVICE), NEED, CROP_SOURCES, "cropping_coverage"),
        "effective_rain_mm": _basis((*BLOCKS_NEED, *SERVICE), NEED, CROP_SOURCES, "cropping_coverage"),
        "cropping_coverage": _basis((*AREA, *WEATHER, *PLACE, *SERVICE), ("station_farthest_km", *STANDS)),
        "relative_irrigation_supply": _basis((*METERED, *WETTED), _SUPPLY, _SUPPLY_SOURCES, "supply_coverage"),
        "supply_coverage": _basis((*METERED, *WETTED), (*WATER_TIME, "station_farthest_km", *STANDS)),
        "om_cost": _basis(COST, MONEY),
        "om_cost_per_m3": _basis((*COST, *METERED), (*MONEY, *SOURCE_METER, *LONG), rests_on="water_coverage"),
        "om_cost_per_ha": _basis((*COST, *AREA), (*MONEY, *STANDS), rests_on="cropping_coverage"),
        "served_ha": _basis(
            (*METERED, *WETTED), (*_SUPPLY, "served_supply", "judged_coverage"), _SUPPLY_SOURCES, "unjudged_ha"
        ),
        "unjudged_ha": _basis((*METERED, *WETTED), (*_SUPPLY, "judged_coverage")),
        "weather_distance_km": _basis(
            (*PLACE, ("weather", "day latitude longitude tmin_c tmax_c"), ("blocks", "block_id"), *SERVICE),
            ("station_farthest_km", "station_low_trust_km"),
        ),
        "harvest_kg": _basis((("harvests", "harvested_on harvest_kg"),)),
        "harvest_value": _basis((("harvests", "harvested_on harvest_kg price_per_kg"),), MONEY),
        "water_productivity_kg_m3": _basis(
            (("harvests", "block_id crop harvested_on harvest_kg"), *METERED, ("blocks", "area_ha"), *CROPS, ("weather", "day")),
            (*SOURCE_METER, *LIGHT, *STANDS),
        ),
        "trainings_held": _basis(TRAINED),
        "training_attendances": _basis(TRAINED),
        "women_share_of_attendances": _basis(TRAINED),
        "sites_in_service": _basis((*SERVICE, *PAID)),
        "households": _basis((("sites", "households"), *SERVICE, *PAID)),
    }
)  # fmt: skip
SOURCES = tuple(dict.fromkeys(key for basis in BASES.values() for key in basis.sources))
