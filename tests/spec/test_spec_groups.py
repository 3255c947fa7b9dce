"""Several sites together: amounts are summed, a ratio is the ratio of sums over what is covered."""

import pytest

SITES = """
    site_id | district | commissioned_on | pump_rated_flow_m3h | households
    S1      | North    | 2026-03-01      | 50                  | 4
    S2      | North    | 2026-03-01      | 50                  | 6
    S3      | South    | 2026-03-01      | 50                  |
"""
BLOCKS = """
    site_id | block_id | area_ha
    S1      | B1       | 1
    S2      | B1       | 3
    S3      | B1       | 2
"""
METERS = """
    meter_id | site_id | quantity
    W1       | S1      | water
    W2       | S2      | water
    W3       | S3      | water
    E1       | S1      | energy
    E2       | S2      | energy
"""
READINGS = """
    meter_id | read_at          | value
    W1       | 2026-03-01 00:00 | 0
    W1       | 2026-03-08 00:00 | 100
    W2       | 2026-03-01 00:00 | 0
    W2       | 2026-03-08 00:00 | 900
    W3       | 2026-03-01 00:00 | 0
    W3       | 2026-03-08 00:00 | 200
    E1       | 2026-03-01 00:00 | 0
    E1       | 2026-03-08 00:00 | 100
    E2       | 2026-03-01 00:00 | 0
    E2       | 2026-03-08 00:00 | 300
"""
JOBS = """
    record_id | site_id | kind       | reported_at      | restored_at      | water_stopped | cost
    J1        | S1      | corrective | 2026-03-02 08:00 | 2026-03-03 08:00 | yes           | 40
    J2        | S2      | corrective | 2026-03-02 08:00 | 2026-03-05 08:00 | yes           | 50
    J3        | S2      | preventive | 2026-03-06 08:00 |                  | no            | 10
    J4        | S3      | inspection | 2026-03-06 08:00 |                  | no            |
    J5        | S1      | inspection | 2026-04-01 08:00 |                  | no            | 999
"""
WEEK = ("2026-03-01", "2026-03-07")


@pytest.fixture
def programme(measure):
    """Three sites for a week."""
    return measure(sites=SITES, blocks=BLOCKS, meters=METERS, meter_readings=READINGS, maintenance=JOBS)


def by(found, name, **how):
    return {row[name]: row for row in found.figures(*WEEK, **how)}


def test_a_districts_energy_per_m3_is_the_ratio_of_its_sums(programme):
    """1 kWh/m³ at S1, 1/3 at S2: 400 kWh over 1000 m³ are 0.4, not the mean of 0.667."""
    north = by(programme, "district", group="district")["North"]
    assert (north["water_m3"], north["energy_kwh"], north["energy_kwh_per_m3"]) == (1000, 400, 0.4)


def test_a_site_without_the_other_quantity_stays_out_of_the_ratio(programme):
    """S3 has no energy meter: its 200 m³ are in the sum, and not under the energy."""
    (row,) = programme.figures(*WEEK, group="programme")
    assert (row["water_m3"], row["energy_kwh"], row["energy_kwh_per_m3"]) == (1200, 400, 0.4)
    assert (row["water_coverage"], row["energy_coverage"]) == (1, pytest.approx(2 / 3, abs=1e-4))


def test_water_per_hectare_is_water_over_area(programme):
    """1000 m³ on 4 ha of the North."""
    north = by(programme, "district", group="district")["North"]
    assert (north["area_ha"], north["water_m3_per_ha"]) == (4, 250)


def test_cost_is_of_the_jobs_reported_in_the_period_per_m3_and_per_hectare(programme):
    """40 at S1 and 60 at S2, on 100 and 900 m³, on 1 and 3 ha; April's job is April's."""
    rows = by(programme, "site_id")
    assert (rows["S1"]["om_cost"], rows["S1"]["om_cost_per_m3"], rows["S1"]["om_cost_per_ha"]) == (
        40,
        0.4,
        40,
    )
    assert rows["S2"]["om_cost_per_m3"] == pytest.approx(60 / 900, abs=1e-4)
    assert rows["S2"]["om_cost_per_ha"] == 20
    assert [rows["S3"][name] for name in ("om_cost", "om_cost_per_m3", "om_cost_per_ha")] == [None] * 3


def test_a_groups_cost_per_m3_and_hectare_leaves_out_sites_without_a_cost(programme):
    """100 over the 1000 m³ and the 4 ha of S1 and S2; nobody knows what S3's job cost."""
    (row,) = programme.figures(*WEEK, group="programme")
    assert (row["om_cost"], row["om_cost_per_m3"], row["om_cost_per_ha"]) == (100, 0.1, 25)


def test_waiting_for_water_is_the_median_over_the_jobs_that_stopped_it(programme):
    """One day at S1, three at S2: two."""
    assert programme.figures(*WEEK, group="programme")[0]["report_to_water_days"] == 2


def test_an_agreement_takes_its_share_of_amounts_and_leaves_ratios_be(measure):
    """Half of S1 and all of S2: 950 m³; the rest, S1's other half and S3, is 250: 1200 in all."""
    found = measure(
        sites=SITES,
        blocks=BLOCKS,
        meters=METERS,
        meter_readings=READINGS,
        maintenance=JOBS,
        agreements="agreement_id\nG1",
        agreement_sites="agreement_id|site_id|share\nG1|S1|0.5\nG1|S2|",
    )
    lines = by(found, "agreement_id", group="agreement")
    assert {name: row["water_m3"] for name, row in lines.items()} == {
        "G1": 950,
        "not under an agreement": 250,
    }
    assert lines["G1"]["energy_kwh_per_m3"] == pytest.approx(350 / 950, abs=1e-4)
    assert (lines["G1"]["area_ha"], lines["G1"]["om_cost"]) == (3.5, 80)
    (whole,) = found.figures(*WEEK, group="programme")
    for name in ("area_ha", "water_m3", "energy_kwh", "om_cost", "outages"):
        assert sum(row[name] for row in lines.values() if row[name] is not None) == pytest.approx(
            whole[name]
        ), name


def test_uptime_of_a_group_is_pooled_time(programme):
    """Down a day and three days of seven each, the rest up by their meters' week: hours, not shares, are summed."""
    rows = by(programme, "site_id")
    parts = programme.rows("SELECT sum(up_h), sum(up_h + down_h) FROM site_days WHERE day <= '2026-03-07'")
    (whole,) = programme.figures(*WEEK, group="programme")
    assert whole["uptime"] == pytest.approx(parts[0][0] / parts[0][1], abs=1e-4)
    assert rows["S2"]["outages"] == rows["S1"]["outages"] == 1


def test_a_site_out_of_service_in_the_period_has_no_coverage_to_answer_for(measure):
    """S2 is commissioned in April: March's coverage is that of the others."""
    sites = SITES.replace("S2      | North    | 2026-03-01", "S2      | North    | 2026-04-01")
    found = measure(sites=sites, meters=METERS, meter_readings=READINGS)
    (row,) = found.figures(*WEEK, group="programme")
    assert (row["water_m3"], row["water_coverage"]) == (300, 1)
