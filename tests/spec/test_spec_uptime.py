"""Uptime: the share of the known service time in which a site could deliver water.

At the equator the service time is about 7:04 to 17:11 in March: a little over ten hours.
"""

import pytest

SITE = """
    site_id | pump_rated_flow_m3h | pump_rated_power_kw | commissioned_on
    S1      | 10                  | 4                   | 2026-03-01
"""
METER = "meter_id | site_id | digits\nW1 | S1 | 5"
ONE_DAY_H = pytest.approx(10.12, abs=0.02)


def log(day, hours, flow=0.0, kw=0.0, sun=600, tank=50, site="S1"):
    """Quarters of an hour that end within the hours of a day, all alike."""
    first, last = hours
    return [
        f"{site} | {day} {quarter // 4:02d}:{quarter % 4 * 15:02d} | {flow} | {kw} | {sun} | {tank}"
        for quarter in range(first * 4 + 1, last * 4 + 1)
    ]


def logs(*parts):
    head = "site_id | logged_at | flow_m3h | input_kw | irradiance_wm2 | tank_level_pct"
    return "\n".join([head, *(row for part in parts for row in part)])


def hours(found, day="2026-03-10"):
    """Service, up, down and unknown hours of a day."""
    (row,) = found.rows(f"SELECT service_h, up_h, down_h, unknown_h FROM site_days WHERE day = '{day}'")
    return [round(value, 2) for value in row]


def test_a_day_of_flow_is_up_and_the_rest_of_it_unknown(measure):
    """Flow from 8 to 12: four hours up, six unknown, uptime 1."""
    found = measure(sites=SITE, telemetry=logs(log("2026-03-10", (8, 12), flow=8, kw=3)))
    service, up, down, unknown = hours(found)
    assert (up, down) == (4, 0)
    assert service == ONE_DAY_H
    assert unknown == pytest.approx(service - 4, abs=0.01)
    (row,) = found.figures("2026-03-10", "2026-03-10")
    assert row["uptime"] == 1
    assert row["uptime_unknown"] == pytest.approx(1 - 4 / service, abs=1e-3)
    assert row["uptime_low"] == pytest.approx(4 / service, abs=1e-3)
    assert row["uptime_high"] == 1


def test_input_without_flow_is_down(measure):
    """Two hours of 3 kW and no water, then two of water: half up."""
    found = measure(
        sites=SITE,
        telemetry=logs(log("2026-03-10", (8, 10), kw=3), log("2026-03-10", (10, 12), flow=8, kw=3)),
    )
    assert hours(found)[1:3] == [2, 2]
    assert found.figures("2026-03-10", "2026-03-10")[0]["uptime"] == 0.5


def test_less_than_an_hour_of_stand_still_proves_nothing(measure):
    """Three quarters of an hour between two hours of flow."""
    parts = [log("2026-03-10", (8, 9), flow=8, kw=3), log("2026-03-10", (9, 10))[:3]]
    found = measure(sites=SITE, telemetry=logs(*parts, log("2026-03-10", (10, 11), flow=8, kw=3)))
    assert hours(found)[2] == 0


@pytest.mark.parametrize(
    ("why", "sun", "tank"),
    [("too little sun", 200, 50), ("no irradiance sensor", "", 50), ("no tank sensor", 600, "")],
)
def test_a_stand_still_proves_nothing_without_sun_and_room_in_the_tank(measure, why, sun, tank):
    """Enough sun is 250 W/m² until the log has taught it; without a sensor nobody knows."""
    found = measure(sites=SITE, telemetry=logs(log("2026-03-10", (8, 12), sun=sun, tank=tank)))
    assert hours(found)[1:3] == [0, 0], why


def test_a_stand_still_in_the_sun_with_room_in_the_tank_is_down(measure):
    """600 W/m², a half empty tank, no input: four hours down."""
    found = measure(sites=SITE, telemetry=logs(log("2026-03-10", (8, 12))))
    assert hours(found)[2] == 4


def test_a_full_tank_is_ready(measure):
    """Nothing runs, for the tank is full: up."""
    found = measure(sites=SITE, telemetry=logs(log("2026-03-10", (8, 12), tank=99)))
    assert hours(found)[1] == 4


def test_a_sites_own_start_up_irradiance_is_learnt(measure):
    """It pumps at 120 W/m² for more than 100 intervals: from then on, 200 W/m² is enough sun."""
    pumping = [log(f"2026-03-{day:02d}", (6, 16), flow=8, kw=3, sun=120) for day in range(1, 4)]
    found = measure(sites=SITE, telemetry=logs(*pumping, log("2026-03-10", (8, 12), sun=200)))
    assert hours(found)[2] == 4


