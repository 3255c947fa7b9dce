"""Water and energy of a site: from its meters, else from its log, shared evenly over time."""

import pytest

SITE = """
    site_id | pump_rated_flow_m3h | pump_rated_power_kw | total_dynamic_head_m | commissioned_on
    S1      | 10                  | 4                   | 30                   | 2026-03-01
"""
MARCH = ("2026-03-01", "2026-03-31")


def readings(**meters):
    """Readings at midnight: meter=[(month-day, value), …]."""
    rows = [f"{meter} | 2026-{day} 00:00 | {value}" for meter, told in meters.items() for day, value in told]
    return "meter_id | read_at | value\n" + "\n".join(rows)


def hour_log(day, hours, flow, kw):
    """Whole hours of a log, in quarters."""
    return [
        f"S1 | 2026-03-{day:02d} {quarter // 4:02d}:{quarter % 4 * 15:02d} | {flow} | {kw}"
        for quarter in range(hours[0] * 4 + 1, hours[1] * 4 + 1)
    ]


def logs(*parts):
    return "\n".join(["site_id | logged_at | flow_m3h | input_kw", *(row for part in parts for row in part)])


def test_an_interval_across_the_edge_of_a_period_is_shared_over_its_time(measure):
    """100 m³ in ten days, six of them in March: 60 and 40."""
    found = measure(
        sites=SITE,
        meters="meter_id|site_id\nW1|S1",
        meter_readings=readings(W1=[("03-26", 0), ("04-05", 100)]),
    )
    march, april = found.figures("2026-03-01", "2026-04-30", by_month=True)
    assert (march["water_m3"], april["water_m3"]) == (60, 40)
    assert march["water_coverage"] == pytest.approx(6 / 31, abs=1e-4)
    assert found.figures("2026-03-01", "2026-04-30")[0]["water_m3"] == 100


def test_a_stamp_of_midnight_is_the_end_of_the_day_before(measure):
    """Read at midnight after the 31st: the site's days end on the 31st."""
    found = measure(
        sites=SITE,
        meters="meter_id|site_id\nW1|S1",
        meter_readings=readings(W1=[("03-01", 0), ("04-01", 310)]),
    )
    assert found.rows("SELECT max(day)::VARCHAR FROM site_days") == [("2026-03-31",)]
    (row,) = found.figures(*MARCH)
    assert (row["water_m3"], row["water_coverage"]) == (310, 1)


def test_midnight_is_the_sites_own(measure):
    """Two hours east of Greenwich the day ends at 22 h UTC; a quarter of an hour of flow lies on each side."""
    sites = "site_id | timezone | commissioned_on\nS1 | Africa/Blantyre | 2026-03-01"
    log = logs(
        [f"S1 | 2026-03-10 {clock} | 4 | 1" for clock in ("23:45",)]
        + ["S1 | 2026-03-11 00:00 | 4 | 1", "S1 | 2026-03-11 00:15 | 4 | 1"]
    )
    found = measure(sites=sites, telemetry=log)
    assert found.rows("SELECT day::VARCHAR, water_m3 FROM site_days WHERE water_m3 > 0 ORDER BY 1") == [
        ("2026-03-10", 2.0),
        ("2026-03-11", 1.0),
    ]


def test_months_sum_to_their_period(measure):
    """Three months of weekly readings, and 90 days."""
    told = [("03-01", 0), ("03-08", 70), ("03-29", 280), ("04-19", 490), ("05-10", 700), ("05-31", 910)]
    found = measure(sites=SITE, meters="meter_id|site_id\nW1|S1", meter_readings=readings(W1=told))
    months = found.figures("2026-03-01", "2026-05-31", by_month=True)
    assert sum(row["water_m3"] for row in months) == pytest.approx(910)
    assert found.figures("2026-03-01", "2026-05-31")[0]["water_m3"] == 910


def test_an_interval_of_more_than_45_days_feeds_no_month_but_a_longer_period(measure):
    """61 days: March and April know nothing; both together know all of it."""
    found = measure(
        sites=SITE,
        meters="meter_id|site_id\nW1|S1",
        meter_readings=readings(W1=[("03-01", 0), ("05-01", 610)]),
    )
    march, april = found.figures("2026-03-01", "2026-04-30", by_month=True)
    assert (march["water_m3"], march["water_coverage"], april["water_m3"]) == (None, 0, None)
    assert march["longest_interval_days"] == 61
    (both,) = found.figures("2026-03-01", "2026-04-30")
    assert (both["water_m3"], both["water_coverage"]) == (610, 1)


