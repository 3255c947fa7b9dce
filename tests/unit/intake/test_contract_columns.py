"""The contract's tables as they were agreed with the field: columns, keys, lists, bounds, order."""

from collections.abc import Iterable
from typing import Any

import pytest

from pipeline.tables import TABLES, Kind

# table: columns (* must be filled) @ key
AGREED = """
sites: *site_id, *name, district, *latitude, *longitude, elevation_m, commissioned_on, decommissioned_on, timezone, water_source, pump_type, pump_rated_power_kw, pump_rated_flow_m3h, total_dynamic_head_m, pv_capacity_kwp, pv_tilt_deg, pv_azimuth_deg, tank_volume_m3, households, households_counted_on, lift_before, other_uses @ site_id
site_aliases: *alias, *site_id @ alias
hazards: *site_id, *hazard, note, seen_on @ site_id hazard
contacts: *site_id, *role, *name, phone, language, consent_on @ site_id role name
pauses: *site_id, *from_on, to_on, *reason @ site_id from_on reason
components: *site_id, *component, serial, *installed_on, removed_on, supplier, warranty_until @ site_id component installed_on serial
blocks: *site_id, *block_id, *area_ha, irrigation_method, design_flow_m3h, application_efficiency, lateral_spacing_m, wetted_diameter_m, soil, geometry @ site_id block_id
plantings: *site_id, *block_id, *crop, *planted_on, cleared_on, area_ha @ site_id block_id crop planted_on
crops: *crop, *kc_ini, *kc_mid, *kc_end, *ini_days, *dev_days, *mid_days, *late_days, root_depth_m, depletion_fraction, height_m, yield_response @ crop
harvests: *site_id, *block_id, *crop, *harvested_on, *harvest_kg, price_per_kg, market, how_known @ site_id block_id crop harvested_on
surveys: *survey_id, *site_id, *surveyed_on, surveyor, static_water_level_m, pumping_water_level_m, measured_flow_m3h, measured_input_kw, measured_pressure_kpa, mean_spray_diameter_m, catch_depths_mm, strainer_found, auxiliary_voltage_v, alarm_tested, pv_condition, pump_condition, filter_condition, laterals_condition, security_condition, notes @ survey_id
meters: *meter_id, *site_id, *quantity, block_id, digits, unit, carries, installed_on, removed_on @ meter_id
meter_readings: *meter_id, *read_at, *value, origin, reader @ meter_id read_at
telemetry: *site_id, *logged_at, flow_m3h, input_kw, irradiance_wm2, tank_level_pct @ site_id logged_at
maintenance: *record_id, *site_id, *kind, *reported_at, arrived_at, restored_at, water_stopped, status, component, cause, action, parts_used, cost, technician @ record_id
alarms: *site_id, *kind, *raised_at, cleared_at @ site_id kind raised_at
calls: *site_id, *called_at, answer, next_step @ site_id called_at
trainings: *site_id, *held_on, *topic, women, men, youth @ site_id held_on topic
weather: *station_id, *latitude, *longitude, elevation_m, *day, *tmin_c, *tmax_c, rh_mean_pct, wind_2m_ms, solar_mj_m2, rain_mm @ station_id day
forecasts: *station_id, *issued_on, *day, tmin_c, tmax_c, rain_mm, solar_mj_m2 @ station_id issued_on day
districts: *district, *geometry @ district
roads: *geometry, speed_kmh, class, open_in_rain @ geometry
bases: *base_id, *name, *latitude, *longitude, lodging, workshop @ base_id
crews: *crew_id, *base_id, skills, day_start, day_end, max_driving_h, people, vehicle @ crew_id
crew_absences: *crew_id, *from_on, to_on @ crew_id from_on
stock: *base_id, *part, *quantity, counted_on, next_delivery_on @ base_id part
visit_outcomes: *site_id, *crew_id, *arrived_at, left_at, cause_found, mended, next_step @ site_id crew_id arrived_at
part_needs: *cause, *part, quantity @ cause part
abstraction_limits: *site_id, *m3_per_day, permit_until @ site_id
decisions: *decided_at, *about, *what, who, why @ decided_at about what
agreements: *agreement_id, *funder, *title, *start_on, *end_on @ agreement_id
agreement_sites: *agreement_id, *site_id, share @ agreement_id site_id
targets: *agreement_id, *indicator, baseline, *target, *due_on @ agreement_id indicator due_on
"""
LISTS = """
sites.water_source: borehole river lake reservoir wetland canal
sites.pump_type: submersible surface
sites.lift_before: none can treadle petrol diesel grid
hazards.hazard: well tank live_dc pressure height access animals chemicals
blocks.irrigation_method: spray_tube drip sprinkler furrow basin hose
blocks.soil: sand loamy_sand sandy_loam loam silt_loam silt silt_clay_loam silty_clay clay
harvests.market: home local export
harvests.how_known: weighed buyer_slip recall
surveys.strainer_found: clean silt sand stones plants slime not_opened
surveys.alarm_tested: yes no
meters.quantity: water energy
meters.unit: m3 l kWh MWh
meters.carries: pump pump_and_other array
meter_readings.origin: manual remote
maintenance.kind: preventive corrective inspection security
maintenance.water_stopped: yes no
maintenance.status: open waiting_part waiting_supplier closed
alarms.kind: tamper dry_run controller_fault tank_full
roads.open_in_rain: yes no
bases.lodging: yes no
bases.workshop: yes no
crews.skills: pump electrical agronomy security
crews.vehicle: motorbike car pickup truck
visit_outcomes.mended: yes no partly
"""  # soil: the texture classes of FAO-56 (1998), Table 19

