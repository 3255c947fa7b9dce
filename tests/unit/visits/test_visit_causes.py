"""One small site a cause: rows as the field sends them in, the cause and its sentence out."""

from datetime import date, timedelta

import pytest

AS_OF = date(2026, 10, 31)
NEED = 60.0  # about what the hectare needs in a day, m³
PLENTY, LITTLE = 75.0, 20.0


def on(month: int, day: int) -> date:
    return date(2026, month, day)


def plenty(_day):
    return PLENTY


def little(_day):
    return LITTLE


def pumping(_day, _hour):
    return 7.0, 2.4, 50.0


def fading(day):
    """0.6 % less every day."""
    left = 1 - 0.006 * (day - on(8, 23)).days
    return 7.0 * left, 2.4 * left, 50.0


def stops(f):
    f.site("JOB")
    f.meter("W-JOB", "JOB", plenty, until=on(10, 20))
    f.add("maintenance", record_id="J1", site_id="JOB", kind="corrective", reported_at="2026-10-21 09:00",
          water_stopped="yes", status="waiting_part", component="Controller box")  # fmt: skip
    f.site("THEFT")
    f.meter("W-THEFT", "THEFT", plenty, until=on(10, 20))
    f.add("maintenance", record_id="J2", site_id="THEFT", kind="security", reported_at="2026-10-21 09:00",
          water_stopped="yes", component="array")  # fmt: skip
    f.site("FLOWED")
    f.meter("W-FLOWED", "FLOWED", plenty)
    f.add("maintenance", record_id="J3", site_id="FLOWED", kind="corrective", reported_at="2026-10-05 09:00",
          water_stopped="yes", status="open", component="pump")  # fmt: skip
    f.site("LOG")
    f.log("LOG", lambda day, hour: (0.0, 0.0, 50.0) if day >= on(10, 26) else pumping(day, hour))
    f.site("FAULT")
    f.log("FAULT", lambda day, hour: (0.0, 0.0, 50.0) if day >= on(10, 26) else pumping(day, hour))
    f.add("alarms", site_id="FAULT", kind="controller_fault", raised_at="2026-10-26 08:00")
    f.site("STILL")
    f.meter("W-STILL", "STILL", lambda day: 0.0 if day > on(10, 20) else PLENTY)
    f.site("BOTH")
    f.meter("W-BOTH", "BOTH", lambda day: 0.0 if day > on(10, 20) else PLENTY)
    f.meter("E-BOTH", "BOTH", lambda day: 0.0 if day > on(10, 20) else 15.0, quantity="energy")
    f.site("TAMPER")
    f.meter("W-TAMPER", "TAMPER", plenty, until=on(10, 30))
    f.add("alarms", site_id="TAMPER", kind="tamper", raised_at="2026-10-30 22:00")
    f.site("BACK")
    f.meter("W-BACK", "BACK", lambda day: 0.0 if on(10, 7) < day < on(10, 28) else PLENTY)
    f.add("maintenance", record_id="J8", site_id="BACK", kind="corrective", reported_at="2026-10-08 06:00",
          restored_at="2026-10-27 18:00", water_stopped="yes", status="closed", component="pump")  # fmt: skip
    f.site("CLEARED")
    f.meter("W-CLEARED", "CLEARED", plenty)
    f.add(
        "alarms",
        site_id="CLEARED",
        kind="tamper",
        raised_at="2026-10-20 22:00",
        cleared_at="2026-10-21 06:00",
    )


