"""The controller's log: what can be taken from it, and what can't."""

import math
from datetime import date

import pytest

from pipeline.measures.evidence import evidence

SITE = """
    site_id | pump_rated_flow_m3h | pump_rated_power_kw | commissioned_on
    S1      | 10                  | 4                   | 2026-03-01
"""


def day_of_log(day, shift_h=0, *, irradiance=True):
    """A sunny day from 6 to 18 h, written by a clock that is ahead by some hours; 800 W/m² at noon."""
    rows = []
    for quarter in range(96):
        hour = (quarter + 0.5) / 4 - shift_h
        sun = max(0.0, math.sin((hour % 24 - 6) / 12 * math.pi)) * 800
        flow = 8 if sun > 300 else 0
        stamp = f"2026-03-{day:02d} {quarter // 4:02d}:{quarter % 4 * 15 + 14:02d}"
        rows.append(f"S1 | {stamp} | {flow} | {flow * 0.4} | {round(sun) if irradiance else ''} | 50")
    return rows


def rows_of(day, flow, kw, sun):
    return [
        f"S1 | 2026-03-{day:02d} {quarter // 4:02d}:{quarter % 4 * 15 + 14:02d} | {flow} | {kw} | {sun} | 50"
        for quarter in range(96)
    ]


def logs(*days):
    head = "site_id | logged_at | flow_m3h | input_kw | irradiance_wm2 | tank_level_pct"
    return "\n".join([head, *(row for rows in days for row in rows)])


def spells(found):
    return found.rows(
        """SELECT strftime(from_at + INTERVAL 1 HOUR, '%d'), strftime(to_at, '%d'), verdict, round(shift_h)
           FROM log_spells WHERE verdict <> 'silent' ORDER BY from_at"""
    )


@pytest.mark.parametrize("shift_h", [-3, 3])
@pytest.mark.parametrize("irradiance", [True, False])
def test_a_clock_three_hours_off_is_found_by_the_sun(measure, shift_h, irradiance):
    """The middle of the light, or of the pump's input, stands three hours off the sun's noon."""
    found = measure(
        sites=SITE, telemetry=logs(*(day_of_log(d, shift_h, irradiance=irradiance) for d in range(1, 9)))
    )
    ((_, _, verdict, shift),) = spells(found)
    assert (verdict, shift) == ("clock_off", shift_h)


@pytest.mark.parametrize("irradiance", [True, False])
def test_a_right_clock_is_left_in_peace(measure, irradiance):
    """Eight sunny days, right to the minute."""
    found = measure(
        sites=SITE, telemetry=logs(*(day_of_log(d, 0, irradiance=irradiance) for d in range(1, 9)))
    )
    assert spells(found) == []


def test_a_light_without_a_middle_tells_no_time(measure):
    """400 W/m² by day and 390 by night: a strange sensor, but no wrong clock."""
    rows = [
        row.replace("| 400 |", "| 390 |") if quarter % 2 else row
        for d in range(1, 9)
        for quarter, row in enumerate(rows_of(d, 5, 2, 400))
    ]
    assert spells(measure(sites=SITE, telemetry=logs(rows))) == []


def test_a_pump_of_the_morning_is_no_wrong_clock(measure):
    """The tank is full by ten: the input lies before noon, and none of it in the night."""
    rows = [
        row.replace("| 8 | 3.2 |", "| 0 | 0.0 |") if row.split("|")[1].strip()[11:13] >= "10" else row
        for d in range(1, 9)
        for row in day_of_log(d, 0, irradiance=False)
    ]
    assert spells(measure(sites=SITE, telemetry=logs(rows))) == []


def test_a_log_whose_clock_is_off_keeps_its_amounts_and_proves_no_uptime(measure):
    """Water is the same as by a right clock; up and down are unknown."""
    days = range(1, 9)
    right = measure(sites=SITE, telemetry=logs(*(day_of_log(d) for d in days)))
    wrong = measure(sites=SITE, telemetry=logs(*(day_of_log(d, 3) for d in days)))
    (good,), (bad,) = (found.figures("2026-03-01", "2026-03-08") for found in (right, wrong))
    assert bad["water_m3"] == pytest.approx(good["water_m3"], rel=0.02)
    assert good["uptime"] == 1
    assert (bad["uptime"], bad["uptime_unknown"]) == (None, 1)


