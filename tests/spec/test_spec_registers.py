"""Registers: what a counter's readings can be trusted for.

The pump is rated at 10 m³/h. With twelve hours of light and the margin of 1.25 it can do some
150 m³ a day, some 1060 m³ a week; the usual week here is 300 m³.
"""

from datetime import UTC, datetime, timedelta

import pytest

SITE = """
    site_id | pump_rated_flow_m3h | commissioned_on
    S1      | 10                  | 2026-03-01
"""
METER = """
    meter_id | site_id | digits
    W1       | S1      | 5
"""
SUNDAYS = [f"2026-03-{day:02d}" for day in range(1, 32, 7)] + [
    f"2026-04-{day:02d}" for day in range(5, 30, 7)
]


def weekly(*values, meter="W1"):
    """Readings of a meter on each Sunday of March and April, at noon."""
    rows = [f"{meter} | {day} 12:00 | {value}" for day, value in zip(SUNDAYS, values, strict=False)]
    return "meter_id | read_at | value\n" + "\n".join(rows)


def verdicts(found, meter="W1"):
    return [(amount, verdict) for _, amount, verdict in found.intervals(meter)]


def test_a_rollover_counts_and_an_impossible_step_does_not(measure):
    """Five digits roll over; 3988 m³ in a day is beyond a pump of 10 m³/h."""
    found = measure(
        sites=SITE,
        meters=METER,
        meter_readings="""
            meter_id | read_at          | value
            W1       | 2026-03-01 07:00 | 99990
            W1       | 2026-03-02 07:00 | 12
            W1       | 2026-03-03 07:00 | 4000
        """,
    )
    assert found.intervals("W1")[0] == ("03-02 07:00", 22.0, "rollover")
    assert found.intervals("W1")[1][1] is None


def test_ordinary_steps_are_the_differences_of_successive_readings(measure):
    """1000, 1300, 1500: 300 and 200 m³; March has 500 over two of its weeks."""
    found = measure(sites=SITE, meters=METER, meter_readings=weekly(1000, 1300, 1500))
    assert verdicts(found) == [(300, "ordinary"), (200, "ordinary")]
    (row,) = found.figures("2026-03-01", "2026-03-31")
    assert row["water_m3"] == 500
    assert row["water_coverage"] == pytest.approx(14 / 31, abs=1e-4)
    assert row["longest_interval_days"] == 7


def test_an_evident_register_rolls_over_without_known_digits(measure):
    """9900 to 200 at 300 m³ a week: four digits went round."""
    meters = "meter_id | site_id\nW1 | S1"
    found = measure(sites=SITE, meters=meters, meter_readings=weekly(9300, 9600, 9900, 200, 500))
    assert verdicts(found)[2] == (300, "rollover")


def test_a_wrapped_step_far_beyond_its_neighbours_is_no_rollover(measure):
    """9000 to 700 would be 1700 m³ where 300 are usual: a reset, and nothing is counted."""
    meters = "meter_id | site_id | digits\nW1 | S1 | 4"
    values = weekly(8100, 8400, 8700, 9000, 300, 600, 900)
    found = measure(sites=SITE, meters=meters, meter_readings=values)
    assert verdicts(found)[3] == (None, "reset")
    assert [amount for amount, _ in verdicts(found)] == [300, 300, 300, None, 300, 300]


def test_a_reset_under_the_same_id_goes_on_from_where_it_is(measure):
    """5300 to 40: what ran through meanwhile is unknown, what comes after is not."""
    found = measure(sites=SITE, meters=METER, meter_readings=weekly(4700, 5000, 5300, 40, 340, 640))
    assert verdicts(found) == [
        (300, "ordinary"),
        (300, "ordinary"),
        (None, "reset"),
        (300, "ordinary"),
        (300, "ordinary"),
    ]


def test_the_reset_week_is_not_covered_and_not_extrapolated(measure):
    """Five weeks, one of them unknown: 28 of 35 days, 1200 m³."""
    found = measure(sites=SITE, meters=METER, meter_readings=weekly(4700, 5000, 5300, 40, 340, 640))
    (row,) = found.figures("2026-03-01", "2026-04-05")
    assert row["water_m3"] == 1200
    assert row["water_coverage"] == pytest.approx(28 / 36, abs=1e-4)


