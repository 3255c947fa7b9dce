"""The intake contract as data: every table, column, kind, range, key and parent.

Readers, rules, the store's DDL, the templates for the field and the documentation are all made
from `TABLES`; nothing else in the project lists a column.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType


class Kind(StrEnum):
    """What a cell holds once it is read, and how it is stored."""

    ID = "id"  # text, trimmed and NFC, case kept; a whole number from a sheet loses its ".0"
    TEXT = "text"
    NUMBER = "number"
    WHOLE = "whole"
    DATE = "date"  # a local day
    INSTANT = "instant"  # a moment: UTC in the store, with its local day beside it
    CLOCK = "clock"  # HH:MM
    CHOICE = "choice"
    CHOICES = "choices"  # several of a list, apart by ";"
    NAMES = "names"  # free names apart by ";"
    NUMBERS = "numbers"  # numbers apart by ";"
    TIMEZONE = "timezone"  # an IANA name
    GEOMETRY = "geometry"  # WKT in a cell, or the feature's own


SQL_TYPES = MappingProxyType(
    {
        Kind.ID: "VARCHAR",
        Kind.TEXT: "VARCHAR",
        Kind.NUMBER: "DOUBLE",
        Kind.WHOLE: "BIGINT",
        Kind.DATE: "DATE",
        Kind.INSTANT: "TIMESTAMP",
        Kind.CLOCK: "VARCHAR",
        Kind.CHOICE: "VARCHAR",
        Kind.CHOICES: "VARCHAR",
        Kind.NAMES: "VARCHAR",
        Kind.NUMBERS: "DOUBLE[]",
        Kind.TIMEZONE: "VARCHAR",
        Kind.GEOMETRY: "GEOMETRY",
    }
)


@dataclass(frozen=True)
class Column:
    """One column of the contract.

    `low` and `high` bound a number, ends included. `finish_of` names the column that this one may
    not precede. `happened` marks a time of what has happened: it may not lie later than the day
    after the load's day. `meaning` is the sentence that templates and documentation print.
    """

    name: str
    kind: Kind = Kind.TEXT
    required: bool = False
    unit: str = ""
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    shapes: tuple[str, ...] = ()  # of a geometry: the kinds that make sense there
    finish_of: str = ""
    happened: bool = False
    meaning: str = ""

    @property
    def sql_type(self) -> str:
        """DuckDB's type of the stored column."""
        return SQL_TYPES[self.kind]

    @property
    def day_name(self) -> str:
        """Name of the local day that is stored beside an instant: read_at → read_day."""
        return f"{self.name.removesuffix('_at')}_day"


@dataclass(frozen=True)
class Parent:
    """A row of another table that must be there first; `columns` pairs ours with theirs.

    A pair whose own column is empty asks for nothing.
    """

    table: str
    columns: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Table:
    """One table of the contract.

    `zone` says whose clock a local time is on: the row's `site`, its `meter`'s site, or the
    `programme`. `happens` is the column of the row's first time, by which a look back decides
    whether the row existed. `parted` tables are kept in immutable parts by month of `happens`.
    """

    name: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    parents: tuple[Parent, ...] = ()
    zone: str = "site"
    happens: str = ""
    parted: bool = False
    meaning: str = ""
    by_name: MappingProxyType[str, Column] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_name", MappingProxyType({c.name: c for c in self.columns}))

    @property
    def required(self) -> tuple[str, ...]:
        """Names of the columns that must be there and filled."""
        return tuple(c.name for c in self.columns if c.required)

    @property
    def geometry(self) -> Column | None:
        """The table's geometry column, where it has one."""
        return next((c for c in self.columns if c.kind is Kind.GEOMETRY), None)

    @property
    def instants(self) -> tuple[Column, ...]:
        """Columns that hold a moment."""
        return tuple(c for c in self.columns if c.kind is Kind.INSTANT)


def _id(name: str, meaning: str, *, required: bool = True) -> Column:
    return Column(name, Kind.ID, required=required, meaning=meaning)


def _text(name: str, meaning: str, *, required: bool = False) -> Column:
    return Column(name, Kind.TEXT, required=required, meaning=meaning)


def _number(
    name: str,
    unit: str,
    meaning: str,
    low: float | None = 0,
    high: float | None = None,
    *,
    required: bool = False,
) -> Column:
    return Column(name, Kind.NUMBER, required=required, unit=unit, low=low, high=high, meaning=meaning)


