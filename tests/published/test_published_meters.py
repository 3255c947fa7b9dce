"""Counters, water and energy, from files to figures, against arithmetic that anybody can repeat.

The sites stand on the equator at Greenwich: twelve hours of daylight and a little more.
"""

from datetime import date, datetime, timedelta

import pytest

Q3_M3H = 16.0
LOGGED_ON = date(2026, 1, 10)
SITES = f"""
    site_id | name | latitude | longitude | commissioned_on | pump_rated_flow_m3h | total_dynamic_head_m
    rolled  | a    | 0        | 0         | 2026-01-01      |                     |
    stepped | b    | 0        | 0         | 2026-01-01      | {Q3_M3H}            |
    shared  | c    | 0        | 0         | 2026-01-01      |                     |
    below   | d    | 0        | 0         | 2026-01-01      | {Q3_M3H}            |
    above   | e    | 0        | 0         | 2026-01-01      | {Q3_M3H}            |
    lifting | f    | 0        | 0         | 2026-01-10      | 13                  | 30
    deep    | g    | 0        | 0         | 2026-01-10      | 13                  | 90
    flowing | h    | 0        | 0         | 2026-01-10      | 4                   |
"""
READINGS = {
    # from one midnight to the next
    "rolled": [("2026-01-01", 99960), ("2026-01-02", 99980), ("2026-01-03", 15), ("2026-01-04", 40)],
    "stepped": [("2026-01-01", 51850), ("2026-01-02", 52000), ("2026-01-03", 51900), ("2026-01-04", 52040)],
    "shared": [("2026-01-01", 0), ("2026-01-16", 150), ("2026-02-15", 450)],
    # a day is 12.1 h of light: 240 m³ take 19.8 m³/h, 246 m³ 20.3 m³/h
    "below": [("2026-01-01", 1000), ("2026-01-02", 1240)],
    "above": [("2026-01-01", 1000), ("2026-01-02", 1246)],
}


def log_lines() -> str:
    """A day of the controller's log: 3 kW and 13 m³/h at two sites, one litre a second at a third."""
    start = datetime(LOGGED_ON.year, LOGGED_ON.month, LOGGED_ON.day)  # noqa: DTZ001 - local at the site
    lines = []
    for n in range(1, 97):
        at = start + timedelta(minutes=15 * n)
        lines += [f"{site}|{at}|13|3" for site in ("lifting", "deep")] + [f"flowing|{at}|3.6|"]
    return "site_id|logged_at|flow_m3h|input_kw\n" + "\n".join(lines)


@pytest.fixture(scope="module")
def programme(load):
    """All sites of this file."""
    readings = [f"W {site}|{day} 00:00|{value}" for site, days in READINGS.items() for day, value in days]
    return load(
        sites=SITES,
        blocks="site_id|block_id|area_ha\nflowing|B1|1",
        meters="meter_id|site_id|quantity|digits\n"
        + "\n".join(f"W {site}|{site}|water|5" for site in READINGS),
        meter_readings="meter_id|read_at|value\n" + "\n".join(readings),
        telemetry=log_lines(),
    )


def test_a_counter_that_rolls_over_has_counted_on(programme):
    """Five digits from 99,980 to 15: 35 m³."""
    # modular arithmetic
    assert programme.site("rolled", "2026-01-02", "2026-01-02")["water_m3"] == 35.0
    assert programme.site("rolled", "2026-01-01", "2026-01-03")["water_m3"] == 80.0


def test_a_step_back_beyond_the_meters_flow_is_no_rollover(programme):
    """52,000 to 51,900 on five digits would be 99,900 m³ in a day; 16 m³/h give 384 m³ at most."""
    # modular arithmetic, and the rule that a step above the greatest flow × time is refused
    verdicts = programme.rows("SELECT verdict FROM meter_intervals WHERE site_id = 'stepped' ORDER BY to_at")
    assert ("rollover",) not in verdicts
    assert programme.site("stepped", "2026-01-01", "2026-01-03")["water_m3"] == 52040 - 51850


@pytest.mark.parametrize(("site", "water_m3"), [("below", 240.0), ("above", None)])
def test_a_meter_is_believed_up_to_its_overload_flow(programme, site, water_m3):
    """Q3 is 16 m³/h, so Q4 is 20 m³/h: 19.8 m³/h through the day's light count, 20.3 m³/h don't."""
    # ISO 4064-1, OIML R 49-1, MID 2014/32/EU: Q4 = 1.25 Q3; recomputed
    assert programme.site(site, "2026-01-01", "2026-01-01")["water_m3"] == water_m3


def test_an_interval_is_shared_by_days_over_a_months_edge(programme):
    """0, 150 on the 16th, 450 on 15 February: 150 and sixteen thirtieths of 300 are January's 310 m³."""
    # linear apportionment
    assert programme.site("shared", "2026-01-01", "2026-01-31")["water_m3"] == 310.0
    months = programme.months("shared", "2026-01-01", "2026-02-28")
    assert [line["water_m3"] for line in months] == [310.0, 140.0]


def test_energy_of_a_cubic_metre_from_the_log(programme):
    """3 kW at 13 m³/h: 0.2308 kWh/m³, of which a lift of 30 m takes 0.354."""
    # physics; 0.35425 at 9.81 m/s². 13 m³/h and 0.23 kWh/m³ from 3 kW are common practice, no source
    figures = programme.site("lifting", str(LOGGED_ON), str(LOGGED_ON))
    assert figures["energy_kwh_per_m3"] == pytest.approx(0.230769, abs=5e-5)
    assert figures["energy_kwh_per_m3"] == pytest.approx(0.23, abs=0.02)
    assert figures["lift_efficiency"] == pytest.approx(0.35425 * 9.80665 / 9.81, abs=5e-5)


def test_an_impossible_efficiency_is_published_as_it_is(programme):
    """The same by 90 m is 1.062: a wrong head or meter, and no clip hides it."""
    # physics; 1.06275 at 9.81 m/s²
    figures = programme.site("deep", str(LOGGED_ON), str(LOGGED_ON))
    assert figures["lift_efficiency"] == pytest.approx(1.06275 * 9.80665 / 9.81, abs=5e-5)


def test_a_litre_a_second_on_a_hectare(programme):
    """8.64 mm a day; 1 m³/ha is 0.1 mm."""
    # FAO-56 (Allen, Pereira, Raes, Smith 1998), Annex 1, p. 211 to 212
    figures = programme.site("flowing", str(LOGGED_ON), str(LOGGED_ON))
    assert figures["water_m3_per_ha"] * 0.1 == pytest.approx(8.64, abs=1e-9)