def test_a_replaced_meters_registers_are_not_mixed(measure):
    """The old one ends at 5300, the new one begins at 0 on the same noon: 600 and 300 m³."""
    meters = """
        meter_id | site_id | digits | installed_on | removed_on
        W1       | S1      | 5      | 2026-03-01   | 2026-03-15
        W2       | S1      | 5      | 2026-03-15   |
    """
    readings = weekly(4700, 5000, 5300) + "\nW2 | 2026-03-15 12:00 | 0\nW2 | 2026-03-22 12:00 | 300"
    found = measure(sites=SITE, meters=meters, meter_readings=readings)
    (row,) = found.figures("2026-03-01", "2026-03-31")
    assert row["water_m3"] == 900
    assert row["water_coverage"] == pytest.approx(21 / 31, abs=1e-4)


def test_a_reading_before_installation_or_after_removal_counts_nowhere(measure):
    """Read on the 22nd, a week after it was taken down."""
    meters = "meter_id | site_id | digits | removed_on\nW1 | S1 | 5 | 2026-03-15"
    found = measure(sites=SITE, meters=meters, meter_readings=weekly(4700, 5000, 5300, 5310))
    assert verdicts(found)[-1] == (None, "outside_service")
    assert found.figures("2026-03-01", "2026-03-31")[0]["water_m3"] == 600


def test_a_litre_sheet_typed_as_m3_is_set_aside(measure):
    """5 300 000 fits only as a thousandth; the two weeks round it count as one interval."""
    found = measure(sites=SITE, meters=METER, meter_readings=weekly(4700, 5000, 5300000, 5600, 5900))
    assert (None, "litres_as_m3") in verdicts(found)
    assert (600, "ordinary") in verdicts(found)


def test_a_sheet_of_ten_times_too_much_is_set_aside(measure):
    """Three readings in a row with the red decimal written as a whole digit."""
    values = weekly(4400, 4700, 50000, 53000, 56000, 5900, 6200)
    found = measure(sites=SITE, meters=METER, meter_readings=values)
    assert [v for _, v in verdicts(found)].count("ten_times") == 3
    assert (1200, "ordinary") in verdicts(found)


def test_transposed_digits_are_set_aside(measure):
    """5300 was written as 3500: an error of the hand, not a rollover and not a reset."""
    found = measure(sites=SITE, meters=METER, meter_readings=weekly(4700, 5000, 3500, 5600, 5900))
    assert (None, "transposed") in verdicts(found)
    assert (600, "ordinary") in verdicts(found)
    assert found.figures("2026-03-01", "2026-04-05")[0]["water_m3"] == 1200


def test_a_missing_digit_is_set_aside(measure):
    """5300 was written as 530."""
    found = measure(sites=SITE, meters=METER, meter_readings=weekly(4700, 5000, 530, 5600, 5900))
    assert (None, "digit_missing") in verdicts(found)
    assert (600, "ordinary") in verdicts(found)


def test_a_small_step_back_of_a_re_typed_reading_is_no_rollover(measure):
    """5000, 4998, 5300: the reading of 4998 is an error of the hand; 300 m³ ran through."""
    found = measure(sites=SITE, meters=METER, meter_readings=weekly(4700, 5000, 4998, 5300, 5600))
    assert "rollover" not in [verdict for _, verdict in verdicts(found)]
    assert found.figures("2026-03-01", "2026-03-31")[0]["water_m3"] == pytest.approx(900, abs=2)


def test_a_step_without_a_rated_flow_is_held_to_the_meters_own_highest_rate(measure):
    """300 m³ a week are usual; 5000 m³ in one are not counted."""
    site = "site_id | commissioned_on\nS1 | 2026-03-01"
    values = weekly(1000, 1300, 1600, 1900, 6900, 7200, 7500, 7800)
    found = measure(sites=site, meters=METER, meter_readings=values)
    assert (None, "impossible") in verdicts(found)
    assert [amount for amount, _ in verdicts(found)].count(300) == 6


def test_a_stuck_counter_is_not_covered_while_the_log_shows_flow(measure):
    """It stood on 1300 for a week in which the log gave 5 m³/h for an hour."""
    log = "site_id | logged_at | flow_m3h | input_kw\n" + "\n".join(
        f"S1 | 2026-03-10 {hour:02d}:{minute:02d} | {5 if hour == 12 else 0} | 1"
        for hour in range(11, 14)
        for minute in (0, 15, 30, 45)
    )
    found = measure(sites=SITE, meters=METER, meter_readings=weekly(1000, 1300, 1300, 1600), telemetry=log)
    assert verdicts(found) == [(300, "ordinary"), (None, "stuck"), (300, "ordinary")]
    (row,) = found.figures("2026-03-08", "2026-03-15")
    assert row["water_m3"] == pytest.approx(300 / 14 + 5 + 300 / 14, abs=0.05)  # the log stands in