def _count(name: str, meaning: str, *, low: float = 0, high: float | None = None) -> Column:
    return Column(name, Kind.WHOLE, low=low, high=high, meaning=meaning)


def _day(
    name: str, meaning: str, *, required: bool = False, finish_of: str = "", happened: bool = False
) -> Column:
    return Column(name, Kind.DATE, required=required, finish_of=finish_of, happened=happened, meaning=meaning)


def _at(
    name: str, meaning: str, *, required: bool = False, finish_of: str = "", happened: bool = True
) -> Column:
    return Column(
        name, Kind.INSTANT, required=required, finish_of=finish_of, happened=happened, meaning=meaning
    )


def _choice(name: str, choices: str, meaning: str, *, required: bool = False) -> Column:
    return Column(name, Kind.CHOICE, required=required, choices=tuple(choices.split()), meaning=meaning)


def _latitude() -> Column:
    return _number("latitude", "°", "WGS 84, south negative", -90, 90, required=True)


def _longitude() -> Column:
    return _number("longitude", "°", "WGS 84, east positive", -180, 180, required=True)


def _geometry(meaning: str, shape: str, *, required: bool = False) -> Column:
    shapes = (shape, f"MULTI{shape}")
    return Column("geometry", Kind.GEOMETRY, required=required, shapes=shapes, meaning=meaning)


SITE_ID = _id("site_id", "the site")
OF_SITE = (Parent("sites", (("site_id", "site_id"),)),)
OF_BLOCK = (*OF_SITE, Parent("blocks", (("site_id", "site_id"), ("block_id", "block_id"))))
SOILS = "sand loamy_sand sandy_loam loam silt_loam silt silt_clay_loam silty_clay clay"  # FAO-56 Table 19
CONDITION = "1 bad – 5 good"

_SITES = Table(
    "sites",
    (
        SITE_ID,
        _text("name", "the site's name", required=True),
        _id("district", "as in the table of districts", required=False),
        _latitude(),
        _longitude(),
        _number("elevation_m", "m", "above sea level", -500, 9000),
        _day("commissioned_on", "first day of service"),
        _day("decommissioned_on", "first day out of service", finish_of="commissioned_on"),
        Column("timezone", Kind.TIMEZONE, meaning="IANA name, such as Africa/Blantyre"),
        _choice("water_source", "borehole river lake reservoir wetland canal", "where the water comes from"),
        _choice("pump_type", "submersible surface", "kind of pump"),
        _number("pump_rated_power_kw", "kW", "electrical, at the controller's input"),
        _number("pump_rated_flow_m3h", "m³/h", "at the total dynamic head"),
        _number("total_dynamic_head_m", "m", "static lift plus losses"),
        _number("pv_capacity_kwp", "kWp", "of the array"),
        _number("pv_tilt_deg", "°", "from horizontal", 0, 90),
        _number("pv_azimuth_deg", "°", "clockwise from north", 0, 360),
        _number("tank_volume_m3", "m³", "usable"),
        _count("households", "that irrigate there"),
        _day("households_counted_on", "day of that count"),
        _choice("lift_before", "none can treadle petrol diesel grid", "how water was lifted before"),
        _text("other_uses", "what else takes water"),
    ),
    key=("site_id",),
    happens="commissioned_on",
    meaning="a site",
)