def test_a_long_interval_of_a_block_meter_counts_in_a_long_period_too(measure):
    """61 days at a block: no month has it, both together do."""
    found = measure(
        sites=SITE,
        blocks="site_id\nS1",
        meters="meter_id|site_id|block_id\nW1|S1|\nK1|S1|B1",
        meter_readings=readings(W1=[("03-01", 0), ("03-08", 70)], K1=[("03-01", 0), ("05-01", 610)]),
    )
    months = found.figures("2026-03-01", "2026-04-30", by_month=True)
    assert [row["water_to_blocks_m3"] for row in months] == [None, None]
    assert found.figures("2026-03-01", "2026-04-30")[0]["water_to_blocks_m3"] == 610


def test_several_source_meters_are_summed_and_one_without_an_interval_uncovers_the_time(measure):
    """100 + 50 m³ in the first week; in the second one meter was not read."""
    told = readings(
        W1=[("03-01", 0), ("03-08", 100), ("03-15", 200), ("03-22", 300)],
        W2=[("03-01", 0), ("03-08", 50), ("03-15", 51), ("03-22", 60)],
    )
    told = told.replace("W2 | 2026-03-15 00:00 | 51", "W2 | 2026-03-15 00:00 | 90051")
    found = measure(sites=SITE, meters="meter_id|site_id|digits\nW1|S1|6\nW2|S1|6", meter_readings=told)
    assert found.figures("2026-03-01", "2026-03-07")[0]["water_m3"] == 150
    whole = found.figures("2026-03-01", "2026-03-21")[0]
    assert whole["water_m3"] == 360  # the reading set aside leaves one interval of two weeks


def test_a_source_meter_that_nobody_read_leaves_its_time_uncovered(measure):
    """Two source meters, one never read: what both counted is unknown, from the day that it was installed."""
    told = readings(W1=[("03-01", 0), ("03-08", 70), ("03-15", 140)])
    meters = "meter_id|site_id|installed_on\nW1|S1|\nW2|S1|2026-03-08"
    found = measure(sites=SITE, meters=meters, meter_readings=told)
    first, second = found.figures("2026-03-01", "2026-03-07")[0], found.figures("2026-03-08", "2026-03-14")[0]
    assert (first["water_m3"], first["water_coverage"]) == (70, 1)
    assert (second["water_m3"], second["water_coverage"]) == (None, 0)


def test_block_meters_add_up_to_a_site_only_if_every_planted_block_has_one(measure):
    """Two blocks, 30 and 20 m³: 50. With a third block without a meter, the source is unknown."""
    tables = {
        "meters": "meter_id|site_id|block_id\nK1|S1|B1\nK2|S1|B2",
        "meter_readings": readings(K1=[("03-01", 0), ("03-08", 30)], K2=[("03-01", 0), ("03-08", 20)]),
    }
    blocks = "site_id|block_id\nS1|B1\nS1|B2"
    (two,) = measure(sites=SITE, blocks=blocks, **tables).figures("2026-03-01", "2026-03-07")
    assert (two["water_m3"], two["water_to_blocks_m3"], two["water_coverage"]) == (50, 50, 1)
    (three,) = measure(sites=SITE, blocks=blocks + "\nS1|B3", **tables).figures("2026-03-01", "2026-03-07")
    assert (three["water_m3"], three["water_to_blocks_m3"], three["water_coverage"]) == (None, 50, 0)


def test_a_source_meter_is_not_doubled_by_block_meters(measure):
    """100 m³ at the source, 80 at the block."""
    tables = {
        "meters": "meter_id|site_id|block_id\nW1|S1|\nK1|S1|B1",
        "meter_readings": readings(W1=[("03-01", 0), ("03-08", 100)], K1=[("03-01", 0), ("03-08", 80)]),
    }
    (row,) = measure(sites=SITE, blocks="site_id\nS1", **tables).figures("2026-03-01", "2026-03-07")
    assert (row["water_m3"], row["water_to_blocks_m3"]) == (100, 80)


def test_the_log_stands_in_where_no_meter_speaks(measure):
    """Four hours at 5 m³/h and 2 kW: 20 m³, 8 kWh, over four hours of a day."""
    (row,) = measure(sites=SITE, telemetry=logs(hour_log(10, (8, 12), 5, 2))).figures(
        "2026-03-10", "2026-03-10"
    )
    assert (row["water_m3"], row["energy_kwh"], row["energy_kwh_per_m3"]) == (20, 8, 0.4)
    assert row["water_coverage"] == pytest.approx(4 / 24, abs=1e-4)