def lifts(f):
    f.site("DRY")
    f.meter("W-DRY", "DRY", little)
    f.add("alarms", site_id="DRY", kind="dry_run", raised_at="2026-10-25 14:00")
    f.site("LEVEL")
    f.meter("W-LEVEL", "LEVEL", little)
    for survey, day, level in (("V1", on(7, 1), 10.0), ("V2", on(10, 10), 14.0)):
        f.add(
            "surveys", survey_id=f"L{survey}", site_id="LEVEL", surveyed_on=day, pumping_water_level_m=level
        )
    f.site("STRAINER")
    f.meter("W-STRAINER", "STRAINER", little)
    f.add("surveys", survey_id="V3", site_id="STRAINER", surveyed_on=on(10, 10), strainer_found="silt")
    f.site("FILTER")
    f.meter("W-FILTER", "FILTER", little)
    f.add("surveys", survey_id="V4", site_id="FILTER", surveyed_on=on(10, 10), filter_condition=1)
    f.site("SERVED")
    f.meter("W-SERVED", "SERVED", plenty)
    f.add(
        "surveys",
        survey_id="V5",
        site_id="SERVED",
        surveyed_on=on(10, 10),
        strainer_found="silt",
        pv_condition=1,
    )
    f.add("maintenance", record_id="J4", site_id="SERVED", kind="preventive", reported_at="2026-10-15 08:00",
          restored_at="2026-10-15 12:00", water_stopped="no", status="closed")  # fmt: skip
    f.site("SOILED")
    f.meter("W-SOILED", "SOILED", little)
    f.add("surveys", survey_id="V6", site_id="SOILED", surveyed_on=on(10, 10), pv_condition=2)
    f.weather("WET", -12.0, 34.0, rain_on=on(10, 22))
    f.site("WASHED", latitude=-12.0, longitude=34.0)
    f.meter("W-WASHED", "WASHED", plenty)
    f.add("surveys", survey_id="V7", site_id="WASHED", surveyed_on=on(10, 10), pv_condition=2)
    f.site("FELL")
    f.log("FELL", lambda day, _h: (7.0, 2.4, 50.0) if day < on(10, 11) else (4.2, 1.44, 50.0))
    f.site("FADED")
    f.log("FADED", lambda day, _h: fading(day))
    f.site("DEAR")
    f.meter("W-DEAR", "DEAR", little)
    f.meter("E-DEAR", "DEAR", lambda day: 8.0 if day > on(9, 25) else 4.0, quantity="energy")
    f.site("WORN")
    f.meter("W-WORN", "WORN", little)
    f.meter("E-WORN", "WORN", lambda day: 8.0 if day > on(9, 25) else 4.0, quantity="energy")
    f.add(
        "surveys",
        survey_id="V8",
        site_id="WORN",
        surveyed_on=on(10, 20),
        strainer_found="clean",
        filter_condition=4,
    )


def fields(f):
    f.site("LEAK")
    f.meter("W-LEAK", "LEAK", plenty)
    f.meter("K-LEAK", "LEAK", lambda _d: PLENTY / 2, block_id="A")
    f.site("UNMETERED")  # a second planted block without a meter takes the rest
    f.meter("W-UNMETERED", "UNMETERED", plenty)
    f.meter("K-UNMETERED", "UNMETERED", lambda _d: PLENTY / 2, block_id="A")
    f.add("blocks", site_id="UNMETERED", block_id="B", area_ha=1, application_efficiency=0.9)
    f.add("plantings", site_id="UNMETERED", block_id="B", crop="greens", planted_on=on(7, 5))
    f.site("DOUBLED")
    f.meter("W-DOUBLED", "DOUBLED", little)
    f.add(
        "blocks", site_id="DOUBLED", block_id="B", area_ha=0.2, application_efficiency=0.9, design_flow_m3h=10
    )
    f.add("plantings", site_id="DOUBLED", block_id="B", crop="greens", planted_on=on(7, 5))
    for block in "AB":
        f.add("meters", meter_id=f"K-{block}", site_id="DOUBLED", quantity="water", block_id=block, digits=7)
        value = 50.0
        for day in range(20, 25):
            for hour in (9, 10):
                f.add(
                    "meter_readings",
                    meter_id=f"K-{block}",
                    read_at=f"2026-10-{day} {hour:02d}:00",
                    value=value,
                )
                value += 5.0 if hour == 9 else 0.0
    f.site("SPRAYS")
    f.meter("W-SPRAYS", "SPRAYS", little)
    for survey, day, pressure, spray in (("V9", on(7, 1), 110, 3.0), ("V10", on(10, 10), 60, 2.0)):
        f.add("surveys", survey_id=survey, site_id="SPRAYS", surveyed_on=day, measured_flow_m3h=10,
              measured_pressure_kpa=pressure, mean_spray_diameter_m=spray)  # fmt: skip
    f.site("CANS")
    f.meter("W-CANS", "CANS", plenty)
    f.add(
        "surveys",
        survey_id="V11",
        site_id="CANS",
        surveyed_on=on(10, 10),
        catch_depths_mm="2;2;2;5;5;5;5;5;5;5;5;5",
    )
    f.site("LATERALS")
    f.meter("W-LATERALS", "LATERALS", plenty)
    f.add("surveys", survey_id="V12", site_id="LATERALS", surveyed_on=on(10, 10), laterals_condition=1)
    f.site("UNUSED")
    f.log("UNUSED", lambda _d, hour: (7.0, 2.4, 60.0) if hour < 9 else (0.0, 0.0, 100.0))
    f.site("WORKED")  # as little water, but the pump runs all day for it
    f.log("WORKED", lambda _d, _h: (1.2, 2.4, 50.0))
    f.site("OVERDUE", commissioned_on=date(2026, 1, 10))
    f.meter("W-OVERDUE", "OVERDUE", plenty)
    f.site("PLANNED", commissioned_on=date(2026, 1, 10))
    f.meter("W-PLANNED", "PLANNED", plenty)
    f.add("maintenance", record_id="J5", site_id="PLANNED", kind="preventive", reported_at="2026-10-20 08:00",
          water_stopped="no", status="open")  # fmt: skip
    f.site("WELL")
    f.meter("W-WELL", "WELL", plenty)
    f.site("SHORT")
    f.meter("W-SHORT", "SHORT", lambda _d: 35.0)