def test_a_stuck_counter_is_not_covered_while_energy_is_used(measure):
    """No water, but 60 kWh in a week as in all others: the counter is stuck."""
    meters = METER + "E1 | S1 | \n"
    meters = """
        meter_id | site_id | quantity | digits
        W1       | S1      | water    | 5
        E1       | S1      | energy   | 5
    """
    readings = weekly(1000, 1300, 1300, 1600) + "\n" + weekly(10, 70, 130, 190, meter="E1").split("\n", 1)[1]
    found = measure(sites=SITE, meters=meters, meter_readings=readings)
    assert verdicts(found) == [(300, "ordinary"), (None, "stuck"), (300, "ordinary")]
    assert found.figures("2026-03-08", "2026-03-14")[0]["water_coverage"] == pytest.approx(0.5 / 7, abs=1e-4)


BLOCK_METERS = """
    meter_id | site_id | quantity | digits | block_id
    W1       | S1      | water    | 5      |
    B1       | S1      | water    | 5      | B1
"""


@pytest.mark.parametrize(
    ("tank_m3", "verdict"), [("10", (None, "stuck")), ("250", (0, "ordinary")), ("", (None, "stuck"))]
)
def test_a_stuck_counter_is_not_covered_while_block_meters_count(measure, tank_m3, verdict):
    """The source stood on 1300 for two weeks; a block counted 200 m³ meanwhile, more than a tank of 10 m³ gives."""
    site = (
        f"site_id | commissioned_on | pump_rated_flow_m3h | tank_volume_m3\nS1 | 2026-03-01 | 12 | {tank_m3}"
    )
    blocks = weekly(0, 80, 180, 280, 380, meter="B1").split("\n", 1)[1]
    readings = weekly(1000, 1300, 1300, 1300, 1600) + "\n" + blocks
    found = measure(sites=site, blocks="site_id\nS1", meters=BLOCK_METERS, meter_readings=readings)
    assert verdicts(found) == [(300, "ordinary"), verdict, verdict, (300, "ordinary")]


def test_a_second_pumps_water_does_not_make_the_first_counter_stuck(measure):
    """The block drank what the other source meter counted."""
    meters = BLOCK_METERS + "W2 | S1 | water | 5 | \n"
    others = [
        weekly(0, 80, 180, 280, 380, meter="B1").split("\n", 1)[1],
        weekly(0, 90, 200, 310, 420, meter="W2").split("\n", 1)[1],
    ]
    readings = "\n".join([weekly(1000, 1300, 1300, 1300, 1600), *others])
    found = measure(sites=SITE, blocks="site_id\nS1", meters=meters, meter_readings=readings)
    assert verdicts(found)[1:3] == [(0, "ordinary"), (0, "ordinary")]


def test_a_counter_that_stood_still_while_nothing_ran_has_counted_nothing(measure):
    """Neither water nor energy: 0 m³, and the week is covered."""
    meters = """
        meter_id | site_id | quantity | digits
        W1       | S1      | water    | 5
        E1       | S1      | energy   | 5
    """
    readings = weekly(1000, 1300, 1300, 1600) + "\n" + weekly(10, 70, 71, 130, meter="E1").split("\n", 1)[1]
    found = measure(sites=SITE, meters=meters, meter_readings=readings)
    assert verdicts(found)[1] == (0, "ordinary")


def test_energy_for_lights_does_not_make_a_counter_stuck(measure):
    """The energy meter carries more than the pump: 30 kWh without water prove nothing."""
    meters = """
        meter_id | site_id | quantity | digits | carries
        W1       | S1      | water    | 5      |
        E1       | S1      | energy   | 5      | pump_and_other
    """
    readings = weekly(1000, 1300, 1300, 1600) + "\n" + weekly(10, 70, 100, 160, meter="E1").split("\n", 1)[1]
    found = measure(sites=SITE, meters=meters, meter_readings=readings)
    assert verdicts(found)[1] == (0, "ordinary")