# place: a value that is just too low, just taken; or just taken, just too high
NOT_NEGATIVE = """
sites: pump_rated_power_kw pump_rated_flow_m3h total_dynamic_head_m pv_capacity_kwp tank_volume_m3 households
blocks: area_ha design_flow_m3h lateral_spacing_m wetted_diameter_m
plantings: area_ha
crops: ini_days dev_days mid_days late_days root_depth_m height_m
harvests: harvest_kg
surveys: static_water_level_m pumping_water_level_m measured_flow_m3h measured_input_kw mean_spray_diameter_m
meter_readings: value
telemetry: flow_m3h input_kw
trainings: women men youth
weather: rain_mm
forecasts: rain_mm
crews: people
stock: quantity
abstraction_limits: m3_per_day
"""
FRACTIONS = "blocks.application_efficiency crops.depletion_fraction agreement_sites.share"
FINISHES = """
sites.decommissioned_on after commissioned_on
plantings.cleared_on after planted_on
components.removed_on after installed_on
meters.removed_on after installed_on
pauses.to_on after from_on
crew_absences.to_on after from_on
agreements.end_on after start_on
maintenance.arrived_at after reported_at
maintenance.restored_at after reported_at
alarms.cleared_at after raised_at
visit_outcomes.left_at after arrived_at
crews.day_end after day_start
"""
HAPPENED = """
meter_readings.read_at telemetry.logged_at alarms.raised_at alarms.cleared_at maintenance.reported_at
maintenance.arrived_at maintenance.restored_at surveys.surveyed_on trainings.held_on harvests.harvested_on weather.day
"""


def _lines(text: str) -> list[str]:
    return text.strip().splitlines()


@pytest.mark.parametrize("line", _lines(AGREED), ids=lambda line: line.partition(":")[0])
def test_a_table_has_its_agreed_columns_and_key(line: str) -> None:
    """No column is missing, renamed, newly required or out of the key."""
    name, _, rest = line.partition(": ")
    columns, _, key = rest.partition(" @ ")
    table = TABLES[name]
    assert [("*" if c.required else "") + c.name for c in table.columns] == columns.split(", ")
    assert table.key == tuple(key.split())


def _quoted(values: Iterable[str]) -> str:
    return ",".join(f'"{value}"' for value in values)


def test_no_other_table_is_known() -> None:
    """A table that nobody agreed on can't be loaded."""
    assert set(TABLES) == {line.partition(":")[0] for line in _lines(AGREED)}


def test_lists_have_their_agreed_words() -> None:
    """Each column that takes words of a list takes exactly these."""
    kinds = {Kind.CHOICE, Kind.CHOICES}
    found = {
        f"{t.name}.{c.name}": " ".join(c.choices)
        for t in TABLES.values()
        for c in t.columns
        if c.kind in kinds
    }
    assert found == {place: words for place, _, words in (line.partition(": ") for line in _lines(LISTS))}


@pytest.mark.parametrize(
    "place",
    [
        f"{name}.{c}"
        for name, _, columns in (x.partition(": ") for x in _lines(NOT_NEGATIVE))
        for c in columns.split()
    ],
)
def test_a_length_area_power_flow_or_count_is_not_negative(read_cells: Any, place: str) -> None:
    """Zero is taken; less is out of range: a flaw, or the end of the row where the column must be filled."""
    table, _, column = place.partition(".")
    fate = "rejected" if TABLES[table].by_name[column].required else "flaw"
    zero, below = read_cells(place, ("0", "-1"))
    assert zero[1:] == ("", "taken")
    assert below[1:] == ("out_of_range", fate)