def unheard(f):
    f.site("STUCK")
    f.meter("W-STUCK", "STUCK", lambda day: 0.0 if day > on(10, 20) else PLENTY)
    f.meter("E-STUCK", "STUCK", lambda _d: 15.0, quantity="energy")
    f.site("MENDED")  # it stood, and turns again
    f.meter("W-MENDED", "MENDED", lambda day: 0.0 if on(10, 10) < day < on(10, 20) else PLENTY)
    f.meter("E-MENDED", "MENDED", lambda _d: 15.0, quantity="energy")
    f.site("SILENT")
    f.meter("W-SILENT", "SILENT", plenty, step=7, until=on(9, 20))
    f.site("WEEKLY")
    f.meter("W-WEEKLY", "WEEKLY", plenty, step=7, until=on(10, 22))
    f.site("MODEM")
    f.meter("W-MODEM", "MODEM", plenty, until=on(10, 22))
    f.site("DEAD_LOG")  # the meter is still read
    f.meter("W-DEAD_LOG", "DEAD_LOG", plenty, step=7)
    f.log("DEAD_LOG", pumping, until=on(10, 10), days=30)
    f.site("NEVER")
    f.site("NOCROP", crop=None)
    f.meter("W-NOCROP", "NOCROP", plenty)
    f.site("FALLOW", crop="fallow")
    f.meter("W-FALLOW", "FALLOW", plenty)
    f.add(
        "crops",
        crop="cress",
        kc_ini=1,
        kc_mid=1,
        kc_end=1,
        ini_days=10,
        dev_days=10,
        mid_days=10,
        late_days=10,
    )
    f.site("HARVEST", crop="cress", planted_on=AS_OF + timedelta(days=5 - 39))
    f.meter("W-HARVEST", "HARVEST", plenty, until=on(10, 20))
    f.add(
        "maintenance",
        record_id="J6",
        site_id="HARVEST",
        kind="corrective",
        reported_at="2026-10-21 09:00",
        water_stopped="yes",
    )
    f.site("PAUSED")
    f.meter("W-PAUSED", "PAUSED", lambda _d: 0.0)
    f.add("pauses", site_id="PAUSED", from_on=on(8, 1), reason="dispute")
    f.site("CLOSED", decommissioned_on=on(10, 1))
    f.site("FUTURE", commissioned_on=on(12, 1))


@pytest.fixture(scope="module")
def ranking(make_field, ranked, tmp_path_factory):
    """Every site of this page, in one store."""
    f = make_field()
    for part in (stops, lifts, fields, unheard):
        part(f)
    return ranked(f.store(tmp_path_factory.mktemp("causes")))