_ABOUT_SITES = (
    Table(
        "site_aliases",
        (_id("alias", "another name on paper"), SITE_ID),
        key=("alias",),
        parents=OF_SITE,
        meaning="another name on paper for a site",
    ),
    Table(
        "hazards",
        (
            SITE_ID,
            _choice(
                "hazard",
                "well tank live_dc pressure height access animals chemicals",
                "what can hurt",
                required=True,
            ),
            _text("note", "where, and what to do"),
            _day("seen_on", "when it was seen", happened=True),
        ),
        key=("site_id", "hazard"),
        parents=OF_SITE,
        happens="seen_on",
        meaning="what can hurt somebody at a site",
    ),
    Table(
        "contacts",
        (
            SITE_ID,
            _id("role", "such as chair, operator, extension officer"),
            _id("name", "the person"),
            _text("phone", "with its country code"),
            _text("language", "to speak with the person"),
            _day("consent_on", "when the person agreed to be on file"),
        ),
        key=("site_id", "role", "name"),
        parents=OF_SITE,
        meaning="whom to call; never in a report",
    ),
    Table(
        "pauses",
        (
            SITE_ID,
            _day("from_on", "first day", required=True),
            _day("to_on", "last day", finish_of="from_on"),
            _id("reason", "flood, closed season, dispute …"),
        ),
        key=("site_id", "from_on", "reason"),
        parents=OF_SITE,
        happens="from_on",
        meaning="days when irrigating was not wanted or not possible",
    ),
    Table(
        "components",
        (
            SITE_ID,
            _id("component", "pump, controller, array, filter, battery"),
            _id("serial", "serial number", required=False),
            _day("installed_on", "day of installation", required=True),
            _day("removed_on", "day of removal", finish_of="installed_on"),
            _text("supplier", "who sold it"),
            _day("warranty_until", "last day of the warranty"),
        ),
        key=("site_id", "component", "installed_on", "serial"),
        parents=OF_SITE,
        happens="installed_on",
        meaning="a pump, controller, array, filter or battery in place",
    ),
    Table(
        "abstraction_limits",
        (
            SITE_ID,
            _number("m3_per_day", "m³/d", "what may be pumped", required=True),
            _day("permit_until", "last day of the permit"),
        ),
        key=("site_id",),
        parents=OF_SITE,
        meaning="what may be pumped",
    ),
)

_FARMING = (
    Table(
        "blocks",
        (
            SITE_ID,
            _id("block_id", "the part that one valve opens"),
            _number("area_ha", "ha", "irrigated area", required=True),
            _choice(
                "irrigation_method", "spray_tube drip sprinkler furrow basin hose", "how the water is applied"
            ),
            _number("design_flow_m3h", "m³/h", "of the open valve"),
            _number("application_efficiency", "–", "share of the water that the roots get", 0, 1),
            _number("lateral_spacing_m", "m", "between laterals"),
            _number("wetted_diameter_m", "m", "of a spray"),
            _choice("soil", SOILS, "texture class"),
            _geometry("outline of the block", "POLYGON"),
        ),
        key=("site_id", "block_id"),
        parents=OF_SITE,
        meaning="a part of a site that one valve opens",
    ),
    Table(
        "crops",
        (
            _id("crop", "the crop's name"),
            _number("kc_ini", "–", "crop coefficient at first", 0, 2, required=True),
            _number("kc_mid", "–", "crop coefficient at full cover", 0, 2, required=True),
            _number("kc_end", "–", "crop coefficient at the end", 0, 2, required=True),
            *(
                Column(
                    f"{stage}_days", Kind.WHOLE, required=True, unit="d", low=0, high=2000, meaning=meaning
                )
                for stage, meaning in (
                    ("ini", "initial stage"),
                    ("dev", "development stage"),
                    ("mid", "mid-season stage"),
                    ("late", "late-season stage"),
                )
            ),
            _number("root_depth_m", "m", "deepest"),
            _number("depletion_fraction", "–", "share that can be drawn without stress", 0, 1),
            _number("height_m", "m", "tallest"),
            _number("yield_response", "–", "loss of yield for loss of water"),
        ),
        key=("crop",),
        zone="programme",
        meaning="the programme's own values for a crop",
    ),
    Table(
        "plantings",
        (
            SITE_ID,
            _id("block_id", "the block"),
            _id("crop", "crop, or fallow"),
            _day("planted_on", "day 1 of the crop", required=True),
            _day("cleared_on", "day of clearing", finish_of="planted_on"),
            _number("area_ha", "ha", "empty: the block, or equal shares of what its other crops leave"),
        ),
        key=("site_id", "block_id", "crop", "planted_on"),
        parents=OF_BLOCK,
        happens="planted_on",
        meaning="one crop on one block",
    ),
    Table(
        "harvests",
        (
            SITE_ID,
            _id("block_id", "the block"),
            _id("crop", "the crop"),
            _day("harvested_on", "day of the harvest", required=True, happened=True),
            _number("harvest_kg", "kg", "as harvested", required=True),
            _number("price_per_kg", "currency/kg", "in the programme's currency"),
            _choice("market", "home local export", "where it went"),
            _choice("how_known", "weighed buyer_slip recall", "how the weight is known"),
        ),
        key=("site_id", "block_id", "crop", "harvested_on"),
        parents=OF_BLOCK,
        happens="harvested_on",
        meaning="one harvest of a block",
    ),
)