def test_only_the_stretch_with_the_wrong_clock_is_set_aside(measure):
    """The clock was set right on the 11th: ten days are off, give or take the days beside the change."""
    parts = [day_of_log(d, 3 if d <= 10 else 0) for d in range(1, 21)]
    ((first, last, verdict, _),) = spells(measure(sites=SITE, telemetry=logs(*parts)))
    assert (first, verdict) == ("01", "clock_off")
    assert 9 <= int(last) <= 12


def test_a_dead_logger_covers_nothing(measure):
    """Three days without any light, input or flow: the sun did rise, so the logger was dead."""
    parts = [day_of_log(1), *(rows_of(d, 0, 0, 0) for d in (2, 3, 4)), day_of_log(5)]
    found = measure(sites=SITE, telemetry=logs(*parts))
    assert [told[:3] for told in spells(found)] == [("02", "04", "dead")]
    (row,) = found.figures("2026-03-03", "2026-03-03")
    assert (row["water_m3"], row["water_coverage"], row["uptime"]) == (None, 0, None)


def test_a_logger_that_hangs_covers_nothing(measure):
    """The same 5 m³/h by day and by night."""
    parts = [day_of_log(1), *(rows_of(d, 5, 2, 400) for d in (2, 3)), day_of_log(4)]
    found = measure(sites=SITE, telemetry=logs(*parts))
    assert [verdict for *_, verdict, _ in spells(found)] == ["frozen"]
    assert found.figures("2026-03-02", "2026-03-03")[0]["water_coverage"] == pytest.approx(0, abs=0.01)


def test_a_still_day_in_the_light_is_covered_without_flow(measure):
    """Light, but neither input nor flow: 0 m³, known."""
    rows = [row.replace("| 8 | 3.2 |", "| 0 | 0.0 |") for d in range(1, 4) for row in day_of_log(d)]
    found = measure(sites=SITE, telemetry=logs(rows))
    (row,) = found.figures("2026-03-02", "2026-03-02")
    assert (row["water_m3"], row["water_coverage"]) == (0, 1)


def test_a_night_between_two_logged_days_is_covered_without_flow(measure):
    """A logger that sleeps from sunset to sunrise: the whole of the second day counts."""
    rows = [
        row for d in range(1, 4) for row in day_of_log(d) if "06" <= row.split("|")[1].strip()[11:13] < "18"
    ]
    found = measure(sites=SITE, telemetry=logs(rows))
    assert found.figures("2026-03-02", "2026-03-02")[0]["water_coverage"] == pytest.approx(1, abs=1e-3)


def test_evidence_tells_of_the_log(measure):
    """Silence, a dead logger and a wrong clock stand below the meters' intervals, each with its sentence."""
    parts = [*(day_of_log(d, 3) for d in range(1, 9)), *(rows_of(d, 0, 0, 0) for d in (12, 13))]
    found = measure(sites=SITE, telemetry=logs(*parts))
    for name, columns in {"sources": "source_id INT, file VARCHAR"}.items():
        found.connection.execute(f"CREATE TABLE {name} ({columns})")
    found.connection.execute("ALTER TABLE meter_readings ADD COLUMN _source INT")
    found.connection.execute("ALTER TABLE meter_readings ADD COLUMN _line INT")
    rows = evidence(found, "S1", date(2026, 3, 1), date(2026, 3, 31)).to_pylist()
    told = {(row["verdict"], row["to_at"] is None): row["reason"] for row in rows}
    assert set(told) == {("clock_off", False), ("silent", False), ("dead", False), ("silent", True)}
    # the sun is 11 minutes late in early March: a clock that makes noon 15:00 is 2.8 h ahead of it
    assert "2.8 h ahead" in told["clock_off", False]
    assert told["silent", True] == "The log has been silent since 2026-03-13 23:59."