@pytest.fixture(scope="module")
def sites(ranking, by_site):
    return by_site(ranking)


@pytest.mark.parametrize(
    ("site", "cause", "since", "words"),
    [
        ("JOB", "controller_stopped", on(10, 21), "Job J1 of 2026-10-21"),
        ("THEFT", "tamper", on(10, 21), "Job J2"),
        ("FLOWED", "none", None, "of the need was pumped"),
        ("LOG", "pump_stopped", on(10, 26), "Since 2026-10-26 the log shows sun and no water"),
        ("FAULT", "controller_stopped", on(10, 26), "Since 2026-10-26"),
        ("STILL", "pump_stopped", on(10, 20), "nothing since 2026-10-20, 11 days"),
        ("BOTH", "pump_stopped", on(10, 20), "Neither the water nor the energy meter"),
        ("TAMPER", "tamper", on(10, 30), "alarm went off on 2026-10-30."),
        ("CLEARED", "none", None, "of the need was pumped"),
        ("DRY", "source_low", on(10, 25), "ran dry on 2026-10-25"),
        ("LEVEL", "source_low", on(10, 10), "at 14.0 m; 10.0 m is usual"),
        ("STRAINER", "intake_blocked", on(10, 10), "found silt in the strainer"),
        ("FILTER", "intake_blocked", on(10, 10), "found the filter in bad condition"),
        ("SERVED", "none", None, "of the need was pumped"),
        ("SOILED", "array_soiled", on(10, 10), "graded the array 2 of 5"),
        ("WASHED", "none", None, "of the need was pumped"),
        ("FELL", "array_loss", on(10, 11), "gives 60 % of what it gave; it fell in the week from 2026-10-11"),
        ("FADED", "array_soiled", None, "faded little by little"),
        ("DEAR", "intake_blocked", None, "took 0.40 kWh in the last 21 days, 0.20 kWh before"),
        ("WORN", "pump_worn", None, "took 0.40 kWh in the last 21 days, 0.20 kWh before"),
        ("LEAK", "main_leak", None, "saw 50 % of what was pumped"),
        ("UNMETERED", "none", None, "of the need was pumped"),
        ("DOUBLED", "blocks_doubled", on(10, 20), "two blocks were open at once in 5 readings"),
        ("SPRAYS", "blocks_doubled", on(10, 10), "60 kPa instead of the usual 110 and sprays 67 % as wide"),
        ("CANS", "laterals_blocked", on(10, 10), "the low quarter got 0.47 of the mean"),
        ("LATERALS", "laterals_blocked", on(10, 10), "graded the laterals 1 of 5"),
        ("UNUSED", "water_unused", None, "A call comes before a visit"),
        ("WORKED", "none", None, "no sign says why"),
        ("OVERDUE", "service_overdue", date(2026, 1, 10), "2026-01-10, 294 days ago"),
        ("PLANNED", "service_overdue", date(2026, 1, 10), "2026-01-10, 294 days ago"),
        ("WELL", "none", None, "of the need was pumped"),
        ("SHORT", "none", None, "no sign says why"),
        ("STUCK", "meter_stuck", on(10, 20), "stood still while"),
        ("MENDED", "none", None, "of the need was pumped"),
        ("SILENT", "data_silent", on(9, 20), "last meter reading is of 2026-09-20, 41 days ago"),
        ("WEEKLY", "none", None, "of the need was pumped"),
        ("MODEM", "data_silent", on(10, 22), "last meter reading is of 2026-10-22, 9 days ago"),
        ("DEAD_LOG", "data_silent", on(10, 10), "last log is of 2026-10-10, 21 days ago"),
        ("NEVER", "data_silent", on(3, 1), "No reading and no log has come"),
        ("NOCROP", "none", None, "unknown"),
        ("PAUSED", "none", None, "paused there since 2026-08-01"),
    ],
)  # fmt: skip
def test_a_cause_is_found_with_its_evidence(sites, site, cause, since, words):
    """The rule's cause comes first, with the day and the figures in a sentence."""
    row = sites[site]
    assert (row["cause"], row["since_day"]) == (cause, since), row
    assert words in row["evidence"]


