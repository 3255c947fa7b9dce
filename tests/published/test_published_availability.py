"""Up and down time, from files to figures, against standards and arithmetic.

The sites stand on the equator at Greenwich, where each day has the same service time of 10.1 h. A
log says what happened: flow through the day, or input without flow.
"""

from datetime import date, timedelta

import pytest

FIRST = date(2026, 1, 1)
WINDOW = ("2026-01-01", "2026-04-10")  # a hundred days
FLOW, NO_FLOW = "10|2", "0|2"

# site: first day of service, days on which the water had stopped (counted from 0)
DOWN = {
    "steady": (0, [10, 30, 50, 70, 90]),  # 95 of 100 days up, five times down
    "touching": (0, [*range(40, 60), *range(95, 100)]),  # 40 to 50, 50 to 60, open from 95
    "short": (90, [90, 91, 92, 93, 94]),  # ten days in service, five of them down
    "long": (0, list(range(60, 70))),  # a hundred days, ten of them down
    "spotless": (0, []),
}


def days(site: str) -> list[tuple[date, bool]]:
    """Each day of service of a site, and whether the water had stopped."""
    start, down = DOWN[site]
    return [(FIRST + timedelta(days=n), n in down) for n in range(start, 100)]


def log_lines() -> str:
    """A row at the end of each hour of the light, for each site."""
    return "site_id|logged_at|flow_m3h|input_kw\n" + "\n".join(
        f"{site}|{day} {hour:02d}:00|{NO_FLOW if down else FLOW}"
        for site in DOWN
        for day, down in days(site)
        for hour in range(6, 20)
    )


def job(record: str, site: str, from_at: str, to_at: str) -> str:
    return f"{record}|{site}|corrective|{from_at}|{to_at}|yes\n"


@pytest.fixture(scope="module")
def programme(load):
    """All sites of this file. At `dry` nothing is logged: a meter and jobs tell."""
    readings = [f"W1|{FIRST + timedelta(days=n)} 00:00|{50 * n}" for n in range(101)]
    return load(
        sites="site_id|name|latitude|longitude|commissioned_on|pump_rated_flow_m3h|pump_rated_power_kw\n"
        + "\n".join(
            f"{site}|{site}|0|0|{FIRST + timedelta(days=start)}|10|2" for site, (start, _) in DOWN.items()
        )
        + f"\ndry|dry|0|0|{FIRST}|10|2",
        telemetry=log_lines(),
        meters="meter_id|site_id|quantity\nW1|dry|water",
        meter_readings="meter_id|read_at|value\n" + "\n".join(readings),
        maintenance="record_id|site_id|kind|reported_at|restored_at|water_stopped\n"
        + job("J1", "dry", "2026-02-01 00:00", "2026-02-04 00:00")
        # two jobs of one stop, and one that is still open
        + job("J2", "touching", "2026-02-10 00:00", "2026-02-20 00:00")
        + job("J3", "touching", "2026-02-20 00:00", "2026-03-02 00:00")
        + job("J4", "touching", "2026-04-06 00:00", ""),
        pauses="site_id|from_on|to_on|reason\ndry|2026-03-01|2026-03-02|the river was too low to draw from",
    )


def test_steady_availability_is_up_time_over_all(programme):
    """95 days up and 5 down, as 950 h and 50 h: 0.95."""
    # IEC 60050-192 (2015), steady-state availability; IEC 61703: A = MUT / (MUT + MDT)
    assert programme.site("steady", *WINDOW)["uptime"] == pytest.approx(0.95, abs=1e-4)


def test_mean_up_and_down_time_per_failure(programme):
    """Operating time over failures: with five failures each is a fifth; their ratio is 950 to 50."""
    # ISO 14224 (2016), annex C, and IEC 60050-192: operating time over failures; from memory, recomputed.
    # 316.667 h and 16.667 h for three failures in 950 h and 50 h have the same ratio of 19
    figures = programme.site("steady", *WINDOW)
    ((service_h,),) = programme.rows("SELECT sum(service_h) FROM site_days WHERE site_id = 'steady'")
    assert figures["outages"] == 5
    assert figures["mean_up_h"] == pytest.approx(0.95 * service_h / 5, abs=0.06)
    assert figures["mean_down_h"] == pytest.approx(0.05 * service_h / 5, abs=0.06)
    assert figures["mean_up_h"] / figures["mean_down_h"] == pytest.approx(316.667 / 16.667, rel=0.005)


def test_touching_outages_are_one_and_an_open_one_counts_to_the_end(programme):
    """From day 40 to 50, 50 to 60 and open from 95, in 100: two outages, 25 days of down time."""
    # interval arithmetic
    figures = programme.site("touching", *WINDOW)
    assert figures["uptime"] == pytest.approx(0.75, abs=1e-4)
    assert programme.rows(
        "SELECT from_day, to_day FROM outages WHERE site_id = 'touching' ORDER BY from_at"
    ) == [(date(2026, 2, 10), date(2026, 3, 1)), (date(2026, 4, 6), None)]
    ((down_days,),) = programme.rows(
        "SELECT count(*) FROM site_days WHERE site_id = 'touching' AND down_h > 0 AND up_h = 0"
    )
    assert down_days == 25


def test_time_disabled_from_outside_is_no_down_time(programme):
    """Three days of a fault are down; two days without source water are out of the service time."""
    # IEC 60050-192-02-21, note 1: down time leaves out what is disabled from outside; a rule, no number
    rows = programme.rows(
        """SELECT day, service_h > 0, down_h > 0, paused FROM site_days
           WHERE site_id = 'dry' AND (down_h > 0 OR paused) ORDER BY day"""
    )
    assert rows == [
        *((date(2026, 2, n), True, True, False) for n in (1, 2, 3)),
        *((date(2026, 3, n), False, False, True) for n in (1, 2)),
    ]
    assert programme.site("dry", *WINDOW)["uptime"] == pytest.approx(95 / 98, abs=1e-4)


def test_availability_of_two_sites_is_pooled_time(programme):
    """100 days with 10 down and 10 days with 5 down: 0.8636, not the mean of the sites, 0.7."""
    # arithmetic, on 1000 h with 100 and 100 h with 50
    sites = ("long", "short")
    assert [programme.site(site, *WINDOW)["uptime"] for site in sites] == pytest.approx([0.9, 0.5], abs=1e-4)
    pooled = programme.programme(*WINDOW, sites=sites)["uptime"]
    assert pooled == pytest.approx(0.863636, abs=1e-4)


def test_a_site_without_a_failure_has_no_mean_up_time(programme):
    """No failures bound the failure rate from above only: the mean time between them stays empty."""
    # MIL-HDBK-338B, IEC 60605-4: with none in 5000 h the rate is at most χ²(0.95, 2) / 2T, not 0; from memory
    figures = programme.site("spotless", *WINDOW)
    assert (figures["uptime"], figures["outages"]) == (1.0, 0)
    assert (figures["mean_up_h"], figures["mean_down_h"]) == (None, None)