def test_an_energy_counter_that_stands_still_while_water_runs_is_stuck(measure):
    """300 m³ in a week, as in all others, and no kWh."""
    meters = """
        meter_id | site_id | quantity | digits
        W1       | S1      | water    | 5
        E1       | S1      | energy   | 5
    """
    readings = weekly(1000, 1300, 1600, 1900) + "\n" + weekly(10, 70, 70, 130, meter="E1").split("\n", 1)[1]
    found = measure(sites=SITE, meters=meters, meter_readings=readings)
    assert verdicts(found, "E1") == [(60, "ordinary"), (None, "stuck"), (60, "ordinary")]


def test_a_meter_in_litres_and_one_in_mwh_are_converted(measure):
    """300 000 l are 300 m³; 1 MWh is 1000 kWh."""
    meters = """
        meter_id | site_id | quantity | digits | unit
        W1       | S1      | water    | 8      | l
        E1       | S1      | energy   | 5      | MWh
    """
    site = "site_id | pump_rated_flow_m3h | pump_rated_power_kw\nS1 | 10 | 20"
    readings = weekly(1000000, 1300000) + "\n" + weekly(7, 8, meter="E1").split("\n", 1)[1]
    found = measure(sites=site, meters=meters, meter_readings=readings)
    (row,) = found.figures("2026-03-01", "2026-03-31")
    assert (row["water_m3"], row["energy_kwh"]) == (300, 1000)


def test_a_night_counts_on_an_energy_meter_that_carries_lights(measure):
    """3 kWh between sunset and sunrise: the pump can't have used them, the lights can."""
    meters = "meter_id | site_id | quantity | carries\nE1 | S1 | energy | pump_and_other"
    rows = [f"E1 | 2026-03-{day:02d} {clock} | " for day in range(1, 5) for clock in ("05:00", "20:00")]
    values = [0, 20, 23, 43, 46, 66, 69, 89]
    readings = "meter_id | read_at | value\n" + "\n".join(
        row + str(v) for row, v in zip(rows, values, strict=True)
    )
    found = measure(sites=SITE, meters=meters, meter_readings=readings)
    assert [amount for amount, _ in verdicts(found, "E1")] == [20, 3, 20, 3, 20, 3, 20]


def test_each_interval_that_is_not_ordinary_says_why(measure):
    """The reason is a sentence with the figures that it rests on."""
    found = measure(sites=SITE, meters=METER, meter_readings=weekly(4700, 5000, 3500, 5600, 5900))
    reasons = found.rows("SELECT verdict, reason FROM meter_intervals WHERE verdict <> 'ordinary'")
    assert reasons == [
        ("transposed", "3,500 fits its neighbours only with two digits exchanged: an error of the hand.")
    ]
    spanned = found.rows("SELECT reason FROM meter_intervals WHERE amount = 600")
    assert spanned == [("Spans one reading that was set aside.",)]


def modem(shift_h, days=range(1, 6), error_on=None):
    """A reading every three hours: 10 m³/h from 8 to 17 h, by a clock that is ahead by some hours."""
    rows, total = [], 1000
    for day in days:
        for hour in range(0, 24, 3):
            total += 10 * max(0, min(hour, 17) - max(hour - 3, 8))
            stamp = datetime(2026, 3, day, tzinfo=UTC) + timedelta(hours=hour + shift_h)
            rows.append(f"W1 | {stamp:%Y-%m-%d %H:%M} | {total + (5000 if (day, hour) == error_on else 0)}")
    return "meter_id | read_at | value\n" + "\n".join(rows)


def test_a_modem_whose_clock_is_three_hours_off_keeps_its_amounts(measure):
    """Dated three hours late, the pump would run until 20 h; the amounts count, and the verdict tells."""
    found = measure(sites=SITE, meters=METER, meter_readings=modem(3))
    told = verdicts(found)
    assert sum(amount for amount, _ in told) == 450
    assert {verdict for _, verdict in told} == {"ordinary", "clock_off"}
    reasons = {
        reason for (reason,) in found.rows("SELECT reason FROM meter_intervals WHERE verdict = 'clock_off'")
    }
    assert all("3 h ahead" in reason for reason in reasons)


def test_a_modem_whose_clock_is_right_has_no_word_against_it(measure):
    """All of its water lies in the light."""
    found = measure(sites=SITE, meters=METER, meter_readings=modem(0))
    assert {verdict for _, verdict in verdicts(found)} == {"ordinary"}