def test_a_job_that_stopped_the_water_is_down_until_it_was_restored(measure):
    """From 12 to 12 o'clock of the next day: half a day each."""
    jobs = """
        record_id | site_id | reported_at      | restored_at      | water_stopped
        J1        | S1      | 2026-03-10 12:08 | 2026-03-11 12:08 | yes
        J2        | S1      | 2026-03-12 08:00 | 2026-03-12 10:00 | no
    """
    found = measure(sites=SITE, maintenance=jobs)
    assert hours(found)[2] == pytest.approx(5.06, abs=0.05)
    assert hours(found, "2026-03-11")[2] == pytest.approx(5.06, abs=0.05)
    assert hours(found, "2026-03-12")[2] == 0


def test_overlapping_jobs_count_once(measure):
    """Two jobs over the same four hours: four hours down, one outage."""
    jobs = """
        record_id | site_id | reported_at      | restored_at      | water_stopped
        J1        | S1      | 2026-03-10 08:00 | 2026-03-10 11:00 | yes
        J2        | S1      | 2026-03-10 10:00 | 2026-03-10 12:00 | yes
    """
    found = measure(sites=SITE, maintenance=jobs)
    assert hours(found)[2] == 4
    (row,) = found.figures("2026-03-01", "2026-03-31")
    assert (row["outages"], row["mean_down_h"]) == (1, 4)


def test_flow_is_stronger_than_a_job_and_a_job_than_a_full_tank(measure):
    """The job runs from 8 to 16; the log shows flow from 8 to 10 and a full tank from 10 to 12."""
    jobs = """
        record_id | site_id | reported_at      | restored_at      | water_stopped
        J1        | S1      | 2026-03-10 08:00 | 2026-03-10 16:00 | yes
    """
    told = logs(log("2026-03-10", (8, 10), flow=8, kw=3), log("2026-03-10", (10, 12), tank=99))
    found = measure(sites=SITE, maintenance=jobs, telemetry=told)
    assert hours(found)[1:3] == [2, 6]


def test_a_stand_still_in_the_log_is_stronger_than_a_meter(measure):
    """The counter went on over the day, but four hours of it are shown as down."""
    readings = "meter_id|read_at|value\nW1|2026-03-10 00:00|100\nW1|2026-03-11 00:00|130"
    found = measure(
        sites=SITE, meters=METER, meter_readings=readings, telemetry=logs(log("2026-03-10", (8, 12)))
    )
    service, up, down, unknown = hours(found)
    assert down == 4
    assert up == pytest.approx(service - 4, abs=0.01)
    assert unknown == 0


def test_a_job_without_an_end_lasts_until_the_log_shows_water(measure):
    """Nobody wrote when it was restored; on the third day there is flow. A full tank is no flow."""
    jobs = "record_id|site_id|reported_at|water_stopped\nJ1|S1|2026-03-10 12:00|yes"
    told = logs(log("2026-03-11", (8, 9), tank=99), log("2026-03-12", (8, 12), flow=8, kw=3))
    found = measure(sites=SITE, maintenance=jobs, telemetry=told)
    assert hours(found, "2026-03-11")[1:3] == [0, ONE_DAY_H]
    assert hours(found, "2026-03-12")[1:3] == [4, pytest.approx(0.93, abs=0.05)]
    assert found.rows("SELECT strftime(to_at, '%m-%d %H:%M') FROM stopped_jobs") == [("03-12 08:00",)]


def test_a_job_without_an_end_lasts_until_a_meter_counts_again(measure):
    """The week that holds the report proves nothing; the next one begins with water."""
    jobs = "record_id|site_id|reported_at|water_stopped\nJ1|S1|2026-03-10 12:00|yes"
    readings = "meter_id|read_at|value\n" + "\n".join(
        f"W1|2026-03-{day:02d} 12:00|{value}" for day, value in [(8, 100), (15, 130), (22, 430)]
    )
    found = measure(sites=SITE, meters=METER, meter_readings=readings, maintenance=jobs)
    assert found.rows("SELECT strftime(to_at, '%m-%d') FROM stopped_jobs") == [("03-15",)]


def test_a_job_without_an_end_lasts_to_the_end_of_the_period(measure):
    """Reported on the 30th and heard of no more: April is down from its first day to its last."""
    jobs = "record_id|site_id|reported_at|water_stopped\nJ1|S1|2026-03-30 12:00|yes"
    found = measure(sites=SITE, maintenance=jobs)
    (april,) = found.figures("2026-04-01", "2026-04-30")
    assert (april["uptime"], april["uptime_unknown"], april["outages_open"]) == (0, 0, 1)
    march, again = found.figures("2026-03-01", "2026-04-30", by_month=True)
    assert (march["outages"], again["outages"]) == (1, 0)


def test_time_after_the_last_word_of_a_site_is_unknown(measure):
    """Flow on the 10th only: one day of 31 is partly known, nine tenths and more of the month is not."""
    found = measure(sites=SITE, telemetry=logs(log("2026-03-10", (7, 18), flow=8, kw=3)))
    (row,) = found.figures("2026-03-01", "2026-03-31")
    assert row["uptime"] == 1
    assert row["uptime_unknown"] == pytest.approx(30 / 31, abs=2e-3)