_MEASURING = (
    Table(
        "surveys",
        (
            _id("survey_id", "the visit"),
            SITE_ID,
            _day("surveyed_on", "day of the visit", required=True, happened=True),
            _text("surveyor", "who looked"),
            _number("static_water_level_m", "m", "below ground, pump at rest"),
            _number("pumping_water_level_m", "m", "below ground, pump running"),
            _number("measured_flow_m3h", "m³/h", "at the source"),
            _number("measured_input_kw", "kW", "at the controller's input"),
            _number("measured_pressure_kpa", "kPa", "gauge, at the pump house", None),
            _number("mean_spray_diameter_m", "m", "of the sprays"),
            Column("catch_depths_mm", Kind.NUMBERS, unit="mm", low=0, meaning="catch cans, apart by ;"),
            _choice(
                "strainer_found", "clean silt sand stones plants slime not_opened", "the strainer when opened"
            ),
            _number("auxiliary_voltage_v", "V", "battery of lights and alarm"),
            _choice("alarm_tested", "yes no", "whether the alarm was tried"),
            *(
                _count(f"{part}_condition", CONDITION, low=1, high=5)
                for part in ("pv", "pump", "filter", "laterals", "security")
            ),
            _text("notes", "what else was seen"),
        ),
        key=("survey_id",),
        parents=OF_SITE,
        happens="surveyed_on",
        meaning="one survey visit",
    ),
    Table(
        "meters",
        (
            _id("meter_id", "the register"),
            SITE_ID,
            _choice("quantity", "water energy", "what it counts", required=True),
            _id("block_id", "empty: at the source", required=False),
            _count("digits", "whole digits before it rolls over", low=1, high=12),
            _choice("unit", "m3 l kWh MWh", "empty: m3 or kWh"),
            _choice("carries", "pump pump_and_other array", "of an energy meter; empty: pump"),
            _day("installed_on", "day of installation"),
            _day("removed_on", "day of removal", finish_of="installed_on"),
        ),
        key=("meter_id",),
        parents=OF_BLOCK,
        happens="installed_on",
        meaning="a cumulative meter",
    ),
    Table(
        "meter_readings",
        (
            _id("meter_id", "the meter"),
            _at("read_at", "when the counter was read", required=True),
            _number("value", "the meter's unit", "the counter", required=True),
            _choice("origin", "manual remote", "by hand or by modem"),
            _text("reader", "who read it"),
        ),
        key=("meter_id", "read_at"),
        parents=(Parent("meters", (("meter_id", "meter_id"),)),),
        zone="meter",
        happens="read_at",
        parted=True,
        meaning="one reading of a counter",
    ),
    Table(
        "telemetry",
        (
            SITE_ID,
            _at("logged_at", "end of the interval", required=True),
            _number("flow_m3h", "m³/h", "mean of the interval"),
            _number("input_kw", "kW", "mean of the interval, at the controller's input"),
            _number("irradiance_wm2", "W/m²", "mean of the interval, in the array's plane"),
            _number("tank_level_pct", "%", "of the usable volume", 0, 100),
        ),
        key=("site_id", "logged_at"),
        parents=OF_SITE,
        happens="logged_at",
        parted=True,
        meaning="one interval of the controller's log",
    ),
    Table(
        "weather",
        (
            _id("station_id", "station or grid cell"),
            _latitude(),
            _longitude(),
            _number("elevation_m", "m", "above sea level", -500, 9000),
            _day("day", "the local day", required=True, happened=True),
            _number("tmin_c", "°C", "lowest", -60, 60, required=True),
            _number("tmax_c", "°C", "highest", -60, 60, required=True),
            _number("rh_mean_pct", "%", "mean relative humidity", 0, 100),
            _number("wind_2m_ms", "m/s", "mean at 2 m"),
            _number("solar_mj_m2", "MJ/m²", "of the day, horizontal"),
            _number("rain_mm", "mm", "of the day"),
        ),
        key=("station_id", "day"),
        zone="programme",
        happens="day",
        meaning="one day at a station or grid cell",
    ),
    Table(
        "forecasts",
        (
            _id("station_id", "station or grid cell"),
            _day("issued_on", "day of the forecast", required=True),
            _day("day", "the day that it speaks of", required=True),
            _number("tmin_c", "°C", "lowest", -60, 60),
            _number("tmax_c", "°C", "highest", -60, 60),
            _number("rain_mm", "mm", "of the day"),
            _number("solar_mj_m2", "MJ/m²", "of the day, horizontal"),
        ),
        key=("station_id", "issued_on", "day"),
        zone="programme",
        happens="issued_on",
        meaning="a forecast day",
    ),
)