def test_one_misread_number_does_not_put_a_clock_in_doubt(measure):
    """5000 m³ too much once: set aside, and every other reading stands."""
    found = measure(sites=SITE, meters=METER, meter_readings=modem(0, error_on=(3, 12)))
    told = [verdict for _, verdict in verdicts(found)]
    assert "clock_off" not in told
    assert len([verdict for verdict in told if verdict != "ordinary"]) == 1


def test_a_register_that_goes_on_tenfold_at_the_usual_pace_is_a_new_one(measure):
    """From 5000 to 50000 and on by 300 a week: as tenths they would be 30 a week. Another register."""
    values = weekly(4400, 4700, 5000, 50000, 50300, 50600, 50900)
    found = measure(sites=SITE, meters=METER, meter_readings=values)
    assert verdicts(found) == [
        (300, "ordinary"),
        (300, "ordinary"),
        (None, "impossible"),
        (300, "ordinary"),
        (300, "ordinary"),
        (300, "ordinary"),
    ]


def test_a_tenfold_sheet_at_the_end_is_no_register_of_its_own(measure):
    """400 m³ a week, then a sheet of tenths: 150 a week of 1,500 written. Its own pace bears nothing out."""
    values = weekly(16400, 16800, 17200, 17600, 178000, 179500, 181000, 182500, 184000)
    meter = METER.replace("| 5", "| 6")
    found = measure(sites=SITE.replace("10 ", "30 "), meters=meter, meter_readings=values)
    assert verdicts(found) == [(400, "ordinary")] * 3 + [(None, "ten_times")] * 5


def test_a_register_that_begins_with_a_tenfold_sheet_has_that_sheet_set_aside(measure):
    """Three readings of ten times too much, then right ones."""
    found = measure(
        sites=SITE, meters=METER, meter_readings=weekly(44000, 47000, 50000, 5300, 5600, 5900, 6200, 6500)
    )
    told = verdicts(found)
    assert [verdict for _, verdict in told].count("ten_times") == 2
    assert [amount for amount, _ in told if amount is not None] == [300, 300, 300, 300]


def test_a_tenfold_sheet_at_the_beginning_that_the_pump_could_do_is_set_aside(measure):
    """41,160 and 43,510, which a large pump could do, then 4,651 and on by 300 a week: the first were tenths."""
    values = weekly(38810, 41160, 43510, 4651, 4951, 5251, 5551, 5851)
    found = measure(sites=SITE.replace("10 ", "30 "), meters=METER, meter_readings=values)
    assert [verdict for _, verdict in verdicts(found)].count("ten_times") == 2
    assert [amount for amount, _ in verdicts(found) if amount is not None] == [300] * 4


def test_a_register_that_was_exchanged_after_a_usual_pace_keeps_its_amounts(measure):
    """From 43,510, after 300 a week, to 4,651 and on: its own pace bears the first register out."""
    values = weekly(42910, 43210, 43510, 4651, 4951, 5251, 5551, 5851)
    found = measure(sites=SITE.replace("10 ", "30 "), meters=METER, meter_readings=values)
    assert [amount for amount, _ in verdicts(found) if amount is not None] == [300] * 6


def test_the_first_reading_of_all_can_be_the_wrong_one(measure):
    """35000, then 5000 and on: one amount fewer, and nothing else is lost."""
    found = measure(sites=SITE, meters=METER, meter_readings=weekly(35000, 5000, 5300, 5600))
    assert [amount for amount, _ in verdicts(found) if amount is not None] == [300, 300]


def test_a_meter_that_was_silent_for_long_keeps_its_amount_and_says_so(measure):
    """A reading every day, then none for ten days: 100 m³ between them count, and the reason tells."""
    days = [1, 2, 3, 4, 5, 6, 16, 17]
    rows = [f"W1 | 2026-03-{day:02d} 12:00 | {1000 + 10 * day}" for day in days]
    found = measure(sites=SITE, meters=METER, meter_readings="meter_id | read_at | value\n" + "\n".join(rows))
    assert found.rows("SELECT amount, verdict, reason FROM meter_intervals WHERE days = 10") == [
        (100, "ordinary", "No reading came for 10 days; every 1.0 days is usual for this meter.")
    ]
    assert found.rows("SELECT count(*) FROM meter_intervals WHERE reason IS NULL") == [(6,)]