def test_a_site_that_says_nothing_has_all_its_time_unknown(measure):
    """No uptime, but bounds: 0 and 1."""
    (row,) = measure(sites=SITE).figures("2026-03-01", "2026-03-31")
    assert row["uptime"] is None
    assert (row["uptime_unknown"], row["uptime_low"], row["uptime_high"]) == (1, 0, 1)


def test_a_meter_with_water_is_up_for_two_days_and_for_water_over_rated_flow_beyond(measure):
    """30 m³ in 24 h: up. 70 m³ over a week at 10 m³/h: one hour a day up, the rest unknown."""
    readings = """
        meter_id | read_at          | value
        W1       | 2026-03-09 00:00 | 70
        W1       | 2026-03-10 00:00 | 100
        W1       | 2026-03-17 00:00 | 170
    """
    found = measure(sites=SITE, meters=METER, meter_readings=readings)
    service, up, _, unknown = hours(found, "2026-03-09")
    assert (up, unknown) == (service, 0)
    assert hours(found, "2026-03-12")[1:3] == [1, 0]


def test_a_meter_without_water_proves_nothing(measure):
    """0 m³ in a day: perhaps nobody irrigated."""
    readings = "meter_id|read_at|value\nW1|2026-03-10 00:00|100\nW1|2026-03-11 00:00|100"
    found = measure(sites=SITE, meters=METER, meter_readings=readings)
    assert hours(found)[1:3] == [0, 0]


def test_pauses_are_out_of_service_time(measure):
    """A flood from the 10th to the 12th: no hours of service, so none unknown."""
    pauses = "site_id|from_on|to_on|reason\nS1|2026-03-10|2026-03-12|flood"
    found = measure(sites=SITE, pauses=pauses, telemetry=logs(log("2026-03-20", (8, 12), flow=8, kw=3)))
    assert hours(found) == [0, 0, 0, 0]
    (row,) = found.figures("2026-03-10", "2026-03-12")
    assert row["uptime_unknown"] is None


def test_outages_with_a_gap_under_an_hour_are_one(measure):
    """Down 8–10 and 10:45–12: one outage of 3.25 h; a gap of two hours makes two."""
    jobs = """
        record_id | site_id | reported_at      | restored_at      | water_stopped
        J1        | S1      | 2026-03-10 08:00 | 2026-03-10 10:00 | yes
        J2        | S1      | 2026-03-10 10:45 | 2026-03-10 12:00 | yes
        J3        | S1      | 2026-03-10 14:00 | 2026-03-10 15:00 | yes
    """
    found = measure(sites=SITE, maintenance=jobs)
    assert [h for (h,) in found.rows("SELECT down_h FROM outages ORDER BY from_at")] == [3.25, 1]


def test_a_night_does_not_part_an_outage(measure):
    """From noon to noon there are ten hours of service, and the gap over the night is none of them."""
    jobs = (
        "record_id|site_id|reported_at|restored_at|water_stopped\nJ1|S1|2026-03-10 12:00|2026-03-11 12:00|yes"
    )
    found = measure(sites=SITE, maintenance=jobs)
    assert found.rows("SELECT count(*), sum(down_h) > 10 FROM outages") == [(1, True)]


def test_an_outage_of_which_the_log_tells_no_end_is_open(measure):
    """It stood still until the log ends: nobody knows more, so it is still open."""
    found = measure(sites=SITE, telemetry=logs(log("2026-03-10", (8, 12))))
    assert found.rows("SELECT to_at FROM outages") == [(None,)]
    (april,) = found.figures("2026-04-01", "2026-04-30")
    assert (april["outages"], april["outages_open"], april["mean_down_h"]) == (0, 1, None)


def test_a_restored_job_is_an_outage_that_ended(measure):
    """Nothing else is known of the site, but the job says when the water was back."""
    jobs = (
        "record_id|site_id|reported_at|restored_at|water_stopped\nJ1|S1|2026-03-10 08:00|2026-03-11 08:00|yes"
    )
    found = measure(sites=SITE, maintenance=jobs)
    (row,) = found.figures("2026-03-01", "2026-03-31")
    assert (row["outages"], row["mean_down_h"]) == (1, pytest.approx(10, abs=0.1))
    assert row["report_to_water_days"] == 1


def test_mean_up_time_is_operating_time_over_failures(measure):
    """Six hours up and one outage of two: 6 h between failures, 2 h to water."""
    told = logs(
        log("2026-03-10", (8, 11), flow=8, kw=3),
        log("2026-03-10", (11, 13), kw=3),
        log("2026-03-10", (13, 16), flow=8, kw=3),
    )
    (row,) = measure(sites=SITE, telemetry=told).figures("2026-03-01", "2026-03-31")
    assert (row["mean_up_h"], row["mean_down_h"], row["uptime"]) == (6, 2, 0.75)