def test_a_valid_meter_interval_goes_before_the_log(measure):
    """The counter says 24 m³ in the day, the log 20: 24."""
    found = measure(
        sites=SITE,
        meters="meter_id|site_id\nW1|S1",
        meter_readings=readings(W1=[("03-10", 0), ("03-11", 24)]),
        telemetry=logs(hour_log(10, (8, 12), 5, 2)),
    )
    assert found.figures("2026-03-10", "2026-03-10")[0]["water_m3"] == 24


def test_nothing_is_extrapolated_over_a_gap(measure):
    """A logged day, a week of silence, a logged day: 40 m³, and the week is not covered."""
    found = measure(
        sites=SITE,
        telemetry=logs(hour_log(2, (0, 24), 5 / 3, 1), hour_log(10, (0, 24), 5 / 3, 1)).replace(
            "24:00", "23:59"
        ),
    )
    (row,) = found.figures("2026-03-01", "2026-03-31")
    assert row["water_m3"] == pytest.approx(80, abs=0.1)
    assert row["water_coverage"] == pytest.approx(2 / 31, abs=1e-3)


def test_energy_per_m3_counts_the_time_that_both_cover(measure):
    """Water for two weeks, energy for the second only: 100 kWh over its 200 m³."""
    meters = "meter_id|site_id|quantity\nW1|S1|water\nE1|S1|energy"
    told = readings(W1=[("03-01", 0), ("03-08", 300), ("03-15", 500)], E1=[("03-08", 0), ("03-15", 100)])
    (row,) = measure(sites=SITE, meters=meters, meter_readings=told).figures(*MARCH)
    assert (row["water_m3"], row["energy_kwh"], row["energy_kwh_per_m3"]) == (500, 100, 0.5)


@pytest.mark.parametrize("carries", ["pump_and_other", "array"])
def test_energy_per_m3_is_empty_unless_the_meter_carries_the_pump_alone(measure, carries):
    """What else it carries would be counted as lifting."""
    meters = f"meter_id|site_id|quantity|carries\nW1|S1|water|\nE1|S1|energy|{carries}"
    told = readings(W1=[("03-01", 0), ("03-08", 300)], E1=[("03-01", 0), ("03-08", 100)])
    (row,) = measure(sites=SITE, meters=meters, meter_readings=told).figures(*MARCH)
    assert (row["energy_kwh"], row["energy_kwh_per_m3"], row["lift_efficiency"]) == (100, None, None)


def test_lift_efficiency_is_hydraulic_over_electrical_energy(measure):
    """100 m³ by 30 m are 8.172 kWh of water (2.724 Wh lifts 1 m³ by 1 m); of 20 kWh that is 0.4086."""
    meters = "meter_id|site_id|quantity\nW1|S1|water\nE1|S1|energy"
    told = readings(W1=[("03-01", 0), ("03-08", 100)], E1=[("03-01", 0), ("03-08", 20)])
    (row,) = measure(sites=SITE, meters=meters, meter_readings=told).figures(*MARCH)
    assert row["lift_efficiency"] == 0.4086


def test_a_lower_pumping_water_level_raises_the_head_for_sixty_days(measure):
    """First survey 12 m, the one in March 15 m: H is 33 m; after sixty days it is 30 m again."""
    meters = "meter_id|site_id|quantity\nW1|S1|water\nE1|S1|energy"
    told = readings(
        W1=[("03-11", 0), ("03-18", 100), ("06-01", 100), ("06-08", 200)],
        E1=[("03-11", 0), ("03-18", 20), ("06-01", 20), ("06-08", 40)],
    )
    surveys = "survey_id|site_id|surveyed_on|pumping_water_level_m\nV1|S1|2026-01-05|12\nV2|S1|2026-03-10|15"
    found = measure(sites=SITE, meters=meters, meter_readings=told, surveys=surveys)
    assert found.figures("2026-03-11", "2026-03-17")[0]["lift_efficiency"] == pytest.approx(
        0.4086 * 1.1, abs=1e-4
    )
    assert found.figures("2026-06-01", "2026-06-07")[0]["lift_efficiency"] == 0.4086


def test_coverage_counts_the_days_of_service(measure):
    """Commissioned on the 11th, taken out of service on the 21st: ten days, all of them known."""
    site = "site_id|commissioned_on|decommissioned_on\nS1|2026-03-11|2026-03-21"
    told = readings(W1=[("03-11", 0), ("03-21", 100)])
    (row,) = measure(sites=site, meters="meter_id|site_id\nW1|S1", meter_readings=told).figures(*MARCH)
    assert (row["water_m3"], row["water_coverage"]) == (100, 1)