@pytest.mark.parametrize("place", FRACTIONS.split())
def test_a_share_lies_between_0_and_1(read_cells: Any, place: str) -> None:
    """Both ends are inside; 45 % written as 45 is not."""
    rules = [rule for _, rule, _ in read_cells(place, ("0", "1", "0.45", "-0.01", "1.01", "45"))]
    assert rules == ["", "", "", *["out_of_range"] * 3]


@pytest.mark.parametrize("table", ["sites", "bases", "weather"])
def test_a_place_off_the_globe_rejects_the_row(read_cells: Any, table: str) -> None:
    """Latitude goes to 90° and longitude to 180°, both ways, the ends included."""
    latitudes = [rule for _, rule, _ in read_cells(f"{table}.latitude", ("90", "-90", "90.01", "-90.01"))]
    longitudes = [rule for _, rule, _ in read_cells(f"{table}.longitude", ("180", "-180", "180.01", "-181"))]
    assert latitudes == longitudes == ["", "", "out_of_range", "out_of_range"]


@pytest.mark.parametrize("line", _lines(FINISHES))
def test_a_finish_before_its_start_is_emptied(room: Any, good: Any, line: str) -> None:
    """The finish's cell is at fault, not the start's; the same day is no fault."""
    place, _, start = line.partition(" after ")
    table, _, finish = place.partition(".")
    kind = TABLES[table].by_name[finish].kind
    early, late = ("07:00", "16:00") if kind is Kind.CLOCK else ("2026-03-01", "2026-03-02")
    names = list(dict.fromkeys([*good[table], start, finish]))
    rows = [good[table] | {start: late, finish: early}, good[table] | {start: early, finish: early}]
    text = "\n".join([",".join(names), *(",".join(row.get(n, "") for n in names) for row in rows)])
    found = room.read(f"{table}.csv", text)
    fate = "rejected" if TABLES[table].by_name[finish].required else "flaw"
    assert found.faults == [(2, finish, early, "before_start", fate)]


@pytest.mark.parametrize("place", HAPPENED.split())
def test_what_has_happened_is_not_later_than_the_day_after_the_load(read_cells: Any, place: str) -> None:
    """A sheet from a place where the day has begun earlier is taken; a later day is a mistyped one."""
    table, _, column = place.partition(".")
    fate = "rejected" if TABLES[table].by_name[column].required else "flaw"
    tomorrow, later = read_cells(place, ("2026-07-01", "2026-07-02"))
    assert tomorrow[1:] == ("", "taken")
    assert later[1:] == ("in_future", fate)


@pytest.mark.parametrize(
    "place", ["sites.decommissioned_on", "forecasts.day", "agreements.end_on", "stock.next_delivery_on"]
)
def test_what_is_to_come_may_lie_in_the_future(read_cells: Any, place: str) -> None:
    """A forecast, a planned end or a delivery to come is no mistake."""
    assert read_cells(place, ("2029-07-02",))[0][1:] == ("", "taken")


@pytest.mark.parametrize(
    "place",
    [f"{t.name}.{c.name}" for t in TABLES.values() for c in t.columns if c.kind in {Kind.DATE, Kind.INSTANT}],
)
def test_no_day_or_time_lies_before_1990(read_cells: Any, place: str) -> None:
    """The mistyped year 1926 is told in every column of days and times."""
    assert read_cells(place, ("1926-03-01",))[0][1] == "too_early"


@pytest.mark.parametrize("name", TABLES)
def test_an_empty_required_cell_rejects_its_row(room: Any, good: Any, name: str) -> None:
    """Each column that must be filled is named when it is empty, and the row beside it is taken."""
    required = TABLES[name].required
    row = good[name]
    names = list(row)
    lines = [_quoted(names), _quoted(row.values())]
    lines += [_quoted("" if n == empty else row[n] for n in names) for empty in required]
    found = room.read(f"{name}.csv", "\n".join(lines))
    assert [row["_rejected"] for row in found.rows] == [False, *[True] * len(required)]
    assert [fault[1:] for fault in found.faults] == [(c, None, "required", "rejected") for c in required]


@pytest.mark.parametrize("name", TABLES)
def test_a_heading_without_a_required_column_rejects_every_row(room: Any, good: Any, name: str) -> None:
    """The missing columns are named once a row; none is taken on a guess."""
    table = TABLES[name]
    lacking = table.required[-1]
    kept = [c.name for c in table.columns if c.name != lacking][:4]
    row = ",".join(f'"{good[name].get(n, "")}"' for n in kept)
    found = room.read(f"{name}.csv", "\n".join([",".join(kept), *[f'"x",{row.partition(",")[2]}'] * 2]))
    assert [row["_rejected"] for row in found.rows] == [True, True]
    assert set(found.rules) == {"missing_column"}
    assert lacking in found.faults[0][1]