_WORK = (
    Table(
        "maintenance",
        (
            _id("record_id", "the job"),
            SITE_ID,
            _choice("kind", "preventive corrective inspection security", "kind of job", required=True),
            _at("reported_at", "when it was reported", required=True),
            _at("arrived_at", "when somebody arrived", finish_of="reported_at"),
            _at("restored_at", "when it worked again", finish_of="reported_at"),
            _choice("water_stopped", "yes no", "whether the water had stopped"),
            _choice("status", "open waiting_part waiting_supplier closed", "how it stands"),
            _text("component", "in the technician's words"),
            _text("cause", "in the technician's words"),
            _text("action", "in the technician's words"),
            Column("parts_used", Kind.NAMES, meaning="names apart by ;"),
            _number("cost", "currency", "in the programme's currency; negative: paid back", None),
            _text("technician", "who did it"),
        ),
        key=("record_id",),
        parents=OF_SITE,
        happens="reported_at",
        meaning="one job",
    ),
    Table(
        "alarms",
        (
            SITE_ID,
            _choice("kind", "tamper dry_run controller_fault tank_full", "kind of alarm", required=True),
            _at("raised_at", "when it was raised", required=True),
            _at("cleared_at", "when it was cleared", finish_of="raised_at"),
        ),
        key=("site_id", "kind", "raised_at"),
        parents=OF_SITE,
        happens="raised_at",
        meaning="one alarm",
    ),
    Table(
        "calls",
        (
            SITE_ID,
            _at("called_at", "when", required=True),
            _text("answer", "what was said"),
            _text("next_step", "what follows"),
        ),
        key=("site_id", "called_at"),
        parents=OF_SITE,
        happens="called_at",
        meaning="a telephone call to the site",
    ),
    Table(
        "trainings",
        (
            SITE_ID,
            _day("held_on", "day of the training", required=True, happened=True),
            _id("topic", "what was taught"),
            _count("women", "who attended"),
            _count("men", "who attended"),
            _count("youth", "of the women and men"),
        ),
        key=("site_id", "held_on", "topic"),
        parents=OF_SITE,
        happens="held_on",
        meaning="one farmer training, by attendance",
    ),
    Table(
        "visit_outcomes",
        (
            SITE_ID,
            _id("crew_id", "the crew"),
            _at("arrived_at", "when the crew came", required=True),
            _at("left_at", "when it left", finish_of="arrived_at"),
            _text("cause_found", "what was found"),
            _choice("mended", "yes no partly", "whether it was mended"),
            _text("next_step", "what follows"),
        ),
        key=("site_id", "crew_id", "arrived_at"),
        parents=(*OF_SITE, Parent("crews", (("crew_id", "crew_id"),))),
        happens="arrived_at",
        meaning="what a visit found",
    ),
    Table(
        "decisions",
        (
            _at("decided_at", "when", required=True),
            _id("about", "a site, a job, a stop"),
            _id("what", "what was decided"),
            _text("who", "who decided"),
            _text("why", "the reason"),
        ),
        key=("decided_at", "about", "what"),
        zone="programme",
        happens="decided_at",
        meaning="what a person decided",
    ),
)