def test_every_site_in_service_is_there_and_no_other(sites):
    """One that is closed and one that is still to come are not."""
    assert "WELL" in sites
    assert not {"CLOSED", "FUTURE"} & sites.keys()


def test_every_row_is_filled(ranking):
    """Rank counts up from 1; kind, hours, cause and evidence are on every line, a known value has its 14 days."""
    assert [row["rank"] for row in ranking] == list(range(1, len(ranking) + 1))
    for row in ranking:
        assert row["visit_kind"] in {"corrective", "preventive", "training", "security", "inspection"}
        assert row["duration_h"] > 0
        assert row["evidence"].endswith(".")
        assert row["cause"] not in row["other_causes"].split(";")
        assert len(row["value_by_day"].split(";")) == (14 if row["value"] is not None else 1)


def test_a_stop_on_a_hectare_is_worth_all_of_its_days(sites):
    """A hectare that gets nothing for 14 days: 14 hectare-days; a visit on the last day averts one."""
    row = sites["JOB"]
    assert row["value"] == 14
    assert row["value_by_day"] == ";".join(str(k) for k in range(14, 0, -1))
    assert row["unmet_m3_per_day"] == pytest.approx(NEED, rel=0.15)


def test_a_crop_that_is_harvested_next_week_needs_no_water_after(sites):
    """Its last stage ends in five days: five hectare-days, none for a visit on the sixth."""
    row = sites["HARVEST"]
    assert row["value"] == 5
    assert row["value_by_day"] == "5;4;3;2;1;0;0;0;0;0;0;0;0;0"


def test_what_cannot_be_judged_is_empty_and_stands_apart(sites, ranking):
    """Without a crop on record the need is unknown: no value, after every site that has one; fallow is worth 0."""
    assert (sites["NOCROP"]["value"], sites["NOCROP"]["unmet_m3_per_day"]) == (None, None)
    assert sites["NOCROP"]["value_by_day"] == ""
    assert (sites["FALLOW"]["value"], sites["FALLOW"]["unmet_m3_per_day"]) == (0, 0)
    known = [row["value"] is not None for row in ranking]
    assert known == sorted(known, reverse=True)


def test_a_silent_site_is_worth_the_chance_that_it_stands_still(sites):
    """Its shortage is unknown and stays empty; its value is a share of 14 days, less than any stop's."""
    row = sites["NEVER"]
    assert row["unmet_m3_per_day"] is None
    assert row["data_age_days"] is None
    assert 0 < row["value"] < 5


def test_a_counter_at_rest_without_an_energy_meter_may_be_stuck(sites):
    """Both causes are told, and the visit is worth less than where the energy meter stands as well."""
    assert sites["STILL"]["other_causes"].split(";")[0] == "meter_stuck"
    assert sites["STILL"]["value"] < sites["BOTH"]["value"]


def test_a_stuck_counter_is_no_shortage(sites):
    """What it said before it stuck still tells: there was plenty."""
    assert (sites["STUCK"]["value"], sites["STUCK"]["unmet_m3_per_day"]) == (0, 0)


def test_a_stop_that_was_mended_is_no_shortage_that_goes_on(sites):
    """Three weeks without water until three days ago, plenty before and since."""
    assert sites["BACK"]["unmet_m3_per_day"] == 0


def test_a_pause_is_no_shortage(sites):
    """Where nobody wants to irrigate, no visit averts anything."""
    assert (sites["PAUSED"]["value"], sites["PAUSED"]["unmet_m3_per_day"]) == (0, 0)


def test_a_stop_is_due_within_a_week_of_its_beginning(sites):
    """The day does not move on with every new ranking; elsewhere the planned service is due."""
    assert sites["JOB"]["due_by"] == on(10, 28)
    assert sites["WELL"]["due_by"] == date(2026, 8, 28)
    assert sites["OVERDUE"]["due_by"] == date(2026, 7, 9)


def test_a_second_cause_is_told_too(sites):
    """The dearer m³ of a site with a clean strainer may still be the intake."""
    assert sites["DEAR"]["other_causes"] == "pump_worn"