_PLACES = (
    Table(
        "districts",
        (_id("district", "its name"), _geometry("boundary", "POLYGON", required=True)),
        key=("district",),
        zone="programme",
        meaning="a boundary",
    ),
    Table(
        "roads",
        (
            _geometry("lines", "LINESTRING", required=True),
            _number("speed_kmh", "km/h", "as driven", 0, 200),
            _text("class", "an OpenStreetMap highway value"),
            _choice("open_in_rain", "yes no", "whether it stays open"),
        ),
        key=("geometry",),
        zone="programme",
        meaning="a stretch of road, open both ways",
    ),
    Table(
        "bases",
        (
            _id("base_id", "the base"),
            _text("name", "its name", required=True),
            _latitude(),
            _longitude(),
            _choice("lodging", "yes no", "whether a crew can sleep there"),
            _choice("workshop", "yes no", "whether there is a workshop"),
        ),
        key=("base_id",),
        zone="programme",
        meaning="where a crew can start or spend the night",
    ),
    Table(
        "crews",
        (
            _id("crew_id", "the crew"),
            _id("base_id", "its base"),
            Column(
                "skills",
                Kind.CHOICES,
                choices=("pump", "electrical", "agronomy", "security"),
                meaning="apart by ;",
            ),
            Column("day_start", Kind.CLOCK, meaning="start of work"),
            Column("day_end", Kind.CLOCK, finish_of="day_start", meaning="end of work"),
            _number("max_driving_h", "h", "a day", 0, 24),
            _count("people", "in the crew"),
            _choice("vehicle", "motorbike car pickup truck", "what it drives"),
        ),
        key=("crew_id",),
        parents=(Parent("bases", (("base_id", "base_id"),)),),
        zone="programme",
        meaning="a crew with its vehicle",
    ),
    Table(
        "crew_absences",
        (
            _id("crew_id", "the crew"),
            _day("from_on", "first day", required=True),
            _day("to_on", "last day", finish_of="from_on"),
        ),
        key=("crew_id", "from_on"),
        parents=(Parent("crews", (("crew_id", "crew_id"),)),),
        zone="programme",
        happens="from_on",
        meaning="days without that crew",
    ),
    Table(
        "stock",
        (
            _id("base_id", "the base"),
            _id("part", "the part"),
            _number("quantity", "pieces", "on the shelf", required=True),
            _day("counted_on", "day of the count", happened=True),
            _day("next_delivery_on", "when more come"),
        ),
        key=("base_id", "part"),
        parents=(Parent("bases", (("base_id", "base_id"),)),),
        zone="programme",
        happens="counted_on",
        meaning="parts on the shelf",
    ),
    Table(
        "part_needs",
        (_id("cause", "the cause"), _id("part", "the part"), _number("quantity", "pieces", "usually taken")),
        key=("cause", "part"),
        zone="programme",
        meaning="parts that a cause usually takes",
    ),
)

_FUNDING = (
    Table(
        "agreements",
        (
            _id("agreement_id", "the agreement"),
            _text("funder", "who pays", required=True),
            _text("title", "its title", required=True),
            _day("start_on", "first day", required=True),
            _day("end_on", "last day", required=True, finish_of="start_on"),
        ),
        key=("agreement_id",),
        zone="programme",
        happens="start_on",
        meaning="a funding agreement",
    ),
    Table(
        "agreement_sites",
        (_id("agreement_id", "the agreement"), SITE_ID, _number("share", "–", "empty: 1", 0, 1)),
        key=("agreement_id", "site_id"),
        parents=(Parent("agreements", (("agreement_id", "agreement_id"),)), *OF_SITE),
        meaning="which sites an agreement pays for",
    ),
    Table(
        "targets",
        (
            _id("agreement_id", "the agreement"),
            _id("indicator", "a figure"),
            _number("baseline", "the figure's", "before", None),
            _number("target", "the figure's", "what was promised", None, required=True),
            _day("due_on", "by when", required=True),
        ),
        key=("agreement_id", "indicator", "due_on"),
        parents=(Parent("agreements", (("agreement_id", "agreement_id"),)),),
        zone="programme",
        meaning="what was promised",
    ),
)

# Parents stand before their children: one load counts its files in this order.
_ALL = (
    _PLACES[0],  # districts
    _SITES,
    *_ABOUT_SITES,
    *_FARMING,
    *_MEASURING,
    *_PLACES[1:],
    *_WORK,
    *_FUNDING,
)

TABLES: MappingProxyType[str, Table] = MappingProxyType({table.name: table for table in _ALL})


def tables_named(start: str) -> Iterator[Table]:
    """Yield the tables whose name begins `start`, the longest name first.

    A file or sheet is named for its table, with anything after it: `meter_readings_north.csv` is of
    `meter_readings`, not of `meters`.
    """
    folded = start.casefold()
    found = (t for t in TABLES.values() if folded.startswith(t.name))
    return iter(sorted(found, key=lambda t: -len(t.name)))


EARLIEST_YEAR = 1990  # anything before is out of range
EMPTY_WORDS = frozenset({"-", "--", "n/a", "na", "null", "none", "?"})
CLEAR_WORD = "clear"
